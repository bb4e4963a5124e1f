"""Which rounds does this day have, how far is each, and what does the tablet count from?"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db.models import Count, Max, Q

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Device, Showroom
from maintenance.models import Action, DueTask, Round, Stop


@dataclass(frozen=True, slots=True)
class RoundRow:
    """One round of a day.

    places : stops in all. to_see : tanks with a look due. seen : of those, looked at or skipped.
    tasks, done : due tasks of its tanks in this round, and those that are done or skipped.
    """

    uid: UUID
    code: str
    kind: str
    name: str
    zone: str
    person: str
    opened_at: datetime | None
    closed_at: datetime | None
    places: int
    to_see: int
    seen: int
    tasks: int
    done: int

    @property
    def state(self) -> str:
        """to_do, half or done: the vessel that is drawn."""
        if self.closed_at is not None or (self.tasks and self.done == self.tasks):
            return "done"
        return "half" if self.done or self.opened_at is not None else "to_do"


def rounds_of_day(showroom: Showroom, on: date) -> list[RoundRow]:
    """The rounds of a business day, in the order of the day, then of the walk; three queries."""
    rounds = (
        Round.objects.of(showroom)
        .filter(business_on=on)
        .select_related("zone", "person")
        .order_by("zone__walking_order", "pk")
    )
    places = dict(
        Stop.objects.filter(round__in=rounds).values_list("round").annotate(n=Count("pk"))
    )
    counts = _counts(showroom, on)
    rank = {"opening": 0, "midday": 1, "closing": 2}
    rows = [
        _row(round_, places.get(round_.pk, 0), counts.get((round_.kind, round_.zone_id), {}))
        for round_ in rounds
    ]
    return sorted(rows, key=lambda row: rank.get(row.kind, 3))


def round_by_code(showroom: Showroom, code: str) -> Round:
    """The round with this code.

    Raises Unknown for a code that is not there, or is another showroom's.
    """
    found = Round.objects.of(showroom).filter(code=code).select_related("zone", "person").first()
    if found is None:
        raise Unknown()
    return found


def round_by_uid(showroom: Showroom, uid: UUID) -> Round:
    """The round that tablets and programs name so. Raises Unknown as :func:`round_by_code`."""
    found = Round.objects.of(showroom).filter(uid=uid).select_related("zone", "person").first()
    if found is None:
        raise Unknown()
    return found


def row_of(round_: Round) -> RoundRow:
    """One round as a row."""
    rows = rounds_of_day(round_.showroom, round_.business_on)
    return next(row for row in rows if row.uid == round_.uid)


def next_seq(device: Device) -> int:
    """The first count that nothing of this device has yet; 1 for a new device."""
    highest = Action.objects.filter(device=device).aggregate(n=Max("seq"))["n"] or 0
    return max(int(highest), device.last_seq) + 1


def _counts(showroom: Showroom, on: date) -> dict[tuple[str, int], dict[str, int]]:
    over = ~Q(state="open")
    look = Q(template__kind="look")
    rows = (
        DueTask.objects.of(showroom)
        .filter(due_on=on, tank__stops__round__business_on=on)
        .exclude(state="dropped")
        .values("template__round_kind", "tank__stops__round__kind", "tank__stops__round__zone")
        .annotate(
            tasks=Count("pk", distinct=True),
            done=Count("pk", filter=over, distinct=True),
            to_see=Count("pk", filter=look, distinct=True),
            seen=Count("pk", filter=look & over, distinct=True),
        )
    )
    return {
        (row["template__round_kind"], row["tank__stops__round__zone"]): row
        for row in rows
        if row["template__round_kind"] == row["tank__stops__round__kind"]
    }


def _row(round_: Round, places: int, counts: dict[str, int]) -> RoundRow:
    return RoundRow(
        uid=round_.uid,
        code=round_.code,
        kind=round_.kind,
        name=str(round_.get_kind_display()).capitalize(),
        zone=round_.zone.code,
        person=round_.person.name if round_.person else "",
        opened_at=round_.opened_at,
        closed_at=round_.closed_at,
        places=places,
        to_see=counts.get("to_see", 0),
        seen=counts.get("seen", 0),
        tasks=counts.get("tasks", 0),
        done=counts.get("done", 0),
    )
