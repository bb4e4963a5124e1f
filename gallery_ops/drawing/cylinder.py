"""A gas cylinder at the scale of its fill, the use of its line, and the ground line of a room."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import log10

from gallery_ops.drawing.strip import Axis
from gallery_ops.drawing.svg import escape, n, percent, spoken

_FOOT = 98.0
_LEFT_PPM, _RIGHT_PPM = 1_000, 100_000
_GROUND = 34
_BASE = 22


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of days with its use [g a day]; None where nobody weighed it twice."""

    g_per_day: float | None
    words: str


@dataclass(frozen=True, slots=True)
class Post:
    """A limit on the ground line of a room [ppm] and its words."""

    ppm: int
    words: str


@dataclass(frozen=True, slots=True)
class Reach:
    """The days on which a cylinder comes down to what stays in it, and the day to act."""

    earliest: date | None = None
    likely: date | None = None
    latest: date | None = None
    act_by: date | None = None


def cylinder_svg(fill_kg: float, part: float, css: str = "cyl-art") -> str:
    """A cylinder of that fill, filled to a part of 0 to 1; silent, words stand beside it.

    Width and height grow with the cube root of the fill, so that all share one scale.
    """
    side = max(0.05, fill_kg) ** (1 / 3)
    half, tall = min(20.0, (13.2 * side + 3.6) / 2), min(92.0, 38 * side + 11)
    left, right, top = 26 - half, 26 + half, _FOOT - tall
    level = _FOOT - (tall - 8) * min(1.0, max(0.0, part))
    return (
        f'<svg class="{css}" viewBox="0 0 52 104" aria-hidden="true" focusable="false">'
        f'<path class="f" d="M{n(left)} {n(level)}H{n(right)}V98H{n(left)}Z"/>'
        f'<path class="o" d="M{n(left)} 98V{n(top + 8)}Q{n(left)} {n(top)} 26 {n(top)}'
        f'Q{n(right)} {n(top)} {n(right)} {n(top + 8)}V98Z"/>'
        f'<path class="v" d="M23 {n(top - 7)}h6v8h-6Z"/><path class="o" d="M0 99H52"/></svg>'
    )


def room_line_svg(
    ppm: int | None,
    step: int,
    posts: Sequence[Post],
    *,
    sentence: str,
    number: str = "",
    ends: tuple[str, str] = ("1,000 ppm", "100,000"),
) -> str:
    """A log ground line from 1,000 to 100,000 ppm with its limits as posts.

    Below the first limit stands a bead, above it a triangle, above the second two triangles; the
    number stands with it, never the shape alone. Without a number only the posts stand.
    """
    out = [f'<line class="g" x1="0" x2="100%" y1="{_GROUND}" y2="{_GROUND}"/>']
    for number_of, post in enumerate(posts, 1):
        x = percent(_along(post.ppm))
        out.append(
            f'<line class="p" x1="{x}" x2="{x}" y1="{_GROUND - 10}" y2="{_GROUND + 10}"/>'
            f'<text class="at-{number_of}" x="{x}" y="59" text-anchor="middle">'
            f"{escape(post.words)}</text>"
        )
    out.append(f'<text class="end" x="0" y="59">{escape(ends[0])}</text>')
    out.append(f'<text class="end" x="100%" y="59" text-anchor="end">{escape(ends[1])}</text>')
    if ppm is not None:
        part = _along(ppm)
        anchor = "start" if part < 0.05 else "end" if part > 0.95 else "middle"
        out.append(
            f'<svg x="{percent(part)}" y="{_GROUND}" overflow="visible">{_SHAPES[step]}'
            f'<text class="bt" x="0" y="-24" text-anchor="{anchor}">{escape(number)}</text></svg>'
        )
    return f'<svg class="roomline" {spoken(sentence)}>{"".join(out)}</svg>'


_SHAPES = (
    '<circle class="b" cx="0" cy="0" r="6"/>',
    '<path class="w" d="M-9 -3H9L0 -19Z"/>',
    '<path class="h" d="M-19 -3H-1L-10 -19ZM1 -3H19L10 -19Z"/>',
)


def _along(ppm: float) -> float:
    """Part of the ground line at a concentration, kept on the line."""
    part = log10(max(ppm, 1) / _LEFT_PPM) / log10(_RIGHT_PPM / _LEFT_PPM)
    return min(1.0, max(0.0, part))


