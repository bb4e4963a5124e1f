"""Numbers and elements as SVG text."""

from collections.abc import Iterable
from xml.sax.saxutils import escape as _escape

Point = tuple[float, float]


def n(value: float) -> str:
    """Length with one decimal and nothing to spare: 12, 0.5, -3.1."""
    text = f"{value:.1f}"
    if text.endswith(".0"):
        text = text[:-2]
    return "0" if text == "-0" else text


def percent(part: float) -> str:
    """Part of a whole as a percent attribute: 0.25 gives 25.00%."""
    return f"{part * 100:.2f}%"


def escape(text: str) -> str:
    """Text that may stand in an attribute or between tags."""
    return _escape(text, {'"': "&quot;"})


def spoken(sentence: str) -> str:
    """Attributes that read a picture out by its sentence, or hide it where it has none."""
    if not sentence:
        return 'aria-hidden="true"'
    return f'role="img" aria-label="{escape(sentence)}"'


def path(css: str, d: str, extra: str = "") -> str:
    """A path, or nothing when it has no points."""
    return f'<path class="{css}"{extra} d="{d}"/>' if d else ""


def polygon(points: Iterable[Point]) -> str:
    """Closed outline through the points."""
    return "M" + "L".join(f"{n(x)} {n(y)}" for x, y in points) + "Z"
