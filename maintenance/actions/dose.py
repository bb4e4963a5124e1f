"""A dose was given: it leaves the bottle, it completes the task, a second one is asked about.

Facts add up: two doses are two doses, both reach the ledger. Whether the second was meant is
for a person; ``maintenance.services.double_doses`` raises that question.
"""

from __future__ import annotations

from gallery_ops.kernel.errors import Held
from gallery_ops.kernel.rights import roles_in_words
from gallery_ops.kernel.services.work import want_work
from gallery_ops.kernel.values.quantity import Volume
from inventory.models import Container, Item
from inventory.queries.bottle_check import check_bottle
from inventory.queries.supply import PRESS_UL
from inventory.services.use import use_dose
from maintenance.actions.context import Said
from maintenance.actions.stopped import check_not_stopped
from maintenance.services.completions import complete
from tanks.models import Tank

MOST_TIMES_PLAN = 5
"""Above this many times the plan a dose is more likely a slip (common practice, no source)."""
MOST_WITHOUT_PLAN_UL = 250_000
"""Above this a dose that nobody planned waits for a person [µL] (common practice, no source)."""


def apply(said: Said) -> None:
    """Post what was given."""
    body = said.body
    tank, item = said.tank(), said.item(body["product"])
    check_not_stopped(said, tank)
    given = body["given_ul"]
    _within_reason(said, given, said.planned_base(tank, item, "dose"))
    use_dose(
        tank=tank,
        item=item,
        container=_bottle(said, tank, item),
        plan=said.plan(tank, item),
        given=Volume(given),
        presses=body["presses"],
        asked_again=bool(said.waived & {"out_of_range", "ask_again"}),
        answers={
            "again": body["again"],
            "short": body["short"],
            "text": body["text"],
            "shown_planned_ul": body["planned_ul"],
        },
        **said.moments(),
    )
    if said.envelope.task_id:
        complete(due_task=said.task(), answers={"given_ul": given}, **said.moments())
    want_work(said.showroom, "double_dose", at=said.at)


def _bottle(said: Said, tank: Tank, item: Item) -> Container | None:
    """The bottle that was scanned, where one was; a wrong one waits for a person."""
    code = said.body.get("bottle")
    if not code:
        return None
    if "bottle" in said.waived:
        return said.container(code)
    answer = check_bottle(
        showroom=said.showroom,
        tank=tank,
        purpose="dose",
        code=code,
        item=item,
        at=said.done_at_corrected,
    )
    if not answer.is_right:
        raise Held(f"bottle_{answer.code}", answer.sentence, remedy=answer.remedy)
    return answer.container


def _within_reason(said: Said, given_ul: int, planned_ul: int) -> None:
    """Measured against the gallery's own plan, whatever the tablet says was planned."""
    presses, per_press_ul = said.body["presses"], said.body["per_press_ul"]
    most = max(given_ul, (presses or 0) * (per_press_ul or PRESS_UL))
    limit = MOST_TIMES_PLAN * planned_ul or MOST_WITHOUT_PLAN_UL
    if most <= limit or "out_of_range" in said.waived:
        return
    sentence = (
        f"{Volume(most).text()} is more than {MOST_TIMES_PLAN} times the plan of "
        f"{Volume(planned_ul).text()}."
        if planned_ul
        else f"{Volume(most).text()} was given, and nothing is planned here."
    )
    raise Held(
        "out_of_range",
        sentence,
        remedy="If it is true, follow the card for a wrong dose and ring the manager. "
        f"It counts when one of these says that it is so: {roles_in_words('override_range')}.",
    )
