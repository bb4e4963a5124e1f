"""The first words of the day: three things, each with its proof, at most eighty words."""

from __future__ import annotations

from dataclasses import dataclass

from gallery_ops.kernel.models import Alert

MOST_WORDS = 80
MOST = 3


@dataclass(frozen=True, slots=True)
class Thing:
    """One of the three: an alert's sentence, split at its first full stop."""

    alert: Alert
    first: str
    rest: str


def three_things(alerts: list[Alert]) -> list[Thing]:
    """The worst open alerts that nobody has taken yet, until eighty words are full.

    One of a kind first, so that a storm of one cause does not hide the others.
    """
    found: list[Thing] = []
    words = 0
    kinds: set[str] = set()
    waiting = [alert for alert in alerts if alert.acknowledged_at is None]
    for alert in [*_first_of_kind(waiting, kinds), *waiting]:
        if len(found) == MOST or any(thing.alert.pk == alert.pk for thing in found):
            continue
        count = len(alert.sentence.split())
        if found and words + count > MOST_WORDS:
            continue
        words += count
        first, stop, rest = alert.sentence.partition(". ")
        found.append(Thing(alert, first + (stop.strip() if stop else ""), rest))
    return found


def _first_of_kind(alerts: list[Alert], kinds: set[str]) -> list[Alert]:
    picked = []
    for alert in alerts:
        if alert.kind not in kinds:
            kinds.add(alert.kind)
            picked.append(alert)
    return picked
