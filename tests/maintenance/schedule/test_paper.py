"""The sheet of a round and what is written on it: each sign, and each slip with its sentence."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.schedule.paper import boxes, sheet
from maintenance.schedule.paper_typed import Wrong, entry_id, read_stop, read_time

EXAMPLE = json.loads((Path(__file__).parents[2] / "js/pack.example.json").read_text("utf-8"))


def example(code: str = "T01") -> tuple[dict[str, Any], dict[str, Any]]:
    """The example's pack, with what was entered at one stop left out, and that stop."""
    pack = copy.deepcopy(EXAMPLE)
    stop = next(stop for stop in pack["stops"] if stop["tank"] == code)
    stop["entries"] = []
    return pack, stop


def test_the_sheet_has_every_stop_in_walking_order_with_its_boxes() -> None:
    rows = sheet(EXAMPLE)
    assert [row.order for row in rows] == list(range(1, 21))
    assert [row.stop["id"] for row in rows] == [stop["id"] for stop in EXAMPLE["stops"]]
    first = rows[0]
    assert (first.code, first.title) == ("T01", "Doorstep, Rain")
    assert [box.key for box in first.boxes] == ["look", "d0", "f0"]
    assert first.boxes[1].asks == "2 presses = 1.8 mL"
    assert "3 Temperature 22–27.5 (23.6 °C)" in first.boxes[0].lines
    assert [row.code for row in rows if row.empty] == ["T09"]
    for row in rows:
        asked = len(row.stop["doses"]) + len(row.stop["feeds"]) + len(row.stop["readings"])
        assert sum(box.key[0] in "dfr" and box.key != "look" for box in row.boxes) == asked


@pytest.mark.parametrize(
    ("text", "clock"),
    [("812", "08:12"), ("0812", "08:12"), ("8:12", "08:12"), (" 8.12 ", "08:12"),
     ("2359", "23:59"), ("030", "00:30"), ("0:05", "00:05")],
)  # fmt: skip
def test_an_hour_is_read_as_it_is_written(text: str, clock: str) -> None:
    at = read_time(EXAMPLE, text)
    assert f"{at:%H:%M}" == clock  # London in March is at UTC
    assert at.day == (13 if clock < "04:00" else 12)  # after midnight it is still that round


@pytest.mark.parametrize("text", ["", "8", "2412", "8:60", "noon", "8-12-", "99"])
def test_what_is_no_hour_is_said(text: str) -> None:
    with pytest.raises(Wrong, match="812") as no:
        read_time(EXAMPLE, text)
    assert no.value.box == "time"


@pytest.mark.parametrize("yes", ["y", "Y", "x", "+", "yes"])
def test_yes_is_what_two_taps_would_have_said(yes: str) -> None:
    pack, stop = example()
    found = read_stop(pack, stop, {"look": yes, "d0": yes, "f0": yes})
    look, dose, feed = found
    assert look.body["value"] == "all_normal"
    assert look.body["looks"] == [one["look"] for one in stop["looks"]]
    assert (dose.body["presses"], dose.body["given_ul"], dose.body["short"]) == (2, 1848, None)
    assert feed.body["given_mg"] == feed.body["planned_mg"] == 20
    assert [entry.task_id for entry in found] == [
        next(t["id"] for t in stop["tasks"] if t["code"] == code)
        for code in ("look", "dose", "feed")
    ]


@pytest.mark.parametrize(
    ("typed", "value", "unit"),
    [("3 24,1", "24.1", "°C"), ("3 24.1", "24.1", "°C"), ("4 blue-green", "blue_green", None),
     ("6 film, on the glass", "different", None), ("3. warm at the top", "different", None)],
)  # fmt: skip
def test_a_look_that_was_different_leaves_the_others_as_they_were(
    typed: str, value: str, unit: str | None
) -> None:
    pack, stop = example()
    one, rest = read_stop(pack, stop, {"look": typed})
    assert (one.body["value"], one.body["unit"]) == (value, unit)
    looks = [look["look"] for look in stop["looks"]]
    assert rest.body["looks"] == [look for look in looks if look != one.body["look"]]


def test_two_looks_in_one_box() -> None:
    pack, stop = example()
    first, second, rest = read_stop(pack, stop, {"look": "3 21,9!; 6 film"})
    assert (first.body["value"], first.body["asked_again"]) == ("21.9", True)
    assert (second.body["look"], second.body["text"]) == ("surface", "film")
    assert len(rest.body["looks"]) == len(stop["looks"]) - 2


