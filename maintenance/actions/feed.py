"""Food was given: it leaves the tub and completes the task."""

from __future__ import annotations

from gallery_ops.kernel.errors import Held
from gallery_ops.kernel.values.quantity import Mass
from inventory.services.use import use_food
from maintenance.actions.context import Said
from maintenance.services.completions import complete

MOST_TIMES_PLAN = 5
"""Above this many times the plan a feed is more likely a slip (common practice, no source)."""


def apply(said: Said) -> None:
    """Post what was given."""
    body = said.body
    planned, given = body["planned_mg"], body["given_mg"]
    if planned and given > MOST_TIMES_PLAN * planned:
        raise Held(
            "out_of_range",
            f"{Mass(given).text()} is more than {MOST_TIMES_PLAN} times the plan of "
            f"{Mass(planned).text()}.",
            remedy="If it is true, take out what is left over and tell the manager.",
        )
    use_food(
        tank=said.tank(),
        item=said.item(body["product"]),
        planned=Mass(planned),
        given=Mass(given),
        answers={
            "turns": body["turns"],
            "seen_to_drop": body["seen_to_drop"],
            "text": body["text"],
        },
        **said.moments(),
    )
    if said.envelope.task_id:
        complete(due_task=said.task(), answers={"given_mg": given}, **said.moments())
