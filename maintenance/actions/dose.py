"""A dose was given: it leaves the bottle, it completes the task, a second one is asked about.

Facts add up: two doses are two doses, both reach the ledger. Whether the second was meant is
for a person; ``maintenance.services.double_doses`` raises that question.
"""

from __future__ import annotations

from uuid import UUID, uuid5

from gallery_ops.kernel.errors import Held
from gallery_ops.kernel.rights import roles_in_words
from gallery_ops.kernel.services.work import want_work
from gallery_ops.kernel.values.quantity import Volume
from inventory.models import Container, Item, Use
from inventory.queries.bottle_check import check_bottle, code_in
from inventory.queries.supply import PRESS_UL, feeding_container
from inventory.services.emptied import not_empty, ran_empty, take_over
from inventory.services.use import use_dose
from maintenance.actions.context import Said
from maintenance.actions.stopped import check_not_stopped
from maintenance.actions.task_done import task_done
from maintenance.services.completions import complete
from tanks.models import Tank
from tanks.queries.glasses import same_tank

EMPTY = "bottle_empty"
MOST_TIMES_PLAN = 5
"""Above this many times the plan a dose is more likely a slip (common practice, no source)."""
MOST_WITHOUT_PLAN_UL = 250_000
"""Above this a dose that nobody planned waits for a person [µL] (common practice, no source)."""


def apply(said: Said) -> None:
    """Post what was given."""
    body = said.body
    tank, item = said.tank(), said.item(body["product"])
    check_not_stopped(said, tank)
    task = task_done(said, "dose")
    given = body["given_ul"]
    _within_reason(said, given, said.planned_base(tank, item, "dose"))
    _take_over(said)
    bottle = _bottle(said, tank, item)
    _same_bottle(said, tank, item, bottle)
    rest_of = _rest_of(said, tank, item)
    answers = {
        "again": body["again"],
        "short": body["short"],
        "less": body.get("less"),
        "text": body["text"],
        "shown_planned_ul": body["planned_ul"],
    }
    use = use_dose(
        tank=tank,
        item=item,
        container=bottle,
        plan=said.plan(tank, item),
        given=Volume(given),
        presses=body["presses"],
        asked_again=bool(said.waived & {"out_of_range", "ask_again"}),
        answers={**answers, "rest_of": rest_of} if rest_of else answers,
        **said.moments(),
    )
    is_short = body["short"] == EMPTY
    if is_short and use.container is not None:
        moments = said.moments()
        moments["action_id"] = emptied_by(said.envelope.action_id)
        ran_empty(container=use.container, **moments)
    if task is not None and not is_short:  # else what is missing stays due
        complete(due_task=task, answers={"given_ul": given}, **said.moments())
    want_work(said.showroom, "double_dose", at=said.at)


def emptied_by(action_id: UUID) -> UUID:
    """Under which id the bottle is written down as empty: undone with its dose, and alone."""
    return uuid5(action_id, "empty")


def take_back_empty(said: Said, wanted: UUID) -> None:
    """The dose that emptied a bottle is taken back, and so is its being empty."""
    use = (
        Use.objects.of(said.showroom)
        .filter(action_id=wanted, takes_back=False, answers__short=EMPTY)
        .select_related("container__item")
        .first()
    )
    if use is None or use.container is None:
        return
    moments = said.moments()
    moments["action_id"] = uuid5(said.envelope.action_id, "in use again")
    not_empty(container=use.container, emptied_by=emptied_by(wanted), **moments)


def _take_over(said: Said) -> None:
    """The rest of a dose out of the next bottle: from now on that one feeds these tanks."""
    replaces, code = said.body.get("replaces"), said.body.get("bottle")
    if not replaces or not code or "bottle" in said.waived:
        return
    take_over(
        empty=said.container(replaces), following=said.container(code_in(code)), **said.moments()
    )


def _same_bottle(said: Said, tank: Tank, item: Item, read: Container | None) -> None:
    """The one that is said to be empty must be the one that fed the tank then."""
    code = said.body.get("empty")
    if not code or read is not None:
        return
    fed_by = feeding_container(said.showroom, tank, item, "dose", said.done_at_corrected)
    if fed_by is None or fed_by.code == code:
        return
    raise Held(
        "bottle_exchanged",
        f"The bottle was exchanged meanwhile: {fed_by} feeds this tank, not the one that is empty.",
        remedy="Look which one ran empty. The entry is kept.",
    )


def _rest_of(said: Said, tank: Tank, item: Item) -> str:
    """The entry whose bottle ran empty, where this is what it could not give."""
    wanted = said.body.get("rest_of")
    if not wanted:
        return ""
    first = (
        Use.objects.of(said.showroom)
        .standing()
        .filter(action_id=wanted, tank__in=same_tank(tank), item=item, answers__short=EMPTY)
        .first()
    )
    if first is None or first.given_base + said.body["given_ul"] > first.planned_base * 3 // 2:
        return ""
    return str(wanted)


def _bottle(said: Said, tank: Tank, item: Item) -> Container | None:
    """The bottle that was scanned, where one was; a wrong one waits for a person."""
    code = said.body.get("bottle")
    if not code:
        return None
    if "bottle" in said.waived:
        return said.container(code_in(code))
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
