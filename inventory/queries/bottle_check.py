"""Is this the bottle that feeds this tank? A wrong one is a stop, with the reason in a sentence.

A bottle is right when it is the one connected to the tank (or to the zone where it stands), is in
use, and is not too old. Of several bottles of one item the one that expires first is used up first.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.codes import LENGTH, is_code, parse_code, printed
from gallery_ops.kernel.values.day import business_day
from gallery_ops.kernel.values.limits import OutOfRange
from inventory.models import Container, Item
from inventory.queries.supply import Feeder, feeders
from tanks.models import Tank

RIGHT = "right"
_SPLIT = re.compile(r"[/?#&=\s]+")
LONGEST = 300


@dataclass(frozen=True, slots=True)
class BottleAnswer:
    """Right or a stop, in words.

    ``code`` is ``right``, ``unreadable``, ``unknown``, ``not_connected``, ``other_item``,
    ``finished``, ``too_old``, ``unopened`` or ``elsewhere``.
    """

    code: str
    sentence: str
    remedy: str = ""
    container: Container | None = None

    @property
    def is_right(self) -> bool:
        """May it be given from this one?"""
        return self.code == RIGHT


def code_in(text: str) -> str:
    """The code in what was typed or scanned: eight characters, or an address that holds them.

    Raises OutOfRange when there is none.

    >>> code_in("2222-2222"), code_in("https://gallery.test/containers/22222222/")
    ('22222222', '22222222')
    """
    bare = text.strip()[:LONGEST]
    if "/" in bare:
        for part in _SPLIT.split(bare.upper()):
            if len(part) == LENGTH and is_code(part):
                return part
    return parse_code(bare, field="Bottle")


def check_bottle(
    *,
    showroom: Showroom,
    tank: Tank,
    purpose: str,
    code: str,
    at: datetime,
    item: Item | None = None,
) -> BottleAnswer:
    """May this tank be given its dose (or food) from the container with this code at ``at``?

    Parameters
    ----------
    purpose : ``dose``, ``food`` or ``gas``
    code : as typed or scanned; the address on a label holds it
    item : only what feeds the tank with this item counts; any item of the purpose when left out
    """
    try:
        wanted = code_in(code)
    except OutOfRange as no:
        return BottleAnswer("unreadable", no.sentence, "Read the label again, or scan it.")
    container = _container(showroom, wanted)
    if container is None:
        return BottleAnswer(
            "unknown",
            f"No container of this gallery has the code {printed(wanted)}.",
            "Stop. Read the label again; a bottle without a label is not used.",
        )
    fed_by = [
        feeder
        for (_tank, what, item_id), feeder in feeders(showroom, at, [tank.pk]).items()
        if what == purpose and feeder.tank_id == tank.pk and (item is None or item_id == item.pk)
    ]
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    return _judge(container, fed_by, today)


def too_old_from(container: Container) -> date | None:
    """First day on which it is too old: the printed date, or its opened life if that ends first."""
    days = []
    if container.opened_on and container.item.opened_life_days:
        days.append(container.opened_on + timedelta(days=container.item.opened_life_days))
    if container.lot.expires_on:
        days.append(container.lot.expires_on)
    return min(days, default=None)


def _container(showroom: Showroom, code: str) -> Container | None:
    found: Container | None = (
        Container.objects.of(showroom)
        .filter(code=code, voided_at=None)
        .select_related("item", "lot")
        .first()
    )
    return found


def _judge(container: Container, fed_by: list[Feeder], today: date) -> BottleAnswer:
    if not fed_by:
        return BottleAnswer(
            "not_connected",
            "Nothing is connected to this tank for that.",
            "Stop. Connect a bottle to the tank or to its zone first.",
            container,
        )
    own = next((one for one in fed_by if one.container_id == container.pk), None)
    same_item = next((one for one in fed_by if one.item_id == container.item_id), None)
    if own is None and same_item is None:
        names = " or ".join(one.container_name for one in fed_by)
        return BottleAnswer(
            "other_item",
            f"Wrong bottle: this is {container.item.name}. This tank is fed from {names}.",
            "Stop. Put it back and take that one.",
            container,
        )
    if container.finished_on is not None and container.finished_on <= today:
        return BottleAnswer(
            "finished",
            f"{container} was finished on {_day(container.finished_on)}.",
            "Stop. Take the one in use; if this one is in use again, enter it as a new one.",
            container,
        )
    limit = too_old_from(container)
    if limit is not None and limit <= today:
        return BottleAnswer(
            "too_old",
            f"{container} is past its date since {_day(limit)}.",
            "Stop. Set it aside, open the next, and tell whoever buys.",
            container,
        )
    if own is None and same_item is not None:
        return _not_this_one(container, same_item)
    return BottleAnswer(RIGHT, f"Right: {container}, {container.item.name}.", "", container)


def _not_this_one(container: Container, fed_by: Feeder) -> BottleAnswer:
    """The same item from another bottle than the one connected."""
    if container.opened_on is None:
        return BottleAnswer(
            "unopened",
            f"{container} is unopened, and {fed_by.container_name} is open for this tank.",
            "Stop. The open one is used up first; if it is empty, finish it and connect this one.",
            container,
        )
    return BottleAnswer(
        "elsewhere",
        f"Wrong bottle: {container} does not feed this tank. {fed_by.container_name} does.",
        "Stop. Take that one, or connect this one here first.",
        container,
    )


def _day(day: date) -> str:
    return f"{day:%-d %B %Y}"