def gas_use_svg(pieces: Sequence[Piece], usual: float | None, *, sentence: str) -> str:
    """Grams a day, one flat piece a period over the line's own median; a change is a step."""
    values = [piece.g_per_day for piece in pieces if piece.g_per_day is not None]
    most = max([*values, usual or 0.0, 0.001])

    def high(value: float) -> float:
        return 14.8 + 27.3 * (1 - max(0.0, value) / most)

    out = []
    if usual is not None:
        middle_y = n(high(usual))
        out.append(f'<line class="m" x1="0" x2="100%" y1="{middle_y}" y2="{middle_y}"/>')
    for number, piece in enumerate(pieces):
        start, end = number / len(pieces), (number + 1) / len(pieces) - 0.01
        middle, css = percent((start + end) / 2), "bt" if number == len(pieces) - 1 else ""
        if number:
            x = percent(start)
            out.append(f'<line class="s" x1="{x}" x2="{x}" y1="2" y2="44"/>')
        y = high(piece.g_per_day) if piece.g_per_day is not None else high(usual or 0.0)
        if piece.g_per_day is not None:
            line = f'x1="{percent(start)}" x2="{percent(end)}" y1="{n(y)}" y2="{n(y)}"'
            out.append(f'<line class="l" {line}/>')
        out.append(
            f'<text class="{css}" x="{middle}" y="{n(y - 6)}" text-anchor="middle">'
            f"{escape(piece.words)}</text>"
        )
    return f'<svg class="use" {spoken(sentence)}>{"".join(out)}</svg>'


def months(axis: Axis) -> list[date]:
    """First days of the months on an axis."""
    day = axis.first.replace(day=1)
    found = []
    while axis.at(day) <= 1:
        if axis.at(day) >= 0:
            found.append(day)
        day = (day + timedelta(days=32)).replace(day=1)
    return found


def months_svg(axis: Axis, names: Sequence[str]) -> str:
    """Their names above the strips; too near an end none."""
    out = [
        f'<text x="{percent(axis.at(day))}" y="14" text-anchor="middle">{escape(name)}</text>'
        for day, name in zip(months(axis), names, strict=True)
        if 0.03 <= axis.at(day) <= 0.97
    ]
    return f'<svg class="use" aria-hidden="true">{"".join(out)}</svg>'


def reach_svg(reach: Reach, axis: Axis) -> str:
    """Two posts and a bead on a line of months; a pennant on the day to act. Silent."""
    out = [f'<line class="base" x1="0" x2="100%" y1="{_BASE}" y2="{_BASE}"/>']
    for day in months(axis):
        x = percent(axis.at(day))
        out.append(f'<line class="dl" x1="{x}" x2="{x}" y1="4" y2="{_BASE}"/>')
    if reach.act_by is not None and axis.at(reach.act_by) <= 1:
        x = percent(max(0.0, axis.at(reach.act_by)))
        out.append(
            f'<line class="by" x1="{x}" x2="{x}" y1="0" y2="{_BASE}"/>'
            f'<svg x="{x}" y="0" width="16" height="14" overflow="visible">'
            '<path class="flag" d="M0 0H10L7 4L10 8H0Z"/></svg>'
        )
    out += _posts(reach, axis)
    return f'<svg class="strip" aria-hidden="true" focusable="false">{"".join(out)}</svg>'


def _posts(reach: Reach, axis: Axis) -> list[str]:
    out = []
    for day in (reach.earliest, reach.latest):
        if axis.holds(day) and day is not None:
            x = percent(axis.at(day))
            out.append(f'<line class="end" x1="{x}" x2="{x}" y1="{_BASE - 7}" y2="{_BASE + 7}"/>')
    if reach.earliest is not None and axis.at(reach.earliest) < 1:
        last = reach.latest or axis.first + timedelta(days=2 * axis.days)
        left, right = max(0.0, axis.at(reach.earliest)), min(1.0, axis.at(last))
        out.append(
            f'<line class="end" x1="{percent(left)}" x2="{percent(right)}" '
            f'y1="{_BASE}" y2="{_BASE}"/>'
        )
    if axis.holds(reach.likely) and reach.likely is not None:
        out.append(
            f'<circle class="dot" cx="{percent(axis.at(reach.likely))}" cy="{_BASE}" r="5"/>'
        )
    return out
