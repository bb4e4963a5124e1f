"""The start-up of a planted tank: steps by day and condition, and which is proposed now.

For rich ground and CO2 (common practice, no source): to copy and edit for each layout. A step is
never taken by its day alone; the program proposes, a person accepts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

ALGAE_HOLDS = 2.0
"""Algae score (0 to 4) from which light and dose do not rise (common practice, no source)."""
TAN_CHANGE_MG_PER_L = 1.0
"""Total ammonia nitrogen above which half the water is changed once more the same day (common
practice, no source)."""
EXTRA_PERCENT = 50
INERT_FIRST_PERMILLE = 500
"""First week's share of the dose where the ground feeds nothing (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Step:
    """One line of a regime.

    Parameters
    ----------
    from_day, to_day : days since flooding; no last day holds on
    change_percent, changes_per_week : of the water
    dose_permille : of the full dose
    light_minutes : a day
    tests_on_days : days on which ammonia and nitrite are tested
    """

    order: int
    from_day: int
    to_day: int | None
    change_percent: int
    changes_per_week: float
    dose_permille: int
    light_minutes: int
    tests_on_days: tuple[int, ...] = ()
    watch: str = ""

    @property
    def litres_share_per_week(self) -> float:
        """Water changed in a week as a share of the volume, each change counted alike."""
        return self.change_percent / 100 * self.changes_per_week


REGIME: tuple[Step, ...] = (
    Step(1, 1, 7, 50, 7, 0, 360, (1, 3, 5, 7), "Melting leaves, plants afloat, cloudy water"),
    Step(2, 8, 14, 50, 3.5, 333, 390, (10, 14), "Brown diatoms are usual; replant what floats"),
    Step(3, 15, 21, 50, 2, 667, 420, (17, 21), "With mature media: the gate for first animals"),
    Step(4, 22, 28, 50, 2, 1000, 450, (24, 28), "First trim of fast stems"),
    Step(5, 29, 42, 50, 1, 1000, 480, (35, 42), "The second trim thickens"),
    Step(6, 43, None, 40, 1, 1000, 480, (), "The gate for being shown"),
)


def regime(*, is_inert: bool = False) -> tuple[Step, ...]:
    """The usual steps; over inert ground half the dose is given from the first week."""
    if not is_inert:
        return REGIME
    return tuple(
        replace(step, dose_permille=max(step.dose_permille, INERT_FIRST_PERMILLE))
        for step in REGIME
    )


Kind = Literal["stay", "accept", "hold", "none"]


@dataclass(frozen=True, slots=True)
class Proposal:
    """What is proposed now, and because of what.

    Parameters
    ----------
    kind : ``accept`` the next step may be taken; ``hold`` its day has come and something speaks
        against it; ``stay`` its day has not come; ``none`` there is no further step
    extra_change_percent : of the water today, besides; 0 for none
    """

    kind: Kind
    step: Step | None
    because: str
    extra_change_percent: int = 0


def propose(
    steps: Sequence[Step],
    *,
    accepted: int,
    day: int,
    algae: float | None,
    tan_mg_per_l: float | None,
) -> Proposal:
    """The step to take now.

    Parameters
    ----------
    steps : the layout's own, in order
    accepted : order of the last step that somebody accepted; 0 for none
    day : days since flooding
    algae : last score 0 to 4, None when nobody has looked
    tan_mg_per_l : last total ammonia nitrogen, None when not measured

    Examples
    --------
    >>> propose(REGIME, accepted=1, day=9, algae=2, tan_mg_per_l=0.1).kind
    'hold'
    """
    extra = EXTRA_PERCENT if tan_mg_per_l is not None and tan_mg_per_l > TAN_CHANGE_MG_PER_L else 0
    # The first step asks for nothing: it begins with the water.
    following = next((step for step in steps if step.order > accepted), None)
    if following is None:
        return Proposal("none", None, "Every step is taken.", extra)
    if day < following.from_day:
        return Proposal("stay", following, f"From day {following.from_day}; today {day}.", extra)
    against = _against(algae, tan_mg_per_l) if accepted else []
    if against:
        return Proposal("hold", following, " ".join(against), extra)
    return Proposal("accept", following, f"Day {day}, nothing speaks against it.", extra)


def _against(algae: float | None, tan_mg_per_l: float | None) -> list[str]:
    told = []
    if algae is None:
        told.append("Nobody has scored the algae since the step before.")
    elif algae >= ALGAE_HOLDS:
        told.append(f"Algae {algae:g} of 4: no more light, no more dose, below {ALGAE_HOLDS:g}.")
    if tan_mg_per_l is None:
        told.append("Ammonia was not measured.")
    elif tan_mg_per_l > TAN_CHANGE_MG_PER_L:
        told.append(f"Ammonia {tan_mg_per_l:g} mg/L as nitrogen: wait until it falls.")
    return told


def dose_steps(steps: Sequence[Step], full_base: int) -> tuple[tuple[int, int | None, int], ...]:
    """Days and amounts of the ramp: (from day, first day no longer, base units a day).

    Days without a dose are left out; amounts are rounded half up to whole base units.

    Examples
    --------
    >>> dose_steps(REGIME, 3_000)[:3]
    ((8, 15, 999), (15, 22, 2001), (22, None, 3000))
    """
    lines: list[tuple[int, int | None, int]] = []
    for step in steps:
        amount = (full_base * step.dose_permille + 500) // 1000
        until = None if step.to_day is None else step.to_day + 1
        if not amount:
            continue
        if lines and lines[-1][2] == amount and lines[-1][1] == step.from_day:
            lines[-1] = (lines[-1][0], until, amount)
        else:
            lines.append((step.from_day, until, amount))
    return tuple(lines)