@pytest.mark.parametrize(
    ("text", "presses", "short"),
    [("1", 1, None), ("1e", 1, "bottle_empty"), ("0 e", 0, "bottle_empty"), ("4!", 4, None)],
)
def test_presses_as_they_were_counted(text: str, presses: int, short: str | None) -> None:
    pack, stop = example()
    [dose] = read_stop(pack, stop, {"d0": text})
    assert (dose.body["presses"], dose.body["short"]) == (presses, short)
    assert dose.body["given_ul"] == presses * 924
    assert dose.body["text"] == text


@pytest.mark.parametrize(
    ("box", "text", "says"),
    [("look", "film", "number from 1 to"), ("look", "9 film", "number from 1 to"),
     ("d0", "3", "write !"), ("d0", "two", "presses"), ("d0", "1,5", "presses"),
     ("d0", "s", "presses"), ("d0", "s13", "1 to 12"), ("d0", "s5", "few words"),
     ("d0", "s6", "needs a day"), ("d0", "s6 31.2", "needs a day"), ("d0", "s7 25:00", "an hour"),
     ("d0", "s3 Nobody", "name"), ("f0", "1,2,3", "number"), ("f0", "0,0001", "decimals"),
     ("f0", "0,05", "write !"), ("f0", "-1", "0 or more"), ("note", "x" * 501, "500")],
)  # fmt: skip
def test_a_slip_is_said_with_its_box(box: str, text: str, says: str) -> None:
    pack, stop = example()
    with pytest.raises(Wrong, match=says) as no:
        read_stop(pack, stop, {"look": "y", box: text})
    assert no.value.box == box


@pytest.mark.parametrize(
    ("text", "reason", "until", "words"),
    [("s2", "short_of_time", None, None),
     ("S 5 hose is split", "tool_broken", None, "hose is split"),
     ("s6 14.3 shrimps moult", "animals_rest", "2026-03-14", "shrimps moult"),
     ("s6 1/2", "animals_rest", "2027-02-01", None),
     ("s7 14:30", "event", "2026-03-12T14:30", None)],
)  # fmt: skip
def test_what_was_left_out_has_its_reason_by_number(
    text: str, reason: str, until: str | None, words: str | None
) -> None:
    pack, stop = example()
    [skip] = read_stop(pack, stop, {"d0": text})
    assert skip.kind == "skip"
    assert (skip.body["reason"], skip.body["until"], skip.body["text"]) == (reason, until, words)


def test_a_second_dose_of_the_day_is_asked_about() -> None:
    pack, stop = example()
    given = {"amount": 1848, "at": "2026-03-12T07:12:00+00:00", "by": "Odile", "action_id": "a"}
    stop["doses"][0]["given_today"] = [given]
    with pytest.raises(Wrong, match="given already today"):
        read_stop(pack, stop, {"d0": "y"})
    [dose] = read_stop(pack, stop, {"d0": "2!"})
    assert dose.body["again"]["earlier"] == "a"


def test_what_is_entered_already_says_so() -> None:
    pack, stop = example()
    [dose] = read_stop(pack, stop, {"d0": "y"})
    stop["entries"] = [
        {"action_id": "a", "kind": "dose", "task_id": dose.task_id, "person_id": "p",
         "done_at": "2026-03-12T08:12:00+00:00", "body": dose.body, "paper": True}
    ]  # fmt: skip
    assert {box.key: box.settled for box in boxes(pack, stop)} == {
        "look": "", "d0": "08:12 from paper", "f0": "",
    }  # fmt: skip


def test_a_box_has_one_id_until_it_was_taken_back() -> None:
    pack, stop = example()
    [dose] = read_stop(pack, stop, {"d0": "y"})
    round_id = "01957d2c-0000-7000-8000-000000000001"
    one = entry_id(round_id, stop["id"], dose, frozenset())
    assert one == entry_id(round_id, stop["id"], dose, frozenset({"other"}))
    assert one != entry_id(round_id, stop["id"], dose, frozenset({one}))
    assert one != entry_id(round_id, "another", dose, frozenset())


KEYS = st.dictionaries(
    st.sampled_from(["look", "d0", "f0", "note"]), st.text(max_size=30), max_size=4
)


@given(KEYS)
def test_whatever_is_typed_gives_entries_or_a_sentence(typed: dict[str, str]) -> None:
    pack, stop = example()
    written = {key for key, text in typed.items() if text.strip()}
    try:
        found = {entry.box for entry in read_stop(pack, stop, typed)}
    except Wrong as no:
        found = written if no.box in written and no.sentence else set()
    assert found == written
