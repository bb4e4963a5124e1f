"""A dose was given: it leaves the bottle, it completes the task, a second one is asked about.

Facts add up: two doses are two doses, both reach the ledger. Whether the second was meant is
for a person; ``maintenance.services.double_doses`` raises that question.
"""

from __future__ import annotations

from gallery_ops.kernel.errors import Held
from gallery_ops.kernel.services.work import want_work
from gallery_ops.kernel.values.quantity import Volume
from inventory.services.use import use_dose
from maintenance.actions.context import Said
from maintenance.services.completions import complete

MOST_TIMES_PLAN = 5
"""Above this many times the plan a dose is more likely a slip (common practice, no source)."""


def apply(said: Said) -> None:
    """Post what was given."""
    body = said.body
    planned, given = body["planned_ul"], body["given_ul"]
    if planned and given > MOST_TIMES_PLAN * planned:
        raise Held(
            "out_of_range",
            f"{Volume(given).text()} is more than {MOST_TIMES_PLAN} times the plan of "
            f"{Volume(planned).text()}.",
            remedy="If it is true, follow the card for a wrong dose and ring the manager.",
        )
    use_dose(
        tank=said.tank(),
        item=said.item(body["product"]),
        planned=Volume(planned),
        given=Volume(given),
        presses=body["presses"],
        answers={"again": body["again"], "short": body["short"], "text": body["text"]},
        **said.moments(),
    )
    if said.envelope.task_id:
        complete(due_task=said.task(), answers={"given_ul": given}, **said.moments())
    want_work(said.showroom, "double_dose", at=said.at)
