"""The wall as it was at the end of a day: the glasses of then, each in its place and its stage."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gallery_ops.drawing import Stage, TankShape, hang, svg
from gallery_ops.drawing.types import Detail
from gallery_ops.drawing.wall import PX_PER_CM
from gallery_ops.kernel.models import Showroom
from gallery_ops.overview.drawings import shapes
from gallery_ops.overview.fleet import FOLD_FROM, FOLD_HARD_FROM, Caption, RoomWall
from gallery_ops.overview.tank_then import end_of_day
from tanks.models import Layout
from tanks.queries.as_of import AsOf, fleet_as_of
from tanks.queries.tanks import TankNow, by_room, fleet


@dataclass(frozen=True, slots=True)
class WallThen:
    """The wall of a day.

    moved, gone : how many stand elsewhere now, and how many are not here any more
    later : codes of the glasses that came after it
    """

    on: date
    is_today: bool
    rooms: list[RoomWall]
    tanks: int
    planted: int
    empty: int
    moved: int
    gone: int
    later: list[str]


def wall_then(showroom: Showroom, on_text: str, at: datetime) -> WallThen:
    """The fleet at the end of the day ``on_text``; the same number of queries for 20 and 2,000.

    Raises
    ------
    Refused
        ``no_day`` for a text that is no day, or a day still to come.
    """
    on, moment = end_of_day(showroom, on_text, at)
    then = fleet(showroom, moment)
    now = {row.tank.pk: row for row in fleet(showroom, at)}
    stood = {row.tank.pk: row for row in fleet_as_of(showroom, moment)}
    looks = shapes(showroom, moment, then)
    stages = dict(Layout._meta.get_field("stage").choices or [])
    captions = {
        row.code: _caption(
            row,
            now.get(row.tank.pk),
            stood.get(row.tank.pk),
            looks[row.code],
            stages,
            bare=len(then) >= FOLD_HARD_FROM,
        )
        for row in then
    }
    were = {row.tank.pk for row in then}
    return WallThen(
        on=on,
        is_today=moment == at,
        rooms=[_room(name, rows, looks, captions, len(then)) for name, rows in by_room(then)],
        tanks=len(then),
        planted=sum(row.layout is not None for row in then),
        empty=sum(row.layout is None for row in then),
        moved=sum(_is_elsewhere(row, now.get(row.tank.pk)) for row in then),
        gone=sum(row.tank.pk not in now for row in then),
        later=[row.code for key, row in now.items() if key not in were],
    )


def _room(
    name: str,
    rows: list[TankNow],
    looks: dict[str, TankShape],
    captions: dict[str, Caption],
    fleet_size: int,
) -> RoomWall:
    planted = sum(row.layout is not None for row in rows)
    words = ngettext("%(planted)s of %(n)s planted", "%(planted)s of %(n)s planted", len(rows))
    return RoomWall(
        name or _("Without a place"),
        words % {"planted": planted, "n": len(rows)},
        [
            [captions[shape.code] for shape in row]
            for row in hang([looks[row.code] for row in rows])
        ],
        fleet_size >= FOLD_FROM,
    )


def _caption(
    then: TankNow,
    now: TankNow | None,
    was: AsOf | None,
    look: TankShape,
    stages: dict[str, str],
    *,
    bare: bool,
) -> Caption:
    stage = was.stage if was else "vacant"
    drawn = "" if bare else svg(replace(look, stage=Stage(stage)), Detail.WALL, px_per_cm=PX_PER_CM)
    mark, words = _how(then, stage, stages)
    since = _since(then, now)
    if since:
        return Caption(drawn, then.code, then.title, "changed", f"{words}; {since}", "watch")
    return Caption(drawn, then.code, then.title, mark, words, "")


def _how(then: TankNow, stage: str, stages: dict[str, str]) -> tuple[str, str]:
    """What it was like: its stage and its day."""
    if then.layout is None:
        day = then.empty_day
        return "empty", _("empty, day %(n)s") % {"n": day} if day else _("empty")
    word = str(stages.get(stage, stage))
    day = then.day
    if day is None or day < 0:
        return "to_do", word
    return "as_it_was", _("%(stage)s, day %(n)s") % {"stage": word, "n": day}


def _since(then: TankNow, now: TankNow | None) -> str:
    """What is otherwise today, in words: gone, moved, called otherwise; else nothing."""
    if now is None:
        return _("not here any more")
    if _is_elsewhere(then, now):
        place = now.position
        if place is None:
            return _("now without a place")
        is_far = now.room_name != then.room_name
        return _("now in %(place)s") % {"place": place.room.name if is_far else place.name}
    return _("now called %(code)s") % {"code": now.code} if now.code != then.code else ""


def _is_elsewhere(then: TankNow, now: TankNow | None) -> bool:
    return now is not None and _place(then) != _place(now)


def _place(row: TankNow) -> int | None:
    return row.position.pk if row.position else None
