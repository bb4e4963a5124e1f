"""Food was given: it leaves the tub and completes the task."""

from __future__ import annotations

from gallery_ops.kernel.errors import Held
from gallery_ops.kernel.rights import roles_in_words
from gallery_ops.kernel.values.quantity import Mass
from inventory.services.use import use_food
from maintenance.actions.context import Said
from maintenance.actions.stopped import check_not_stopped
from maintenance.actions.task_done import task_done
from maintenance.services.completions import complete

MOST_TIMES_PLAN = 5
"""Above this many times the plan a feed is more likely a slip (common practice, no source)."""
MOST_WITHOUT_PLAN_MG = 20_000
"""Above this food that nobody planned waits for a person [mg] (common practice, no source)."""


def apply(said: Said) -> None:
    """Post what was given."""
    body = said.body
    tank, item = said.tank(), said.item(body["product"])
    check_not_stopped(said, tank)
    task = task_done(said, "feed")
    given = body["given_mg"]
    if "out_of_range" not in said.waived:
        _within_reason(given, said.planned_base(tank, item, "food"))
    use_food(
        tank=tank,
        item=item,
        plan=said.plan(tank, item),
        given=Mass(given),
        asked_again=bool(said.waived & {"out_of_range", "ask_again"}),
        answers={
            "turns": body["turns"],
            "seen_to_drop": body["seen_to_drop"],
            "text": body["text"],
            "shown_planned_mg": body["planned_mg"],
        },
        **said.moments(),
    )
    if task is not None:
        complete(due_task=task, answers={"given_mg": given}, **said.moments())


def _within_reason(given_mg: int, planned_mg: int) -> None:
    """Measured against the gallery's own plan, whatever the tablet says was planned."""
    if given_mg <= (MOST_TIMES_PLAN * planned_mg or MOST_WITHOUT_PLAN_MG):
        return
    sentence = (
        f"{Mass(given_mg).text()} is more than {MOST_TIMES_PLAN} times the plan of "
        f"{Mass(planned_mg).text()}."
        if planned_mg
        else f"{Mass(given_mg).text()} was given, and nothing is planned here."
    )
    raise Held(
        "out_of_range",
        sentence,
        remedy="If it is true, take out what is left over and tell the manager. "
        f"It counts when one of these says that it is so: {roles_in_words('override_range')}.",
    )
