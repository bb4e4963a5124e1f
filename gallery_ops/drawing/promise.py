"""What was promised and what was kept: vessels, slots with the band of luck, beads on a line."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from gallery_ops.drawing.svg import escape, n, percent, spoken

_TOP, _FLOOR = 22.0, 150.0
_SLOT_FLOOR, _SLOT_TOP = 170.0, 20.0
_SLOTS_LEFT, _SLOT_STEP, _SLOT_WIDE = 30.0, 42.0, 34.0
_LINE, _BEAD, _STEP = 40.0, 4.6, 10.5
_SPANS = (6, 12, 24, 48, 96, 200, 400)


def promise_svg(promised: int, kept: int | None, *, sentence: str) -> str:
    """A vessel with its promise as a dashed line and what was kept as water; both of 100.

    kept : None where nothing was scored
    """
    high = _FLOOR - _TOP
    line = _FLOOR - high * promised / 100
    out = ['<svg viewBox="0 0 100 156" preserveAspectRatio="xMidYMax meet" ', spoken(sentence), ">"]
    if kept is not None:
        level = _FLOOR - high * kept / 100
        out.append(
            f'<rect class="f" x="10" y="{n(level)}" width="62" height="{n(_FLOOR - level)}"/>'
            f'<path class="w" d="M10 {n(level)}H72"/>'
        )
        out.append(f'<text x="41" y="{n(_FLOOR - 9)}" text-anchor="middle">{kept}</text>')
    out.append(
        f'<path class="o" d="M10 14V{n(_FLOOR)}H72V14"/><path class="p" d="M2 {n(line)}H80"/>'
        f'<text class="bt" x="84" y="{n(line - 1)}">{promised}</text></svg>'
    )
    return "".join(out)


@dataclass(frozen=True, slots=True)
class SlotWords:
    """What stands below the slots, from left to right."""

    sooner: str
    likely: str
    later: str


def slots_svg(
    counts: Sequence[int], lo: float, hi: float, words: SlotWords, *, sentence: str
) -> str:
    """Ten slots, the band within which luck lets them lie, and the even share as a dashed line."""
    even = sum(counts) / max(1, len(counts))
    most = max([*counts, hi, even, 1.0])
    right = _SLOTS_LEFT + _SLOT_STEP * len(counts)

    def y(value: float) -> float:
        return _SLOT_FLOOR - (_SLOT_FLOOR - _SLOT_TOP) * value / most

    out = [
        f'<svg class="slots" viewBox="0 0 488 200" {spoken(sentence)}>',
        f'<rect class="band" x="22" y="{n(y(hi))}" width="{n(right - 22)}" '
        f'height="{n(y(lo) - y(hi))}"/>',
    ]
    for k, count in enumerate(counts):
        x = _SLOTS_LEFT + _SLOT_STEP * k
        out.append(
            f'<rect class="c" x="{n(x)}" y="{n(y(count))}" width="{n(_SLOT_WIDE)}" '
            f'height="{n(_SLOT_FLOOR - y(count))}"/>'
        )
        inside = 162.0 if _SLOT_FLOOR - y(count) > 22 else y(count) - 6
        out.append(
            f'<text class="bt" x="{n(x + _SLOT_WIDE / 2)}" y="{n(inside)}" '
            f'text-anchor="middle">{count}</text>'
        )
    out.append(
        f'<path class="e" d="M22 {n(y(even))}H{n(right + 4)}"/>'
        f'<text class="bt" x="{n(right + 8)}" y="{n(y(even) + 5)}">{round(even)}</text>'
        f'<path class="g" d="M22 {n(_SLOT_FLOOR)}H{n(right + 4)}"/>'
        f'<text x="30" y="190">{escape(words.sooner)}</text>'
        f'<text x="{n((_SLOTS_LEFT + right) / 2)}" y="190" text-anchor="middle">'
        f"{escape(words.likely)}</text>"
        f'<text x="{n(right - 6)}" y="190" text-anchor="end">{escape(words.later)}</text></svg>'
    )
    return "".join(out)


@dataclass(frozen=True, slots=True)
class Spot:
    """Truth after (+) or before (-) the likely day [days]; inside its range or not."""

    off_days: float
    is_inside: bool


def span_of(days: Sequence[float]) -> int:
    """Days to each side that hold all of these, one of a few round numbers."""
    most = max((abs(day) for day in days), default=0.0)
    return next((span for span in _SPANS if span >= most), int(ceil(most / 100) * 100))


def beads_svg(spots: Sequence[Spot], lo: float, hi: float, span: int, *, sentence: str) -> str:
    """One bead a projection on a line of days around the likely day; lo to hi is shaded."""

    def at(day: float) -> float:
        return min(1.0, max(0.0, 0.5 + day / (2 * span)))

    out = [
        f"<svg {spoken(sentence)}>",
        f'<rect class="r" x="{percent(at(lo))}" y="6" width="{percent(at(hi) - at(lo))}" '
        'height="34"/>',
        f'<line class="g" x1="0" x2="100%" y1="{n(_LINE)}" y2="{n(_LINE)}"/>'
        '<line class="z" x1="50%" x2="50%" y1="2" y2="44"/>',
    ]
    stacked: Counter[int] = Counter()
    slot = max(span / 24, 0.5)
    for spot in spots:
        place = round(spot.off_days / slot)
        y = _LINE - 6 - _STEP * stacked[place]
        stacked[place] += 1
        out.append(
            f'<circle class="{"i" if spot.is_inside else "x"}" cx="{percent(at(place * slot))}" '
            f'cy="{n(y)}" r="{_BEAD}"/>'
        )
    out.append("</svg>")
    return "".join(out)


def beads_axis_svg(span: int, sooner: str, likely: str, later: str) -> str:
    """The axis above all lines of beads."""
    marks = (
        (0.0, "start", sooner),
        (0.25, "middle", str(span // 2)),
        (0.5, "middle", likely),
        (0.75, "middle", str(span // 2)),
        (1.0, "end", later),
    )
    texts = "".join(
        f'<text x="{percent(x)}" y="18" text-anchor="{anchor}">{escape(words)}</text>'
        for x, anchor, words in marks
    )
    return f'<svg aria-hidden="true">{texts}</svg>'
