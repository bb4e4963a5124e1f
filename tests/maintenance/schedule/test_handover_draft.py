"""Lines for the next shift: the same table of cases holds the tablet's rules and these."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.schedule.handover_draft import MOST_A_TANK, draft_lines, quick_stops

TABLE = json.loads((Path(__file__).parents[2] / "js/handover_cases.json").read_text("utf-8"))


def pack_of(case: dict[str, Any]) -> dict[str, Any]:
    """The pack of all cases with the entries of one."""
    pack: dict[str, Any] = copy.deepcopy(TABLE["pack"])
    pack["round"].update(case["round"])
    for stop in pack["stops"]:
        stop["entries"] = case["entries"].get(stop["tank"] or "", [])
    return pack


@pytest.mark.parametrize("case", TABLE["cases"], ids=lambda case: str(case["name"]))
def test_the_lines_of_a_case(case: dict[str, Any]) -> None:
    pack = pack_of(case)
    found = [
        {"tank": x.tank, "kind": x.kind, "text": x.text, "by": x.by, "source": x.source}
        for x in draft_lines(pack)
    ]
    assert found == case["lines"]
    if case["quick"] is not None:
        assert quick_stops(pack) == case["quick"]


ENTRIES = [e for case in TABLE["cases"] for entries in case["entries"].values() for e in entries]


@given(st.lists(st.sampled_from(ENTRIES), max_size=12))
def test_whatever_was_entered_a_tank_has_three_lines_and_each_names_its_entry(
    entries: list[dict[str, Any]],
) -> None:
    named = [{**entry, "action_id": f"e{n}"} for n, entry in enumerate(entries)]
    lines = draft_lines(pack_of({"round": {}, "entries": {"T01": named}}))
    assert len(lines) <= MOST_A_TANK
    assert len({line.entry for line in lines}) == len(lines)
    assert {line.entry for line in lines} <= {entry["action_id"] for entry in named}
    assert all(line.text and bool(line.by) == (line.kind == "do") for line in lines)
