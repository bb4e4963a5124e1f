"""Readings of one parameter on a ground of their own: target, medians, points, a trend, events.

Places along the axis are parts of it (0 oldest, 1 now). Points are never joined: two methods do not
make a curve. A median is drawn only across the readings that it was taken of.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from gallery_ops.drawing.svg import escape, n, spoken

Height = Callable[[float], float]
"""A value, as how far below the top it stands."""
_TOP, _BOTTOM = 14.0, 126.0
_LEFT, _RIGHT = 0.05, 0.985


@dataclass(frozen=True, slots=True)
class Dot:
    """One reading. ``kind``: like (comparable with the newest), other, below or above a limit of
    the method, away (alone far from its habit)."""

    at: float
    value: float
    kind: str = "like"


@dataclass(frozen=True, slots=True)
class Span:
    """A level or a slope from one place of the axis to another."""

    begin: float
    begin_value: float
    end: float
    end_value: float


@dataclass(frozen=True, slots=True)
class Event:
    """Something changed; ``kind`` water for a water change, else it is drawn firmer."""

    at: float
    kind: str


def place(at: float) -> str:
    """Where on the axis, as an attribute."""
    return f"{100 * (_LEFT + (_RIGHT - _LEFT) * min(1.0, max(0.0, at))):.2f}%"


def readings_svg(
    dots: Sequence[Dot],
    *,
    target: tuple[float | None, float | None] = (None, None),
    medians: Sequence[Span] = (),
    trend: Span | None = None,
    events: Sequence[Event] = (),
    ticks: Sequence[tuple[float, str]] = (),
    mark: str = ".",
    sentence: str = "",
) -> str:
    """One chart.

    target : lowest and highest wanted value; None is an open side
    ticks : places of the axis with their words
    mark : decimal mark of the labels
    """
    low, high = _room(dots, target, trend)

    def y(value: float) -> float:
        part = (value - low) / (high - low)
        return _BOTTOM - max(0.0, min(1.0, part)) * (_BOTTOM - _TOP)

    out = [_target(target, y)]
    for event in events:
        x = place(event.at)
        out.append(f'<line class="ev ev-{event.kind}" x1="{x}" x2="{x}" y1="6" y2="{n(_BOTTOM)}"/>')
    out.append(f'<line class="base" x1="0" x2="100%" y1="{n(_BOTTOM)}" y2="{n(_BOTTOM)}"/>')
    out += [_labels(target, low, high, y, mark)]
    for at, words in ticks:
        out.append(f'<text class="tk" x="{place(at)}" y="143">{words}</text>')
    out += [_line("med", span, y) for span in medians]
    if trend is not None:
        out.append(_line("trend", trend, y))
    out += [_dot(dot, y, is_last=i == len(dots) - 1) for i, dot in enumerate(dots)]
    return f'<svg class="rd-chart" {spoken(sentence)}>{"".join(out)}</svg>'


def lanes_svg(
    events: Sequence[Event], lanes: Sequence[tuple[str, str]], *, sentence: str = ""
) -> str:
    """What was done, a lane for each kind, on the axis of the charts below.

    lanes : kind of event and the words above its lane
    """
    out = []
    for i, (kind, words) in enumerate(lanes):
        y = 28 + 36 * i
        out.append(f'<line class="lane" x1="0" x2="100%" y1="{y}" y2="{y}"/>')
        out.append(f'<text x="0" y="{y - 13}">{escape(words)}</text>')
        for event in events:
            if event.kind == kind:
                x = place(event.at)
                out.append(
                    f'<line class="did did-{kind}" x1="{x}" x2="{x}" y1="{y - 7}" y2="{y + 5}"/>'
                )
    high = 36 * len(lanes)
    return f'<svg class="rd-lanes" height="{high}" {spoken(sentence)}>{"".join(out)}</svg>'


def _room(
    dots: Sequence[Dot], target: tuple[float | None, float | None], trend: Span | None
) -> tuple[float, float]:
    values = [dot.value for dot in dots] + [side for side in target if side is not None]
    if trend is not None:
        values += [trend.begin_value, trend.end_value]
    if not values:
        return 0.0, 1.0
    low, high = min(values), max(values)
    more = (high - low) * 0.18 or max(abs(high) * 0.1, 0.5)
    return (max(0.0, low - more) if low >= 0 else low - more), high + more


def _target(target: tuple[float | None, float | None], y: Height) -> str:
    low, high = target
    if low is None and high is None:
        return ""
    top = _TOP - 8 if high is None else y(high)
    bottom = _BOTTOM if low is None else y(low)
    return f'<rect class="tgt" x="0" width="100%" y="{n(top)}" height="{n(bottom - top)}"/>'


def _labels(
    target: tuple[float | None, float | None], low: float, high: float, y: Height, mark: str
) -> str:
    """The limits are named on the left; where there are none, the room of the chart is."""
    named = [side for side in target if side is not None] or [low, high]
    return "".join(
        f'<text class="lb" x="0" y="{n(y(value) - 4)}">{f"{value:.4g}".replace(".", mark)}</text>'
        for value in named
    )


def _line(css: str, span: Span, y: Height) -> str:
    return (
        f'<line class="{css}" x1="{place(span.begin)}" x2="{place(span.end)}"'
        f' y1="{n(y(span.begin_value))}" y2="{n(y(span.end_value))}"/>'
    )


def _dot(dot: Dot, y: Height, *, is_last: bool) -> str:
    size = 6 if is_last else 4
    x, at = place(dot.at), n(y(dot.value))
    if dot.kind in {"below", "above"}:
        way = 1 if dot.kind == "below" else -1
        return (
            f'<svg class="lim" x="{x}" y="{at}" overflow="visible">'
            f'<path d="M-5 {-3 * way}h10l-5 {8 * way}z"/></svg>'
        )
    css = "pt" if dot.kind == "like" else dot.kind
    ring = f'<circle class="ring" cx="{x}" cy="{at}" r="{size + 5}"/>' if dot.kind == "away" else ""
    return f'{ring}<circle class="{css}" cx="{x}" cy="{at}" r="{size}"/>'
