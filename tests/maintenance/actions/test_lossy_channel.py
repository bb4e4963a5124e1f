"""Is everything that was entered applied, each once, whatever the channel does to it?

Hypothesis chooses who enters what, who sends when, and what happens to the request: lost on the way
there, its answer lost, cut off, doubled, shuffled. At the end everybody sends over a good channel,
and the books are held against what was entered. LOSSY_RUNS=5000 makes a long run of it.
"""

from __future__ import annotations

import os
import random
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from inventory.models import Movement, Use
from maintenance.models import Action, Observation
from tests.builders import people
from tests.maintenance.actions.lossy import (
    MISHAPS,
    Basement,
    Tablet,
    a_dose,
    a_note,
    a_tablet,
    taken_back,
)
from tests.maintenance.actions.saying import AT, Morning, a_morning

pytestmark = pytest.mark.django_db

RUNS = int(os.environ.get("LOSSY_RUNS", "100"))
TABLETS = 3
ENTER = st.tuples(
    st.just("enter"),
    st.integers(0, TABLETS - 1),
    st.sampled_from(["dose", "note", "undo"]),
    st.sampled_from(["T01", "T02"]),
    st.integers(1, 4),
)
SEND = st.tuples(
    st.just("send"),
    st.integers(0, TABLETS - 1),
    st.sampled_from(MISHAPS),
    st.integers(1, 5),
    st.just(0),
)
STEPS = st.lists(st.one_of(ENTER, SEND), min_size=14, max_size=40)
Step = tuple[str, int, str, Any, int]


@pytest.fixture
def tablets() -> tuple[Morning, list[Any]]:
    morning = a_morning()
    owner = morning.house.owner
    return morning, [people.a_device(owner, f"tablet {n}", at=AT) for n in range(TABLETS)]


def test_nothing_is_lost_and_nothing_counts_twice(tablets: tuple[Morning, list[Any]]) -> None:
    morning, devices = tablets
    counted = {"runs": 0, "entries": 0, "requests": 0}
    books = _Books(morning)

    @settings(
        max_examples=RUNS,
        deadline=None,
        derandomize="LOSSY_RUNS" not in os.environ,
        database=None,
        phases=[Phase.generate, Phase.shrink],
        suppress_health_check=list(HealthCheck),
        print_blob=True,
    )
    @given(steps=STEPS, seed=st.integers(0, 2**32))
    def run(steps: list[Step], seed: int) -> None:
        basement = Basement(morning, random.Random(seed))
        here = books.switched_on(devices)
        for step in steps:
            _take(basement, here, step)
        for tablet in here:
            _drain(basement, tablet)
        books.agree(here)
        counted["runs"] += 1
        counted["entries"] += sum(len(tablet.entries) for tablet in here)
        counted["requests"] += basement.requests

    run()
    print(counted)
    assert counted["runs"] >= RUNS
    assert counted["entries"] > 5 * RUNS


def _take(basement: Basement, here: list[Tablet], step: Step) -> None:
    deed, who, what, which, amount = step
    tablet = here[who]
    if deed == "send":
        actions = tablet.waiting(most=which)
        if actions:
            basement.deliver(tablet, actions, what)
    elif what == "dose":
        a_dose(basement, tablet, which, 1000 * amount)
    elif what == "note":
        a_note(basement, tablet, which, f"line {len(tablet.entries)}")
    else:
        taken_back(basement, tablet)


def _drain(basement: Basement, tablet: Tablet) -> None:
    while waiting := tablet.waiting():
        basement.deliver(tablet, waiting, "none")


class _Books:
    """What the gallery's books gained since the tablets of a run were switched on."""

    def __init__(self, morning: Morning) -> None:
        self.morning = morning
        self.had: tuple[int, int, int] = self._now()

    def switched_on(self, devices: list[Any]) -> list[Tablet]:
        """Tablets with an empty memory and names of their own, so that one run is one story."""
        self.had = self._now()
        owner = self.morning.house.owner
        fresh = [people.a_device(owner, f"{d.name} again", at=AT) for d in devices]
        return [a_tablet(device) for device in fresh]

    def agree(self, here: list[Tablet]) -> None:
        """Applied is what was entered, each once; the bottle lost the sum of what stands."""
        entries = {key: entry for tablet in here for key, entry in tablet.entries.items()}
        found = list(
            Action.objects.filter(action_id__in=entries).values_list("action_id", flat=True)
        )
        assert sorted(map(str, found)) == sorted(entries)
        for tablet in here:
            for key in tablet.entries:
                said = tablet.verdicts[key]
                assert set(said) <= {"accepted", "duplicate"}, (tablet.entries[key], said)
        stood, uses, notes = self._now()
        doses = [ul for tablet in here for ul in tablet.doses.values()]
        assert stood - self.had[0] == -sum(doses)
        assert uses - self.had[1] == len(doses)
        assert notes - self.had[2] == sum(len(tablet.notes) for tablet in here)

    def _now(self) -> tuple[int, int, int]:
        showroom = self.morning.house.showroom
        moved = Movement.objects.filter(showroom=showroom, item=self.morning.house.fertiliser)
        return (
            sum(moved.values_list("amount_base", flat=True)),
            Use.objects.filter(showroom=showroom).standing().count(),
            Observation.objects.filter(showroom=showroom).count(),
        )
