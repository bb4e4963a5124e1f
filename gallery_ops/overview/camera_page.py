"""Which tanks are fit for a camera today, which from when, and what stands against the others?"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.utils.translation import gettext as _

from gallery_ops.drawing import svg
from gallery_ops.drawing.types import Detail
from gallery_ops.drawing.wall import PX_PER_CM
from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import business_day
from gallery_ops.overview.fleet import FOLD_HARD_FROM
from gallery_ops.overview.walk_state import TankState, walk_state
from inventory.queries.livestock import last_arrivals
from maintenance.queries.care import last_done_by_tank, next_due_by_tank
from maintenance.queries.incidents import Stopping, open_incidents
from tanks.models import Layout
from tanks.queries.camera import Words, words_by_tank
from tanks.queries.gates import own_limits
from tanks.science.camera import Facts, Fitness, fitness

WORKS = {
    "trim": ("trim_stems",),
    "change": (
        "water_change",
        "start_up_change_1",
        "start_up_change_2",
        "start_up_change_3",
        "start_up_change_4",
        "start_up_change_5",
    ),
    "glass": ("inside_glass",),
}
"""What a camera asks after -> keys of the tasks that do it."""
KEYS = [key for keys in WORKS.values() for key in keys]
AGAINST = frozenset({"A", "B"})
"""Open alerts of these classes stand against a picture."""


@dataclass(frozen=True, slots=True)
class CameraRow:
    """One tank: drawing, name, where, and how fit it is."""

    svg: str
    code: str
    title: str
    room: str
    fit: Fitness


@dataclass(frozen=True, slots=True)
class CameraPage:
    """The fleet in three lists: now; from a day, the nearest first; no day can be told."""

    on: date
    now: list[CameraRow]
    later: list[CameraRow]
    open: list[CameraRow]

    @property
    def lists(self) -> list[tuple[str, str, list[CameraRow]]]:
        """Name and heading of each list that has tanks."""
        found = (
            ("now", _("Ready now"), self.now),
            ("from", _("Ready from a day"), self.later),
            ("open", _("No day can be told yet"), self.open),
        )
        return [one for one in found if one[2]]


def camera_page(showroom: Showroom, at: datetime) -> CameraPage:
    """Every tank of the fleet; the same number of queries for 20 as for 2,000."""
    on = business_day(at, showroom.tz, showroom.cut_off_hour)
    tanks = walk_state(showroom, at).tanks
    done = last_done_by_tank(showroom, KEYS, at)
    due = next_due_by_tank(showroom, KEYS, on)
    came = last_arrivals(showroom, at)
    words = words_by_tank(showroom, at)
    stopping = open_incidents(showroom)
    own = own_limits(showroom)
    stages = dict(Layout._meta.get_field("stage").choices or [])
    rows = []
    for tank in tanks:
        key = tank.now.tank.pk
        last = {what: _of(showroom, key, keys, done) for what, keys in WORKS.items()}
        if key in came:
            last["animals"] = business_day(came[key], showroom.tz, showroom.cut_off_hour)
        said = words.get(key, Words())
        facts = Facts(
            on=on,
            stage=tank.now.stage,
            stage_words=str(stages.get(tank.now.stage, tank.now.stage)),
            last={what: day for what, day in last.items() if day is not None},
            planned=_planned(key, due),
            algae=said.algae,
            said=said.said,
            against=_against(tank, stopping),
            show_on=said.show_on,
        )
        rows.append(_row(tank, fitness(facts, own), bare=len(tanks) >= FOLD_HARD_FROM))
    later = [row for row in rows if row.fit.ready == "from"]
    return CameraPage(
        on=on,
        now=[row for row in rows if row.fit.ready == "now"],
        later=sorted(later, key=lambda row: row.fit.on or on),
        open=[row for row in rows if row.fit.ready == "open"],
    )


def _of(
    showroom: Showroom,
    key: int,
    works: tuple[str, ...],
    done: dict[tuple[int, str], datetime],
) -> date | None:
    moments = [done[key, work] for work in works if (key, work) in done]
    return business_day(max(moments), showroom.tz, showroom.cut_off_hour) if moments else None


def _planned(key: int, due: dict[tuple[int, str], date]) -> dict[str, date]:
    found = {}
    for what, works in WORKS.items():
        days = [due[key, work] for work in works if (key, work) in due]
        if days:
            found[what] = min(days)
    return found


def _against(tank: TankState, stopping: list[Stopping]) -> list[str]:
    """Open alerts that matter for a picture, and an emergency that is open here."""
    place = tank.now.position
    room_id = place.room_id if place else None
    here = [one for one in stopping if one.holds(tank.now.tank.pk, room_id)]
    return [
        *(_("Emergency open: %(name)s.") % {"name": one.name} for one in here),
        *dict.fromkeys(
            a.sentence.removeprefix(f"{tank.now.code}: ")
            for a in tank.alerts
            if a.harm_class in AGAINST
        ),
    ]


def _row(tank: TankState, fit: Fitness, *, bare: bool) -> CameraRow:
    drawn = "" if bare else svg(tank.shape, Detail.WALL, px_per_cm=PX_PER_CM)
    now = tank.now
    return CameraRow(drawn, now.code, now.title, now.room_name, fit)
