"""What was typed of one line while a van is written down, read as people write it.

Fields of line ``n``: ``came-n``, ``broken-n``, ``again-n``, ``more-n``, ``lot-n``, ``best-n``,
``rest-n`` (``yes`` it stays, ``no``), ``left-n`` (packs to come as the page showed them); of a
substitute ``other-n``, ``pack-n``, ``packs-n``, ``for-n``, ``keep-n`` (``keep``, ``split``,
``back``); of its cylinder ``k`` ``serial-n-k``,
``tare-n-k``, ``test-n-k``, ``next-n-k``, ``back-n-k``.
"""

from __future__ import annotations

import re
from calendar import monthrange
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from django.utils.translation import gettext as _

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.quantity import Mass, Quantity, parse_quantity
from inventory.models import Container, Item, OrderLine
from inventory.queries.items import open_items
from inventory.services.cylinders import NewCylinder
from inventory.services.receipts import Came, CameCylinder, Instead

MOST = 10_000
MOST_CYLINDERS = 24
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
EARLIEST, LATEST = 1990, 2100
DEFAULT_UNIT = {"volume": "L", "mass": "g", "piece": "{piece}"}


@dataclass(frozen=True, slots=True)
class Known:
    """What can be named on the page: items, and cylinders that a van may take along."""

    items: dict[str, Item]
    cylinders: dict[str, Container]


@dataclass(frozen=True, slots=True)
class TypedCylinder:
    """The fields of one cylinder, as typed."""

    number: int
    serial: str
    tare: str
    test: str
    next: str
    back: str


@dataclass(slots=True)
class TypedLine:
    """One line, read as far as it can be; ``errors`` by the name of the field."""

    raw: dict[str, str]
    whole: int = 0
    broken: int = 0
    is_said: bool = False
    again: bool = False
    more: bool = False
    left_seen: int | None = None
    lot: str = ""
    best: date | None = None
    stays: str = ""
    other: Item | None = None
    pack: Quantity | None = None
    packs: int = 0
    for_packs: int = 0
    keep: str = ""
    sealed: Quantity | None = None
    cylinders: list[TypedCylinder] = field(default_factory=list)
    read_cylinders: list[CameCylinder] = field(default_factory=list)
    errors: dict[str, str] = field(default_factory=dict)

    @property
    def settles(self) -> int:
        """Packs that are not to come any more."""
        other = self.for_packs if self.other is not None and self.keep != "back" else 0
        return self.whole + (0 if self.again else self.broken) + other

    def as_came(self, line: OrderLine) -> Came:
        """For the service; only after the errors were found empty."""
        instead = None
        if self.other is not None and self.pack is not None:
            instead = Instead(
                item=self.other,
                pack=self.pack,
                packs=self.packs,
                settles_packs=self.for_packs,
                keep=self.keep != "back",
                sealed=self.sealed if self.keep == "split" else None,
            )
        return Came(
            line=line,
            whole=self.whole,
            broken=self.broken,
            maker_lot=self.lot,
            expires_on=self.best,
            instead=instead,
            cylinders=tuple(self.read_cylinders),
            stays={"yes": True, "no": False}.get(self.stays),
            broken_again=self.again,
            more_is_right=self.more,
            left_seen=self.left_seen,
        )


def known_of(showroom: Showroom) -> Known:
    """What can be named, by its name for programs; two queries."""
    items = {str(item.uid): item for item in open_items(showroom)}
    rows = Container.objects.of(showroom).filter(
        kind="cylinder", finished_on=None, voided_at=None, cylinder__away_on=None
    )
    found = rows.select_related("cylinder", "item").order_by(
        "-cylinder__is_marked_empty", "cylinder__serial"
    )
    return Known(items, {row.code: row for row in found})


def read_line(
    number: int,
    line: OrderLine,
    left: int,
    typed: Mapping[str, str],
    known: Known,
    *,
    with_cylinders: bool = True,
) -> TypedLine:
    """The fields of one line.

    Parameters
    ----------
    left : packs still to come of it before this van
    with_cylinders : False for gas that was filled into cylinders of one's own
    """
    suffix = f"-{number}"
    raw = {
        key.removesuffix(suffix): str(value).strip()
        for key, value in typed.items()
        if key.endswith(suffix) and key.count("-") == 1
    }
    one = TypedLine(raw=raw)
    name = line.item.name
    one.whole = _count(one, "came", name, number)
    one.broken = _count(one, "broken", name, number)
    one.is_said = bool(raw.get("came") or raw.get("broken") or raw.get("other"))
    one.again, one.more = raw.get("again") == "yes", raw.get("more") == "yes"
    one.lot, one.stays = raw.get("lot", ""), raw.get("rest", "")
    if raw.get("left"):
        one.left_seen = _count(one, "left", name, number)
    one.best = _best(one, name, number)
    if raw.get("other"):
        _read_other(one, line, left, number, known)
    if line.item.kind == "gas" and with_cylinders:
        _read_cylinders(one, line, number, typed, known)
    return one


def _count(one: TypedLine, key: str, name: str, number: int) -> int:
    text = one.raw.get(key, "")
    if not text:
        return 0
    if not (text.isascii() and text.isdigit() and len(text) <= 6 and int(text) <= MOST):
        one.errors[f"{key}-{number}"] = _(
            "%(name)s: “%(text)s” is not allowed. Allowed: 0 to 10,000, whole."
        ) % {"name": name, "text": text[:20]}
        return 0
    return int(text)


