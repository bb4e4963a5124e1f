"""Which rounds does this day have, how far is each, and what does the tablet count from?"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db.models import Count, F, Max, Q

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Device, Showroom
from maintenance.models import Action, DueTask, Round, Stop


@dataclass(frozen=True, slots=True)
class RoundRow:
    """One round of a day.

    places : stops in all. asked : of those, with something to do. to_see : tanks and rooms with a
    look due. seen : of those, looked at or skipped. tasks, done : due tasks of this round, and
    those that are done or skipped.
    heard_of, heard_at : who said something there last, and when; a hint, no lock.
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
    asked: int = 0
    heard_of: str = ""
    heard_at: datetime | None = None

    @property
    def state(self) -> str:
        """to_do, half or done: the vessel that is drawn."""
        if self.closed_at is not None or (self.tasks and self.done == self.tasks):
            return "done"
        return "half" if self.done or self.opened_at is not None else "to_do"

    @property
    def idle(self) -> int:
        """Stops that have nothing to do: they are passed by."""
        return max(0, self.places - self.asked) if self.tasks else 0

    @property
    def left(self) -> int:
        """Tasks that are still to do."""
        return self.tasks - self.done


RANK = {"opening": 0, "midday": 1, "closing": 2}


def rounds_of_day(showroom: Showroom, on: date) -> list[RoundRow]:
    """The rounds of a business day, in the order of the day, then of the walk; five queries."""
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
    claims = {claim.round_pk: claim for claim in claims_of(rounds)}
    rows = [
        _row(
            round_,
            places.get(round_.pk, 0),
            counts.get((round_.kind, round_.zone_id), {}),
            claims.get(round_.pk),
        )
        for round_ in rounds
    ]
    return sorted(rows, key=lambda row: RANK.get(row.kind, 3))


def still_open_before(rows: Iterable[RoundRow], kind: str) -> list[RoundRow]:
    """Of these the rounds of an earlier hour than that kind, in which tasks are still to do."""
    before = RANK.get(kind, 0)
    return [
        row
        for row in rows
        if RANK.get(row.kind, before) < before and row.state != "done" and row.left
    ]


def before_json(round_: Round) -> list[dict[str, Any]]:
    """The earlier rounds of its zone and day that are still open, as a pack says it."""
    if not RANK.get(round_.kind):
        return []
    rows = rounds_of_day(round_.showroom, round_.business_on)
    own = [row for row in rows if row.zone == round_.zone.code]
    return [
        {
            "id": str(row.uid),
            "code": row.code,
            "name": row.name,
            "opened_at": row.opened_at.isoformat() if row.opened_at else None,
            "tasks": row.left,
        }
        for row in still_open_before(own, round_.kind)
    ]


@dataclass(frozen=True, slots=True)
class Claim:
    """Who walks a round, as last heard: a hint for the others, it blocks nobody."""

    round_pk: int
    zone: str
    person_uid: UUID
    name: str
    at: datetime
    is_over: bool


def claims_of(rounds: Iterable[Round]) -> list[Claim]:
    """Who said something last in each of these rounds, or began it; two queries."""
    rows = [row for row in rounds if row.opened_at is not None]
    if not rows:
        return []
    codes = {row.code: row for row in rows}
    showroom = rows[0].showroom_id
    newest = (
        Action.objects.filter(showroom=showroom, round_code__in=list(codes))
        .values_list("round_code")
        .annotate(newest=Max("pk"))
        .order_by()
    )
    heard = Action.objects.select_related("person").in_bulk([pk for _code, pk in newest])
    last = {row.round_code: row for row in heard.values()}
    found = []
    for code, round_ in codes.items():
        action = last.get(code)
        person = action.person if action and action.person else round_.person
        at = (action.done_at_corrected if action else None) or round_.opened_at
        if person is not None and at is not None:
            is_over = round_.closed_at is not None
            found.append(
                Claim(round_.pk, round_.zone.code, person.uid, person.given_name, at, is_over)
            )
    return found


def claims_json(round_: Round) -> list[dict[str, Any]]:
    """Who walks which zone of this kind of round that day, as a pack says it; three queries."""
    rounds = (
        Round.objects.of(round_.showroom)
        .filter(business_on=round_.business_on, kind=round_.kind)
        .select_related("zone", "person")
        .order_by("zone__walking_order", "pk")
    )
    return [
        {
            "zone": claim.zone,
            "is_here": claim.round_pk == round_.pk,
            "person": str(claim.person_uid),
            "name": claim.name,
            "at": claim.at.isoformat(),
            "is_over": claim.is_over,
        }
        for claim in claims_of(rounds)
    ]


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
    """Kind and zone -> its due tasks: of the tanks that it passes, and of the rooms."""
    found: dict[tuple[str, int], dict[str, int]] = {}
    for subject in ("tank", "room"):
        for row in _counted(showroom, on, subject):
            key = (row["template__round_kind"], row["of_zone"])
            before = found.setdefault(key, dict.fromkeys(COUNTED, 0))
            found[key] = {name: before[name] + row[name] for name in COUNTED}
    return found


COUNTED = ("tasks", "done", "asked", "to_see", "seen")


def _counted(showroom: Showroom, on: date, subject: str) -> Iterable[dict[str, Any]]:
    over = ~Q(state="open")
    look = Q(template__kind="look")
    rounds = f"{subject}__stops__round"
    rows = (
        DueTask.objects.of(showroom)
        .filter(
            due_on=on,
            **{f"{rounds}__business_on": on, f"{rounds}__kind": F("template__round_kind")},
        )
        .exclude(state="dropped")
        .annotate(of_zone=F(f"{rounds}__zone"))
        .values("template__round_kind", "of_zone")
        .annotate(
            tasks=Count("pk", distinct=True),
            done=Count("pk", filter=over, distinct=True),
            asked=Count(subject, distinct=True),
            to_see=Count("pk", filter=look, distinct=True),
            seen=Count("pk", filter=look & over, distinct=True),
        )
        .order_by()
    )
    return rows


def _row(round_: Round, places: int, counts: dict[str, int], claim: Claim | None) -> RoundRow:
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
        asked=counts.get("asked", 0),
        heard_of=claim.name if claim else "",
        heard_at=claim.at if claim else None,
    )
