"""Which cylinders stand where, what is in them, what goes a day, and what is to be said of each?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Alert, Showroom
from gallery_ops.kernel.values.codes import parse_code
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.quantity import Mass
from inventory.models import Container, CylinderDetail, Forecast, Item, ItemKind, Supply
from inventory.queries.forecast_rows import current_forecasts
from inventory.queries.gas_use import GasLine, gas_line, lines
from inventory.queries.keys import container_key
from inventory.queries.levels import Level, levels_of
from inventory.queries.measured_facts import Weighed
from inventory.queries.stock_facts import StockFacts, is_gas, stock_facts
from tanks.models import Placement, Tank

FULL_FROM = 0.95
"""From this part of its fill on a cylinder counts as full (common practice, no source)."""
WEIGHED_LATELY_DAYS = 35
TEST_SOON_DAYS = 60
CHANGE_SOON_DAYS = 14


@dataclass(frozen=True, slots=True)
class Fed:
    """A tank that a cylinder feeds; ``share_permille`` is an estimate of its part, if shared."""

    tank: Tank
    code: str
    share_permille: int | None


@dataclass(frozen=True, slots=True)
class CylinderRow:
    """One cylinder of the register.

    ``room_id`` is where it stands: with its tanks, else as it was noted; None when nobody said.
    ``test`` : ``unknown`` nobody stated the next one, ``ran_out``, ``before_next_fill`` it runs out
    before the gas does or within sixty days, else ``in_date``.
    """

    container: Container
    detail: CylinderDetail
    fed: tuple[Fed, ...]
    room_id: int | None
    content: Mass
    fill: Mass
    measured_at: datetime | None
    measured_by: str
    weighed: tuple[Weighed, ...]
    line: GasLine
    earliest: date | None
    likely: date | None
    latest: date | None
    exchange_by: date | None
    alert: Alert | None
    test: str
    today: date

    @property
    def is_away(self) -> bool:
        """With the supplier for a refill."""
        return self.detail.away_on is not None

    @property
    def is_in_store(self) -> bool:
        """Here, and feeds nothing."""
        return not self.fed and not self.is_away

    @property
    def is_spare(self) -> bool:
        """Waits full, in date, and may take the place of another one of its fill."""
        return (
            self.is_in_store
            and not self.detail.is_marked_empty
            and self.test != "ran_out"
            and self.content.mg >= FULL_FROM * self.fill.mg
        )

    @property
    def part_of_full(self) -> float:
        """Content as a part of the fill, 0 to 1."""
        return min(1.0, max(0.0, self.content.mg / self.fill.mg)) if self.fill.mg else 0.0

    @property
    def codes(self) -> tuple[str, ...]:
        """Codes of its tanks."""
        return tuple(one.code for one in self.fed)

    @property
    def says(self) -> tuple[str, ...]:
        """What is to be said of it, the most urgent first; empty: all as planned."""
        old = self.measured_at is None or self.measured_days > WEIGHED_LATELY_DAYS
        found = (
            ("leak", bool(self.fed) and (self.alert is not None or self.line.is_over)),
            ("test", self.test in {"ran_out", "before_next_fill"}),
            ("change", bool(self.fed) and self._ends_soon),
            ("weigh", old and not self.is_away and not self.detail.is_marked_empty),
        )
        return tuple(name for name, is_so in found if is_so)

    @property
    def measured_days(self) -> int:
        """Age of the last weighing [d]; 0 when there is none."""
        return (self.today - self.measured_at.date()).days if self.measured_at else 0

    @property
    def _ends_soon(self) -> bool:
        soon = self.today + timedelta(days=CHANGE_SOON_DAYS)
        days = [day for day in (self.earliest, self.exchange_by) if day is not None]
        return bool(days) and min(days) <= soon


def cylinder_register(showroom: Showroom, at: datetime) -> list[CylinderRow]:
    """Every cylinder of the house, by tank code, those of the store behind. Constant queries."""
    return _rows(showroom, at, None)


def cylinder_row(showroom: Showroom, code: str, at: datetime) -> CylinderRow:
    """One cylinder by its code, with the history of its line. Raises Unknown."""
    try:
        wanted = parse_code(code)
    except OutOfRange:
        raise Unknown("cylinder") from None
    rows = _rows(showroom, at, wanted)
    if not rows:
        raise Unknown("cylinder")
    return rows[0]


def left_cylinder(showroom: Showroom, code: str) -> Container:
    """A cylinder that has left, by its code. Raises Unknown."""
    found: Container | None = (
        Container.objects.of(showroom)
        .filter(code=code, voided_at=None, cylinder__isnull=False)
        .select_related("item", "cylinder")
        .first()
    )
    if found is None:
        raise Unknown("cylinder")
    return found


def _rows(showroom: Showroom, at: datetime, code: str | None) -> list[CylinderRow]:
    gases = Item.objects.of(showroom).filter(kind=ItemKind.GAS).order_by("pk")
    facts = stock_facts(
        showroom, at, item_ids=list(gases.values_list("pk", flat=True)), with_finished=True
    )
    here = {
        pk: row
        for pk, row in facts.containers.items()
        if is_gas(row)
        and hasattr(row, "cylinder")
        and (row.finished_on is None or row.finished_on > facts.today)
        and code in {None, row.code}
    }
    levels = levels_of(facts)
    forecasts = {row.container_id: row for row in current_forecasts(showroom) if row.container_id}
    fed, room_of = _fed(facts), _rooms(showroom, at)
    alerts, line_of = _alerts(showroom), lines(facts)
    rows = [
        _row(
            facts,
            row,
            levels[pk],
            forecasts.get(pk),
            fed.get(pk, ()),
            room_of,
            alerts.get(container_key(pk)),
            gas_line(facts, row, line_of[pk]),
        )
        for pk, row in here.items()
    ]
    return sorted(rows, key=lambda row: (not row.fed, row.codes, row.detail.serial))


def _row(
    facts: StockFacts,
    container: Container,
    level: Level,
    forecast: Forecast | None,
    fed: tuple[Fed, ...],
    room_of: Mapping[int, int],
    alert: Alert | None,
    line: GasLine,
) -> CylinderRow:
    weighed = facts.weighed.get(container.pk, [])
    rooms = [room_of[one.tank.pk] for one in fed if one.tank.pk in room_of]
    detail = container.cylinder
    latest = forecast.latest_on or forecast.likely_on if forecast else None
    return CylinderRow(
        container=container,
        detail=detail,
        fed=fed,
        room_id=rooms[0] if rooms else container.room_id,
        content=Mass(max(0, level.base)),
        fill=Mass(detail.fill_mg),
        measured_at=weighed[-1].at if weighed else None,
        measured_by=weighed[-1].person_name if weighed else "",
        weighed=tuple(weighed),
        line=line,
        earliest=forecast.earliest_on if forecast and fed else None,
        likely=forecast.likely_on if forecast and fed else None,
        latest=forecast.latest_on if forecast and fed else None,
        exchange_by=forecast.order_by_on if forecast and fed else None,
        alert=alert,
        test=test_state(detail, facts.today, latest if fed else None),
        today=facts.today,
    )


def test_state(detail: CylinderDetail, today: date, empty_on: date | None) -> str:
    """How the next test stands: ``unknown``, ``ran_out``, ``before_next_fill`` or ``in_date``."""
    if detail.next_test_on is None:
        return "unknown"
    if detail.next_test_on <= today:
        return "ran_out"
    until = max(today + timedelta(days=TEST_SOON_DAYS), empty_on or today)
    return "before_next_fill" if detail.next_test_on <= until else "in_date"


def _fed(facts: StockFacts) -> dict[int, tuple[Fed, ...]]:
    found: dict[int, list[Fed]] = defaultdict(list)
    rows = (
        Supply.objects.of(facts.showroom)
        .at(facts.at)
        .filter(purpose="gas", tank__isnull=False)
        .select_related("tank")
    )
    for row in rows.order_by("pk"):
        code = facts.codes.get(row.tank_id, "")
        found[row.container_id].append(Fed(row.tank, code, row.share_permille))
    return {pk: tuple(sorted(tanks, key=lambda one: one.code)) for pk, tanks in found.items()}


def _rooms(showroom: Showroom, at: datetime) -> dict[int, int]:
    rows = Placement.objects.of(showroom).filter(voided_at=None).at(at)
    return dict(rows.order_by("pk").values_list("tank_id", "position__room_id"))


def _alerts(showroom: Showroom) -> dict[str, Alert]:
    """The open alert of class A about each cylinder: gas that goes where nobody planned it."""
    rows = Alert.objects.of(showroom).filter(
        closed_at=None, harm_class="A", subject_kind="container"
    )
    return {row.subject_key: row for row in rows.order_by("-opened_at", "-pk")}