def _best(one: TypedLine, name: str, number: int) -> date | None:
    text = one.raw.get("best", "")
    if not text:
        return None
    found = read_month(text)
    if found is None:
        one.errors[f"best-{number}"] = _(
            "%(name)s, best before: “%(text)s” is no month or day. Write it as 02 2028, "
            "Feb 2028 or 15.02.2028."
        ) % {"name": name, "text": text[:20]}
    return found


def read_month(text: str) -> date | None:
    """A printed day or month: 02 2028, 02/28, Feb 2028, 2028-02, 15.02.2028, 2028-02-15.

    A month counts to its last day. None for anything else.

    >>> read_month("Feb 2028"), read_month("15.2.2028"), read_month("2028")
    (datetime.date(2028, 2, 29), datetime.date(2028, 2, 15), None)
    """
    parts = [part for part in re.split(r"[\s./-]+", text.strip().casefold()) if part]
    numbers = [_number(part) for part in parts]
    if None in numbers or len(parts) not in {2, 3}:
        return None
    first, *middle, last = [number for number in numbers if number is not None]
    is_iso = len(parts[0]) == 4
    year, months, day = (first, [*middle, last], 0) if is_iso else (last, [first, *middle], 0)
    if len(months) == 2:
        month, day = (months[0], months[1]) if is_iso else (months[1], months[0])
    else:
        month = months[0]
    if not is_iso and len(parts[-1]) == 2:
        year += 2000
    if not (EARLIEST <= year <= LATEST and 1 <= month <= 12):
        return None
    most = monthrange(year, month)[1]
    if len(parts) == 2:
        return date(year, month, most)
    return date(year, month, day) if 1 <= day <= most else None


def _number(part: str) -> int | None:
    if part[:3] in MONTHS and part.isalpha():
        return MONTHS.index(part[:3]) + 1
    return int(part) if part.isascii() and part.isdigit() and len(part) <= 4 else None


# --- another thing ------------------------------------------------------------------------------
def _read_other(one: TypedLine, line: OrderLine, left: int, number: int, known: Known) -> None:
    item = known.items.get(one.raw["other"])
    if item is None:
        one.errors[f"other-{number}"] = _(
            "%(name)s: what came instead is not kept here. Choose one of the list."
        ) % {"name": line.item.name}
        return
    one.other, one.keep = item, one.raw.get("keep", "")
    try:
        one.pack = parse_quantity(
            one.raw.get("pack", ""),
            item.dimension,
            field=_("Pack of what came instead"),
            default=DEFAULT_UNIT[item.dimension] if item.dimension == "piece" else None,
        )
        if one.pack.base <= 0:
            raise OutOfRange(_("Pack of what came instead"), _("more than 0"), one.raw["pack"])
    except OutOfRange as no:
        one.errors[f"pack-{number}"] = f"{line.item.name}: {no.sentence}"
        one.pack = None
    one.packs = _count(one, "packs", line.item.name, number) if one.raw.get("packs") else 1
    rest = max(0, left - one.whole - one.broken)
    one.for_packs = _count(one, "for", line.item.name, number) if one.raw.get("for") else rest
    if one.keep not in {"keep", "split", "back"}:
        one.errors[f"keep-{number}"] = _(
            "%(name)s: does what came instead stay, or does it go back?"
        ) % {"name": line.item.name}


# --- cylinders ----------------------------------------------------------------------------------
def _read_cylinders(
    one: TypedLine, line: OrderLine, number: int, typed: Mapping[str, str], known: Known
) -> None:
    for k in range(1, min(one.whole, MOST_CYLINDERS) + 1):
        row = TypedCylinder(
            k,
            *(str(typed.get(f"{key}-{number}-{k}", "")).strip() for key in FIELDS_OF_CYLINDER),
        )
        one.cylinders.append(row)
        found = _cylinder(one, row, line, number, known)
        if found is not None:
            one.read_cylinders.append(found)


FIELDS_OF_CYLINDER = ("serial", "tare", "test", "next", "back")


def _cylinder(
    one: TypedLine, row: TypedCylinder, line: OrderLine, number: int, known: Known
) -> CameCylinder | None:
    where, who = f"{number}-{row.number}", f"{line.item.name} {row.number}"
    if not row.serial:
        one.errors[f"serial-{where}"] = _(
            "%(who)s, serial: nothing was given. Read it off the shoulder."
        ) % {"who": who}
    try:
        tare = Mass.g(row.tare)
        if tare.mg <= 0:
            raise OutOfRange(_("Tare"), _("more than 0 g"), row.tare)
    except OutOfRange as no:
        one.errors[f"tare-{where}"] = f"{who}: {no.sentence}"
        return None
    tested = _stamped(one, row.test, f"test-{where}", who)
    next_on = _stamped(one, row.next, f"next-{where}", who)
    back = known.cylinders.get(row.back) if row.back else None
    if row.back and back is None:
        one.errors[f"back-{where}"] = _("%(who)s: what goes back is not here.") % {"who": who}
    new = NewCylinder(
        serial=row.serial,
        tare=tare,
        fill=Mass(line.pack_base),
        tested_on=tested,
        next_test_on=next_on,
        test_rule="typed" if next_on is not None else "",
    )
    return CameCylinder(new, back)


def _stamped(one: TypedLine, text: str, field: str, who: str) -> date | None:
    """A month of a test counts from its first day; the day itself where it is written."""
    if not text:
        return None
    found = read_month(text)
    if found is None:
        one.errors[field] = _("%(who)s, test: “%(text)s” is no month. Write it as 05 2023.") % {
            "who": who,
            "text": text[:20],
        }
        return None
    has_day = len([part for part in re.split(r"[\s./-]+", text) if part]) == 3
    return found if has_day else found.replace(day=1)
