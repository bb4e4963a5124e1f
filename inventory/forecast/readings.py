"""What was seen of a stock, as the filter takes it: the usable content of the whole case.

A look in quarters never counts within seven days after a weighing. What is unopened counts at its
nominal content.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from inventory.forecast.types import Case, Observation

EYE_SD = 0.09
"""A look in quarters is +-12.5 % (sd 0.072), and the eye adds to it."""
EYE_BLIND_DAYS = 7
"""A look never counts so soon after a weighing."""


@dataclass(frozen=True, slots=True)
class Reading:
    """An observation as the filter sees it: usable content of the whole case."""

    seen: Observation
    at: int
    """Days of history elapsed at its end."""
    content: float
    variance: float
    vessel: int
    other_scale: bool


def usable_of(case: Case) -> float:
    """Usable content of all containers of a case when full; 1 when it has none."""
    return sum(v.nominal - v.unusable for v in case.vessels) or 1.0


def readings(case: Case) -> tuple[Reading, ...]:
    """The observations that count, in order of time. Unknown containers raise ValueError."""
    place = {v.id: k for k, v in enumerate(case.vessels)}
    usual, rest = _usual_scale(case), _unopened(case)
    out: list[Reading] = []
    weighed: date | None = None
    for seen in sorted(case.observations, key=lambda o: o.on):
        if seen.on > case.as_of:
            continue
        if seen.kind == "eye" and weighed and (seen.on - weighed).days <= EYE_BLIND_DAYS:
            continue
        if seen.kind == "weigh":
            weighed = seen.on
        at = (seen.on - case.history_from).days + 1
        if seen.container is not None and seen.container not in place:
            msg = f"{case.case_id}: observation of unknown container {seen.container}"
            raise ValueError(msg)
        vessel = place.get(seen.container or "", -1)
        content, variance = _content(case, seen, vessel, rest)
        other = seen.kind == "weigh" and seen.scale != usual
        out.append(Reading(seen, max(0, at), content, variance, vessel, other))
    return tuple(out)


def _unopened(case: Case) -> list[float]:
    """Usable content of all containers after each one."""
    usable = [v.nominal - v.unusable for v in case.vessels]
    return [sum(usable[k + 1 :]) for k in range(len(usable))]


def _content(case: Case, seen: Observation, vessel: int, rest: list[float]) -> tuple[float, float]:
    """Usable content of the whole case that an observation says, and its variance."""
    if seen.container is None:
        return seen.value, seen.sd**2
    own = case.vessels[vessel]
    if seen.kind == "eye":
        variance = (EYE_SD * own.nominal) ** 2
        return seen.value * own.nominal - own.unusable + rest[vessel], variance
    variance = seen.sd**2 + seen.resolution**2 / 12
    return seen.value - own.unusable + rest[vessel], variance


def _usual_scale(case: Case) -> str:
    names = [o.scale for o in case.observations if o.kind == "weigh"]
    return max(sorted(set(names)), key=names.count) if names else ""
