"""What was given to a tank: a use with its one movement, a skip without any, and their undoing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Unpack

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.values.quantity import Mass, Quantity, Volume, quantity
from inventory.models import (
    Container,
    Item,
    MovementKind,
    SupplyPurpose,
    Use,
    UsePlan,
)
from inventory.queries.plans import plan_on, planned_by
from inventory.queries.supply import PRESS_UL, PressesByTime, feeding_container_id, presses_by_time
from inventory.services import ledger
from inventory.services.amounts import base_of
from inventory.services.said import (
    Said,
    columns_of_taking_back,
    fact_columns,
    local_day,
    moment_of,
    same_house,
)
from inventory.services.wanting import stock_changed
from tanks.models import Tank

MOST_PRESSES = 500
TIMES_PLAN = 10
"""From this many times the plan on, a slip of the decimal mark is likelier than the dose (common
practice, no source)."""
_BATCH = 200


@dataclass(frozen=True, slots=True)
class Deed:
    """One thing given or skipped, as it was said; its parts are those of :func:`use_dose`."""

    tank: Tank
    item: Item
    purpose: SupplyPurpose
    by: Membership
    at: datetime
    said: Said = field(default_factory=Said)
    given: Quantity | None = None
    presses: int | None = None
    planned: Quantity | None = None
    plan: UsePlan | None = None
    container: Container | None = None
    answers: Mapping[str, Any] | None = None
    asked_again: bool = False

    @property
    def showroom(self) -> Showroom:
        """Where it was done."""
        found: Showroom = self.tank.showroom
        return found

    @property
    def moment(self) -> datetime:
        """When it was done, by our clock."""
        return moment_of(self.at, self.said)


@transaction.atomic
def use_dose(
    *,
    tank: Tank,
    item: Item,
    by: Membership,
    at: datetime,
    given: Volume | None = None,
    presses: int | None = None,
    planned: Volume | None = None,
    plan: UsePlan | None = None,
    container: Container | None = None,
    answers: Mapping[str, Any] | None = None,
    asked_again: bool = False,
    **said: Unpack[Said],
) -> Use:
    """A tank was dosed: writes the use and one movement out of the container that fed it then.

    Parameters
    ----------
    given : the amount, for a measuring cup or a tablet without presses
    presses : how often the pump was pressed; the amount is then presses x what one press of this
        pump gave at that moment, and ``given`` is only what the screen showed
    planned, plan : what was to be given and by which version; looked up for that day when left out
    container : the one that was used, when it is not the one connected
    asked_again : the person was asked "really?" about an amount far above the plan and said yes

    Raises
    ------
    Refused
        ``ask_again`` from ten times the plan on; another dimension; nothing said of the amount.
    Unknown
        item, container or plan of another showroom.
    """
    require(by, "record", in_=tank.showroom)
    deed = Deed(
        tank,
        item,
        SupplyPurpose.DOSE,
        by,
        at,
        said,
        given=given,
        presses=presses,
        planned=planned,
        plan=plan,
        container=container,
        answers=answers,
        asked_again=asked_again,
    )
    return _known(deed) or _give([deed])[0]


@transaction.atomic
def use_food(
    *,
    tank: Tank,
    item: Item,
    given: Mass,
    by: Membership,
    at: datetime,
    planned: Mass | None = None,
    plan: UsePlan | None = None,
    container: Container | None = None,
    answers: Mapping[str, Any] | None = None,
    asked_again: bool = False,
    **said: Unpack[Said],
) -> Use:
    """A tank was fed: writes the use and one movement. As :func:`use_dose`."""
    require(by, "record", in_=tank.showroom)
    deed = Deed(
        tank,
        item,
        SupplyPurpose.FOOD,
        by,
        at,
        said,
        given=given,
        planned=planned,
        plan=plan,
        container=container,
        answers=answers,
        asked_again=asked_again,
    )
    return _known(deed) or _give([deed])[0]


@transaction.atomic
def use_all(deeds: Iterable[Deed]) -> list[Use]:
    """Several tanks were given something on one walk: all of it is written, or nothing.

    For each the same as :func:`use_dose` and :func:`use_food` write, in as many statements for
    forty tanks as for one; what was said before with the same action is not written again.
    """
    told = list(deeds)
    for deed in told:
        require(deed.by, "record", in_=deed.showroom)
    uses = [_known(deed) for deed in told]
    new = iter(_give([deed for deed, use in zip(told, uses, strict=True) if use is None]))
    return [use if use is not None else next(new) for use in uses]


@transaction.atomic
def skip_use(
    *,
    tank: Tank,
    item: Item,
    purpose: SupplyPurpose | str,
    by: Membership,
    at: datetime,
    planned: Quantity | None = None,
    plan: UsePlan | None = None,
    answers: Mapping[str, Any] | None = None,
    **said: Unpack[Said],
) -> Use:
    """Nothing was given, on purpose: writes a use of 0 and moves no stock."""
    require(by, "skip", in_=tank.showroom)
    deed = Deed(
        tank,
        item,
        SupplyPurpose(purpose),
        by,
        at,
        said,
        planned=planned,
        plan=plan,
        answers=answers,
    )
    return _known(deed) or _skip(deed)


@transaction.atomic
def take_back_use(*, use: Use, by: Membership, at: datetime, **said: Unpack[Said]) -> Use:
    """It did not happen: a further use says so and its movements are reversed. Both stay.

    Until when somebody may undo is the caller's rule. Undone twice, it is undone once.
    """
    require(by, "record", in_=use.showroom)
    known = Use.objects.filter(corrects=use).first()
    if known is not None:
        return known
    if use.takes_back:
        raise Refused("undo_of_undo", "This entry only takes back another: enter it anew instead.")
    if use.container is not None:
        ledger.lock([use.container])
    back: Use = Use.objects.create(
        **columns_of_taking_back(use, by, at, said),
        tank=use.tank,
        item=use.item,
        purpose=use.purpose,
        container=use.container,
        plan=use.plan,
        business_on=use.business_on,
        planned_base=use.planned_base,
        given_base=use.given_base,
        presses=use.presses,
        ul_per_press=use.ul_per_press,
        is_skip=use.is_skip,
    )
    for movement in use.movements.filter(corrects=None):
        ledger.reverse(movement=movement, use=back, by=by, at=at, said=said, reason="taken back")
    stock_changed(use.showroom, at, use.item, use.container)
    return back


def _known(deed: Deed) -> Use | None:
    """The use that this action has made already, after the look at whose things these are."""
    same_house(deed.showroom, item=deed.item, container=deed.container, plan=deed.plan)
    if deed.said.get("action_id") is None:
        return None
    known: Use | None = (
        Use.objects.of(deed.showroom)
        .filter(action_id=deed.said["action_id"], item=deed.item, purpose=deed.purpose)
        .first()
    )
    return known


def _give(deeds: Sequence[Deed]) -> list[Use]:
    """What was given, and one movement for each; what came to nothing is a skip."""
    keys = [_feeds(deed) for deed in deeds]
    containers = ledger.lock_keys(key for key in keys if key is not None)
    pressed = {key for key, deed in zip(keys, deeds, strict=True) if deed.presses is not None}
    presses = presses_by_time([row for key, row in containers.items() if key in pressed])
    uses = [
        _use(deed, containers[key] if key is not None else None, presses)
        for key, deed in zip(keys, deeds, strict=True)
    ]
    Use.objects.bulk_create(uses, batch_size=_BATCH)
    ledger.post_all(
        [
            ledger.Entry(
                item=deed.item,
                kind=MovementKind.USE,
                amount=quantity(deed.item.dimension, -use.given_base),
                container=use.container,
                use=use,
                by=deed.by,
                at=deed.at,
                said=deed.said,
            )
            for deed, use in zip(deeds, uses, strict=True)
            if not use.is_skip
        ]
    )
    for deed, use in zip(deeds, uses, strict=True):
        stock_changed(deed.showroom, deed.at, deed.item, use.container)
    return uses


def _use(deed: Deed, container: Container | None, presses: PressesByTime) -> Use:
    amount, ul_per_press = _amount(deed, container, presses)
    planned, plan = _plan(deed)
    answers = dict(deed.answers or {})
    if amount:
        _within_reason(deed, amount, planned)
        if deed.given is not None and deed.given.base != amount.base:
            answers["shown_base"] = deed.given.base
    return Use(
        **_columns(deed, plan, planned),
        container=container,
        given_base=amount.base,
        presses=deed.presses if amount else None,
        ul_per_press=ul_per_press if amount else None,
        is_skip=not amount,
        answers=answers,
    )


def _skip(deed: Deed) -> Use:
    planned, plan = _plan(deed)
    key = _feeds(deed)
    container = Container.objects.get(pk=key) if key is not None else None
    use: Use = Use.objects.create(
        **_columns(deed, plan, planned),
        container=container,
        given_base=0,
        is_skip=True,
        answers=dict(deed.answers or {}),
    )
    stock_changed(deed.showroom, deed.at, deed.item, container)
    return use


def _feeds(deed: Deed) -> int | None:
    """Key of the container that was used: the one that was named, else the one connected then."""
    if deed.container is not None:
        return deed.container.pk
    return feeding_container_id(deed.showroom, deed.tank, deed.item, deed.purpose, deed.moment)


def _columns(deed: Deed, plan: UsePlan | None, planned: int) -> dict[str, Any]:
    return {
        **fact_columns(deed.showroom, deed.by, deed.at, deed.said),
        "tank": deed.tank,
        "item": deed.item,
        "purpose": deed.purpose,
        "plan": plan,
        "planned_base": planned,
        "business_on": local_day(deed.showroom, deed.moment),
    }


def _plan(deed: Deed) -> tuple[int, UsePlan | None]:
    """Planned amount [base units] and plan version, looked up where they were not given."""
    day = local_day(deed.showroom, deed.moment)
    plan = deed.plan or plan_on(deed.showroom, deed.tank, deed.item, deed.purpose, day)
    if deed.planned is not None:
        return base_of(deed.item, deed.planned, field="planned"), plan
    return (planned_by(plan, day) if plan is not None else 0), plan


def _amount(
    deed: Deed, container: Container | None, presses: PressesByTime
) -> tuple[Quantity, int | None]:
    """What was given, and what one press gave when presses were counted [µL]."""
    if deed.presses is not None:
        ul_per_press = presses.of(container, deed.moment).ul if container is not None else PRESS_UL
        return _pressed(deed.presses, ul_per_press), ul_per_press
    if deed.given is None:
        raise Refused(
            "amount_missing",
            "Amount: nothing was given.",
            {"given": "Say how much, or how many presses."},
            "If nothing was given on purpose, skip it with a reason.",
        )
    base_of(deed.item, deed.given, field="given")
    return deed.given, None


def _pressed(presses: int, ul_per_press: int) -> Volume:
    if not 0 <= presses <= MOST_PRESSES:
        raise Refused(
            "out_of_range",
            f"Presses: {presses} is not allowed.",
            {"presses": f"Allowed: 0 to {MOST_PRESSES}."},
            "Use a measuring cup for large doses.",
        )
    return Volume(presses * ul_per_press)


def _within_reason(deed: Deed, amount: Quantity, planned: int) -> None:
    item = deed.item
    base_of(item, amount, field="given")
    if deed.asked_again or planned == 0 or amount.base < TIMES_PLAN * planned:
        return
    plan_text = quantity(item.dimension, planned).text()
    raise Refused(
        "ask_again",
        f"{item.name}: {amount.text()} is {amount.base // planned} times the plan of {plan_text}.",
        {"given": f"Planned: {plan_text}."},
        "If it is true, say 'yes, really'; otherwise correct it.",
    )
