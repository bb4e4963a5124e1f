"""What a tank should get from a day on; a version in force is closed and followed, never edited."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db import transaction
from django.db.models import Max

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.services.work import want_work
from gallery_ops.kernel.values.quantity import Quantity, quantity
from inventory.models import Item, ItemKind, SupplyPurpose, UsePlan, UsePlanLine
from inventory.queries.keys import container_key, item_key
from inventory.queries.supply import feeding_container
from inventory.services.amounts import base_of, written
from inventory.services.said import local_day, same_house
from tanks.models import Tank

MOST_A_DAY = {"volume": 10**6, "mass": 10**6, "piece": 10**4}
"""No tank gets more than 1 L, 1 kg or 10,000 pieces of an item in a day (common practice, no
source): above it, a unit was mistaken."""
MOST_LINES = 60
LINE_FIELDS = ("from_on", "to_on", "weekdays", "amount_base", "by")


@dataclass(frozen=True, slots=True)
class PlanLine:
    """An amount on certain weekdays for part of the plan's time; a ramp is several of them.

    Parameters
    ----------
    amount : a day, in the item's dimension; lines that hold on the same day add up
    weekdays : seven characters from Monday, ``1`` = given
    from_on, to_on : first day, and first day no longer; None takes the plan's
    means : ``hand``, ``feeder`` or ``valve``
    """

    amount: Quantity
    weekdays: str = "1111111"
    from_on: date | None = None
    to_on: date | None = None
    means: str = "hand"


@transaction.atomic
def set_plan(
    *,
    tank: Tank,
    item: Item,
    purpose: SupplyPurpose | str,
    lines: Sequence[PlanLine],
    from_on: date,
    by: Membership,
    at: datetime,
    reason: str = "",
) -> UsePlan:
    """Put a plan in force for a tank and an item from a day on.

    The version in force until then is closed on that day, a later one that has not begun is voided.
    The same lines as the version in force change nothing and give that version.

    Raises
    ------
    Refused
        an amount, weekday pattern or step outside what can be; a day before the present version
        began; a purpose that does not fit the item.
    Unknown
        an item of another showroom.
    """
    showroom = tank.showroom
    require(by, "plan.change", in_=showroom)
    same_house(showroom, item=item)
    purpose = SupplyPurpose(purpose)
    _fits(item, purpose)
    wanted = _checked(item, lines, from_on)
    today = local_day(showroom, at)
    versions = _versions(tank, item, purpose)
    last = versions[-1] if versions else None
    if last is not None and _says(last, wanted, from_on):
        return last
    before = _close_from(versions, from_on, today, at)
    number = UsePlan.objects.filter(tank=tank, item=item, purpose=purpose).aggregate(
        newest=Max("version")
    )["newest"]
    plan: UsePlan = UsePlan.objects.create(
        showroom=showroom,
        tank=tank,
        item=item,
        purpose=purpose,
        version=(number or 0) + 1,
        from_on=from_on,
        made_by=by.person,
        made_at=at,
        reason=reason,
    )
    for line in wanted:
        written(UsePlanLine(showroom=showroom, plan=plan, **line))
    _note(plan, "plan.set", by, at, reason, before=before, after=wanted)
    return plan


def says_already(plan: UsePlan, lines: Sequence[PlanLine], from_on: date) -> bool:
    """Would setting these lines change nothing? For the newest version; no query, see _content."""
    return _says(plan, _checked(plan.item, lines, from_on), from_on)


def _says(plan: UsePlan, wanted: Sequence[dict[str, Any]], from_on: date) -> bool:
    is_followed = plan.to_on is None and plan.from_on <= from_on
    return is_followed and _content(plan, from_on) == _normal(wanted, from_on)


@transaction.atomic
def stop_plans(
    *,
    tank: Tank,
    on: date,
    by: Membership,
    at: datetime,
    purpose: SupplyPurpose | str | None = None,
    item: Item | None = None,
    reason: str = "",
) -> list[UsePlan]:
    """From that day on the tank gets nothing any more (of one purpose or item, or at all).

    Gives the versions that were closed or voided by it.
    """
    showroom = tank.showroom
    require(by, "plan.change", in_=showroom)
    same_house(showroom, item=item)
    today = local_day(showroom, at)
    rows = UsePlan.objects.select_for_update().filter(tank=tank, voided_at=None)
    if purpose is not None:
        rows = rows.filter(purpose=purpose)
    if item is not None:
        rows = rows.filter(item=item)
    groups: dict[tuple[str, int], list[UsePlan]] = {}
    for row in rows.order_by("pk"):
        groups.setdefault((row.purpose, row.item_id), []).append(row)
    stopped = []
    for versions in groups.values():
        before = _close_from(sorted(versions, key=_order), on, today, at)
        for row in before:
            _note(row, "plan.stopped", by, at, reason, before=[row], after=None)
        stopped.extend(before)
    return stopped


def _fits(item: Item, purpose: SupplyPurpose) -> None:
    wrong = (purpose == SupplyPurpose.GAS) != (item.kind == ItemKind.GAS) or (
        purpose == SupplyPurpose.FOOD
    ) != (item.kind == ItemKind.FOOD)
    if wrong:
        raise Refused(
            "other_purpose",
            f"{item.name} is not given as {purpose.label}.",
            {"purpose": "One that fits the item."},
            "Choose another item or another purpose.",
        )


def _checked(item: Item, lines: Sequence[PlanLine], from_on: date) -> list[dict[str, Any]]:
    if not 1 <= len(lines) <= MOST_LINES:
        raise Refused(
            "no_line",
            f"Plan: {len(lines)} steps are not allowed.",
            {"lines": f"Allowed: 1 to {MOST_LINES} steps."},
            "To give nothing any more, stop the plan.",
        )
    return [_line(item, line, from_on) for line in lines]


def _line(item: Item, line: PlanLine, from_on: date) -> dict[str, Any]:
    amount = base_of(item, line.amount, field="amount")
    most = MOST_A_DAY[item.dimension]
    if amount > most:
        raise Refused(
            "out_of_range",
            f"Amount a day: {line.amount.text()} is not allowed.",
            {"amount": f"Allowed: 0 to {quantity(item.dimension, most).text()} a day."},
            "Check the number and its unit.",
        )
    if not re.fullmatch(r"[01]{7}", line.weekdays):
        raise Refused(
            "weekdays",
            f"Weekdays: {line.weekdays!r} is not allowed.",
            {"weekdays": "Seven characters from Monday, 1 for yes and 0 for no."},
        )
    begins = max(line.from_on or from_on, from_on)
    if line.to_on is not None and line.to_on <= begins:
        raise Refused(
            "step_ends_early",
            f"A step ends on {line.to_on} before it begins on {begins}.",
            {"to_on": f"After {begins}."},
            "Leave the step out, or correct its days.",
        )
    return {
        "from_on": begins,
        "to_on": line.to_on,
        "weekdays": line.weekdays,
        "amount_base": amount,
        "by": line.means,
    }


def _versions(tank: Tank, item: Item, purpose: SupplyPurpose) -> list[UsePlan]:
    """Versions that count, locked, oldest first; the tank is locked against a first one twice."""
    Tank.objects.select_for_update().get(pk=tank.pk)
    rows = UsePlan.objects.select_for_update().filter(
        tank=tank, item=item, purpose=purpose, voided_at=None
    )
    return sorted(rows.order_by("pk"), key=_order)


def _order(plan: UsePlan) -> tuple[date, int]:
    return plan.from_on, plan.version


def _close_from(versions: Sequence[UsePlan], day: date, today: date, at: datetime) -> list[UsePlan]:
    """Nothing of these holds on that day or later any more; gives those that changed."""
    changed = []
    for row in versions:
        if row.to_on is not None and row.to_on <= day:
            continue
        if row.from_on > day and row.from_on <= today:
            raise Refused(
                "before_present_plan",
                f"A version of this plan is in force since {row.from_on}.",
                {"from_on": f"Allowed: {row.from_on} or later."},
                "What was in force in the past stays as it was.",
            )
        if row.from_on > day or (row.from_on == day and row.from_on > today):
            row.voided_at = at
            row.save(update_fields=["voided_at"])
        else:
            row.to_on = day
            row.save(update_fields=["to_on"])
        changed.append(row)
    return changed


Content = list[tuple[date, date | None, str, int, str]]


def _content(plan: UsePlan, from_on: date) -> Content:
    """What a version says from a day on, comparable; no query where its lines were fetched."""
    rows = plan.lines.all()
    return _normal([{name: getattr(row, name) for name in LINE_FIELDS} for row in rows], from_on)


def _normal(lines: Sequence[dict[str, Any]], from_on: date) -> Content:
    return sorted(
        (
            (
                max(line["from_on"], from_on),
                line["to_on"],
                line["weekdays"],
                line["amount_base"],
                line["by"],
            )
            for line in lines
            if line["to_on"] is None or line["to_on"] > from_on
        ),
        key=str,
    )


def _note(
    plan: UsePlan,
    deed: str,
    by: Membership,
    at: datetime,
    reason: str,
    *,
    before: Sequence[UsePlan],
    after: Any,
) -> None:
    showroom = plan.showroom
    audit.record(
        by=by,
        at=at,
        deed=deed,
        subject=plan,
        before=[{"version": row.version, "to_on": row.to_on} for row in before] or None,
        after={"tank": plan.tank_id, "item": plan.item.code, "lines": after} if after else None,
        reason=reason,
    )
    container = feeding_container(showroom, plan.tank, plan.item, plan.purpose, at)
    if container is not None:
        want_work(showroom, "forecast", container_key(container.pk), at=at)
    want_work(showroom, "forecast", item_key(plan.item_id), at=at)
