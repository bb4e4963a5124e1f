"""What stood here on a date: one tank as it was at the end of a business day."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from django.utils.translation import gettext as _

from gallery_ops.drawing import Stage, TankShape
from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import business_day, day_bounds
from gallery_ops.overview.drawings import shapes
from tanks.models import Layout
from tanks.queries.as_of import AsOf, tank_as_of
from tanks.queries.old_codes import Lead, lead_of
from tanks.queries.tanks import TankNow, glass_after, leads_to, tank_by_code, tank_now


@dataclass(frozen=True, slots=True)
class TankThen:
    """The tank of today and the glass of then; ``was`` is None where nothing stood yet.

    went_into : whether that tank has gone into another one since, which then is ``now``
    """

    now: TankNow
    on: date
    was: AsOf | None
    then: TankNow | None
    shape: TankShape | None
    stage: str
    went_into: bool = False
    lead: Lead | None = None


def tank_then(showroom: Showroom, code: str, on_text: str, at: datetime) -> TankThen:
    """The tank that has or had this code, at the end of the day ``on_text`` (empty: today).

    Raises
    ------
    Unknown
        when no tank of this showroom was ever called so.
    Refused
        ``no_day`` for a text that is no day, or a day still to come.
    """
    now = tank_by_code(showroom, code, at)
    on, moment = end_of_day(showroom, on_text, at)
    was = tank_as_of(showroom, code, moment)
    if was is None:
        return TankThen(now, on, None, None, None, "", lead=lead_of(showroom, code, at))
    then = tank_now(was.tank, moment)
    same, heir = glass_after(was.tank, at), leads_to(was.tank, at)
    shape = shapes(showroom, moment, [then])[then.code]
    labels = dict(Layout._meta.get_field("stage").choices or [])
    return TankThen(
        now=tank_now(heir, at),
        on=on,
        was=was,
        then=then,
        shape=replace(shape, stage=Stage(was.stage)),
        stage=str(labels.get(was.stage, _("vacant"))),
        went_into=heir != same,
    )


def end_of_day(showroom: Showroom, on_text: str, at: datetime) -> tuple[date, datetime]:
    """The day that was typed (empty: today) and its last moment, or ``at`` while it lasts.

    Raises
    ------
    Refused
        ``no_day`` for a text that is no day, or a day still to come.
    """
    on = _day(on_text, business_day(at, showroom.tz, showroom.cut_off_hour))
    ended_at = day_bounds(on, showroom.tz, showroom.cut_off_hour)[1]
    return on, min(at, ended_at - timedelta(microseconds=1))


def _day(text: str, today: date) -> date:
    if not text.strip():
        return today
    allowed = _("A day up to today, such as 2026-03-03.")
    try:
        on = date.fromisoformat(text.strip())
        day_bounds(on, "UTC", 0)
    except (ValueError, OverflowError):
        said = _("“%(text)s” is no day.") % {"text": text[:20]}
        raise Refused("no_day", said, {"on": allowed}) from None
    if on.year < 1900 or on > today:
        said = _("%(day)s cannot be looked up.") % {"day": on.isoformat()}
        raise Refused("no_day", said, {"on": allowed})
    return on
