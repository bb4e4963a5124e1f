"""Does a layout grow old? Six signs, counted against their limit.

Each sign shows, does not show, or cannot be told; what cannot be told does not count. All limits:
common practice, no source, see :data:`tanks.science.gate_list.LIMITS`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import pairwise
from statistics import median

from tanks.science.gate_list import limit_of

Holds = Callable[[float], bool]


@dataclass(frozen=True, slots=True)
class Sign:
    """One sign of decline: does it show, and because of what; None where nobody can tell.

    figures : what it was read off, for whoever says it in another language; ``limit`` is the figure
        that it is held against
    """

    key: str
    words: str
    shows: bool | None
    because: str
    figures: Mapping[str, float | list[float]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Ageing:
    """What is on record of a layout that stands.

    Parameters
    ----------
    trims_at : hard trims, oldest first
    shown_on_day : when it came on show, for the first quarter of its year
    algae, appeal : weekly scores, oldest first (0 to 4; 1 to 5)
    bare_stems_percent, black_patches : last said, None for never
    age_months : since it was flooded
    """

    trims_at: Sequence[datetime] = ()
    algae: Sequence[float] = ()
    appeal: Sequence[float] = ()
    bare_stems_percent: float | None = None
    black_patches: bool | None = None
    age_months: float | None = None


IN_A_ROW = 3
FIRST_TRIMS = timedelta(days=91)


def signs_of_decline(ageing: Ageing, own: Mapping[str, float]) -> tuple[Sign, ...]:
    """The six signs; a layout with at least ``signs`` of them is in decline."""
    return (
        _shorter_trims(ageing),
        _number(
            "bare_stems",
            "Bare lower stems",
            ageing.bare_stems_percent,
            lambda value: value > limit_of("bare_stems_percent", own),
            "%",
            limit_of("bare_stems_percent", own),
        ),
        _row(
            "algae",
            "Algae week after week",
            ageing.algae,
            lambda value: value >= limit_of("algae_bad", own),
            limit_of("algae_bad", own),
        ),
        Sign(
            "black_patches",
            "Gas or black patches in the ground",
            ageing.black_patches,
            "Nobody has looked." if ageing.black_patches is None else "",
        ),
        _row(
            "appeal",
            "It pleases less",
            ageing.appeal,
            lambda value: value <= limit_of("appeal", own),
            limit_of("appeal", own),
        ),
        _number(
            "age",
            "Older than a layout usually stands",
            ageing.age_months,
            lambda value: value > limit_of("age_months", own),
            "months",
            limit_of("age_months", own),
        ),
    )


def is_declining(signs: Sequence[Sign], own: Mapping[str, float]) -> bool:
    """Do enough of them show? What nobody can tell does not count."""
    return sum(sign.shows is True for sign in signs) >= limit_of("signs", own)


def _shorter_trims(ageing: Ageing) -> Sign:
    """The last interval between trims below half the median of those of the first quarter."""
    words = "Trimmed twice as often as at first"
    trims = ageing.trims_at
    early = [at for at in trims if at - trims[0] <= FIRST_TRIMS] if trims else []
    gaps = [(b - a) / timedelta(days=1) for a, b in pairwise(early)]
    if len(gaps) < IN_A_ROW - 1 or len(trims) <= len(early):
        return Sign("trims", words, None, "Too few trims on record.")
    middle = median(gaps)
    last = (trims[-1] - trims[-2]) / timedelta(days=1)
    said = f"{last:.0f} days, at first {middle:.0f}"
    return Sign("trims", words, last < middle / 2, said, {"last": last, "first": middle})


def _number(
    key: str, words: str, value: float | None, shows: Holds, unit: str, limit: float
) -> Sign:
    if value is None:
        return Sign(key, words, None, "Nobody has said.")
    figures = {"value": value, "limit": limit}
    return Sign(key, words, shows(value), f"{value:.0f} {unit}".rstrip(), figures)


def _row(key: str, words: str, values: Sequence[float], shows: Holds, limit: float) -> Sign:
    last = values[-IN_A_ROW:]
    if len(last) < IN_A_ROW:
        return Sign(key, words, None, f"{len(last)} of {IN_A_ROW} weeks on record.")
    told = ", ".join(f"{value:g}" for value in last)
    figures: dict[str, float | list[float]] = {"values": list(last), "limit": limit}
    shown = all(shows(value) for value in last)
    return Sign(key, words, shown, f"last {IN_A_ROW}: {told}", figures)
