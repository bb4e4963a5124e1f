"""The range strip: the level falls along one axis of days until it meets the ground.

Geometry is in percent of the axis, so a strip fits any width with no script and no inline
style. A part beyond the axis is not drawn: its words say the date.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, timedelta

from gallery_ops.drawing.svg import escape, n, percent, spoken

_GROUND = 50  # the ground line [px from the top of the strip]
_RIM = 8
_WIDE_DAYS, _LONG_DAYS = 28, 70
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True, slots=True)
class Axis:
    """Days that all strips of a page share.

    deliveries : days on which a van comes; closures : days without one, drawn as gaps
    """

    first: date
    days: int = 56
    deliveries: tuple[date, ...] = ()
    closures: tuple[date, ...] = ()

    def at(self, day: date) -> float:
        """Part of the axis at a day; below 0 before it, above 1 beyond it."""
        return (day - self.first).days / self.days

    @property
    def vans(self) -> tuple[date, ...]:
        """Delivery days to be drawn: all of them, on a long axis the first of each week."""
        days = tuple(day for day in sorted(self.deliveries) if self.holds(day))
        if self.days <= _LONG_DAYS:
            return days
        firsts: dict[int, date] = {}
        for day in days:
            firsts.setdefault((day - self.first).days // 7, day)
        return tuple(firsts.values())

    def holds(self, day: date | None) -> bool:
        """Whether the day lies on the axis."""
        return day is not None and 0 <= self.at(day) <= 1


@dataclass(frozen=True, slots=True)
class Level:
    """One row of the stock page.

    full : level now as a part of full, 0..1
    earliest, likely, latest : days on which it is gone; None when not known or far away
    order_by, too_old : days, or None
    is_guess : level never measured, gauge drawn dashed
    """

    full: float
    earliest: date | None = None
    likely: date | None = None
    latest: date | None = None
    order_by: date | None = None
    too_old: date | None = None
    is_guess: bool = False
    sentence: str = field(default="", compare=False)


def level_of(now: float, full: float) -> float:
    """Part of full, kept between 0 and 1; 0 when full is not known."""
    return 0.0 if full <= 0 else min(1.0, max(0.0, now / full))


def strip_svg(level: Level, axis: Axis, *, css: str = "strip") -> str:
    """One strip; its sentence is read out."""
    out = [
        f'<line class="dl" x1="{p}" x2="{p}" y1="0" y2="{_GROUND}"/>'
        for p in (percent(axis.at(d)) for d in axis.vans)
    ]
    out.append(_base(axis))
    out.append(_water(level, axis))
    out.append(_ends(level, axis))
    out.append(_gauge(level))
    out.append(_pennant(level, axis))
    if level.too_old is not None and axis.holds(level.too_old):
        p = percent(axis.at(level.too_old))
        out.append(
            f'<svg x="{p}" y="{_GROUND - 7}" overflow="visible">'
            '<path class="gone" d="M-7 0L7 14M7 0L-7 14"/></svg>'
        )
    return f'<svg class="{css}" {spoken(level.sentence)}>{"".join(out)}</svg>'


def day_month(day: date) -> str:
    """A day as it stands on an axis: 12 Mar."""
    return f"{day.day} {_MONTHS[day.month - 1]}"


def axis_svg(axis: Axis, words: Callable[[date], str] = day_month) -> str:
    """Dates every week in the words given, and the days on which a van comes as squares."""
    every = 7 if axis.days <= _LONG_DAYS else 28
    marks = range(0, axis.days + 1, every)
    out = []
    for i, day in enumerate(marks):
        p = percent(day / axis.days)
        anchor = "start" if i == 0 else "end" if day == axis.days else "middle"
        on = axis.first + timedelta(days=day)
        css = "alt" if i % 2 else "main"
        out.append(
            f'<line class="tk" x1="{p}" x2="{p}" y1="22" y2="28"/>'
            f'<text class="{css}" x="{p}" y="15" text-anchor="{anchor}">'
            f"{escape(words(on))}</text>"
        )
    # vans of four days in a row stay apart on eight weeks, also on a narrow axis
    half = 2 if _WIDE_DAYS < axis.days <= _LONG_DAYS else 3
    out += [
        f'<svg x="{percent(axis.at(d))}" y="32" overflow="visible">'
        f'<path class="van" d="M-{half} 0H{half}V6H-{half}Z"/></svg>'
        for d in axis.vans
    ]
    return f'<svg aria-hidden="true">{"".join(out)}</svg>'


def _base(axis: Axis) -> str:
    """The ground line, interrupted on days of closure."""
    edges: list[tuple[float, float]] = []
    start = 0.0
    for day in sorted(d for d in axis.closures if axis.holds(d)):
        left, right = max(0.0, axis.at(day) - 0.5 / axis.days), axis.at(day) + 0.5 / axis.days
        if left > start:
            edges.append((start, left))
        start = min(1.0, right)
    edges.append((start, 1.0))
    return "".join(
        f'<line class="base" x1="{percent(a)}" x2="{percent(b)}" y1="{_GROUND}" y2="{_GROUND}"/>'
        for a, b in edges
    )


def _water(level: Level, axis: Axis) -> str:
    likely = level.likely
    if likely is None and level.full <= 0:
        return ""
    top = 100 - 100 * min(1.0, max(0.0, level.full))
    end_likely = axis.at(likely) if likely else 1e6
    first = axis.at(level.earliest) if level.earliest else end_likely
    last = axis.at(level.latest) if level.latest else max(end_likely, first)
    width = min(1.0, max(last, 0.001))

    def meets(end: float) -> tuple[float, float]:
        """Where a line from the level to its end leaves the box, in its own percent."""
        if end <= width:
            return 100 * max(end, 0.0) / width, 100.0
        return 100.0, top + (100 - top) * width / end

    (ax, ay), (bx, by), (lx, ly) = meets(first), meets(last), meets(end_likely)
    corner = " 100,100" if lx >= 100 and ly < 100 else ""
    fan_corner = " 100,100" if ay >= 100 and by < 100 and ax < 100 else ""
    return (
        f'<svg x="0" y="{_RIM}" width="{percent(width)}" height="{_GROUND - _RIM}" '
        'viewBox="0 0 100 100" preserveAspectRatio="none">'
        f'<polygon class="wedge" points="0,{n(top)} {n(lx)},{n(ly)}{corner} 0,100"/>'
        f'<polygon class="fan" points="0,{n(top)} {n(ax)},{n(ay)}{fan_corner} {n(bx)},{n(by)}"/>'
        f'<path class="likely" d="M0 {n(top)}L{n(lx)} {n(ly)}"/></svg>'
    )


def _ends(level: Level, axis: Axis) -> str:
    """Two posts and a bead on the ground line; those beyond the axis are left out."""
    out = []
    known = [d for d in (level.earliest, level.latest) if d is not None]
    for day in known:
        if axis.holds(day):
            p = percent(axis.at(day))
            out.append(
                f'<line class="end" x1="{p}" x2="{p}" y1="{_GROUND - 7}" y2="{_GROUND + 7}"/>'
            )
    if len(known) == 2 and axis.at(known[0]) <= 1:
        a, b = max(0.0, axis.at(known[0])), min(1.0, axis.at(known[1]))
        out.append(
            f'<line class="end" x1="{percent(a)}" x2="{percent(b)}" y1="{_GROUND}" y2="{_GROUND}"/>'
        )
    if level.likely is not None and axis.holds(level.likely):
        p = percent(axis.at(level.likely))
        out.append(f'<circle class="dot" cx="{p}" cy="{_GROUND}" r="5"/>')
    return "".join(out)


def _gauge(level: Level) -> str:
    high = round((_GROUND - _RIM) * min(1.0, max(0.0, level.full)))
    guess = ' stroke-dasharray="3 2.4"' if level.is_guess else ""
    fill = (
        f'<rect class="tank-f" x="-16" y="{_GROUND - high}" width="11" height="{high}"/>'
        if high and not level.is_guess
        else ""
    )
    return f'{fill}<path class="tank-o"{guess} d="M-16 {_RIM}V{_GROUND}H-5V{_RIM}"/>'


def _pennant(level: Level, axis: Axis) -> str:
    day = level.order_by
    if day is None or axis.at(day) > 1:
        return ""
    p = percent(max(0.0, axis.at(day)))
    return (
        f'<line class="by" x1="{p}" x2="{p}" y1="0" y2="{_GROUND}"/>'
        f'<svg x="{p}" y="0" width="16" height="14" overflow="visible">'
        '<path class="flag" d="M0 0H13L9 5L13 10H0Z"/></svg>'
    )
