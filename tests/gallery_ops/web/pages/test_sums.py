"""Sums: an answer in two figures with its range, refusals with field and way out, no trace."""

from __future__ import annotations

import re
import time
from html import unescape
from itertools import product
from typing import Any
from urllib.parse import parse_qsl, urlsplit
from xml.etree import ElementTree

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from gallery_ops.kernel import clock
from gallery_ops.overview.sums_page import Source
from gallery_ops.web.pages.sums import SUMS
from gallery_ops.web.sums.sheet import Trouble, answer_of
from tanks.models import Reading
from tanks.services.catalogue import load_parameters
from tanks.services.readings import record_reading
from tests.builders.fleet import Fleet, a_fleet
from tests.gallery_ops.web.pages.addresses import AT, signed_in

pytestmark = pytest.mark.django_db

GOOD: dict[str, dict[str, str]] = {
    "co2": {"kh": "4", "ph": "6.6", "temp": "24"},
    "dose": {
        "of": "nitrate", "volume": "51.8", "content": "50", "ml": "3", "doses": "7", "change": "50",
    },
    "water-change": {"of": "nitrate", "now": "40", "target": "20", "fresh": "5", "change": "30"},
    "room": {"gas": "2", "air": "60", "changes": "0.5"},
    "salts": {"salt": "KNO3", "grams": "1", "volume": "100", "now": "8"},
}  # fmt: skip
# Sources: tests/outside. co2_ph_kh.csv: 35.9 mg/L lies between its rows at 20 and 25 °C;
# job_check_values.json C7: 18,116 ppm; fertiliser_salts.csv: 6.13 mg/L; the rest by hand
SAYS = {
    "co2": ("about 36 mg/L", "Between 25 and 51.", "the wrong side for fish", "Animals first:"),
    "dose": (
        "about 2.9 mg/L a dose",
        "Between 2.6 and 3.2.",
        "between 20 and 41",
        "Animals first:",
    ),
    "water-change": ("about 3 changes", "Between 2 and 3", "30, 22, 17 mg/L", "Animals first:"),
    "room": ("about 18,000 ppm more", "Between 16,000 and 20,000", "People first:"),
    "salts": ("about 6.1 mg/L of nitrate", "Between 5.6 and 6.8.", "3.9 mg/L of potassium"),
}

WRONG = [
    ("co2", {"kh": "0"}, "kh", "No answer: hardness 0 tells nothing about CO2"),
    ("co2", {"kh": "0,0"}, "kh", "without carbonate the pH is held by other acids"),
    ("co2", {"kh": "26"}, "kh", "Allowed: 0.5 to 25 dKH."),
    ("co2", {"kh": "4 dGH"}, "kh", "Write it in dKH."),
    ("co2", {"kh": "four"}, "kh", "Write the number first"),
    ("co2", {"kh": ""}, "kh", "nothing was given"),
    ("co2", {"ph": "66"}, "ph", "Allowed: 5 to 8.5."),
    ("co2", {"ph": "4.2"}, "ph", "Set the meter, and measure again."),
    ("co2", {"ph": "6.6.1"}, "ph", "Only one decimal mark"),
    ("co2", {"temp": "75"}, "temp", "Allowed: 5 to 35 °C."),
    ("co2", {"temp": "nan"}, "temp", "Write the number first"),
    ("dose", {"volume": "0"}, "volume", "Allowed: 0.1 to 20000 L."),
    ("dose", {"volume": "1.000"}, "volume", "It could mean 1000 or 1"),
    ("dose", {"content": "-5"}, "content", "Allowed: 0.001 to 500 g/L."),
    ("dose", {"ml": "3 L"}, "ml", "Write it in mL."),
    ("dose", {"doses": "7.5"}, "doses", "Write a whole number."),
    ("dose", {"doses": "0"}, "doses", "Allowed: 1 to 60."),
    ("dose", {"change": "0"}, "change", "Allowed: 1 to 100 %."),
    ("dose", {"of": "gold"}, "of", "Choose one of the list."),
    ("water-change", {"target": "3"}, "target", "Another source, or a dose, gets there."),
    ("water-change", {"target": "50"}, "target", "between the new water and now"),
    ("water-change", {"fresh": "40"}, "fresh", "changing does not help"),
    ("water-change", {"target": "5"}, "target", "Never quite reached."),
    ("water-change", {"change": "1", "target": "6"}, "change", "Change more at a time."),
    ("water-change", {"now": "1e3"}, "now", "Write it in mg/L."),
    ("room", {"gas": "0"}, "gas", "Allowed: 0.01 to 100 kg."),
    ("room", {"gas": "500 g"}, "gas", "Write it in kg."),
    ("room", {"air": "0"}, "air", "Measure the room first."),
    ("room", {"changes": "90"}, "changes", "Allowed: 0 to 60."),
    ("salts", {"salt": "NaCl"}, "salt", "Choose one of the list."),
    ("salts", {"grams": "0"}, "grams", "Allowed: 0.001 to 5000 g."),
    ("salts", {"volume": "100 ml"}, "volume", "Write it in L."),
    ("salts", {"now": "-1"}, "now", "Allowed: 0 to 2000 mg/L."),
]


@pytest.fixture(autouse=True)
def on_the_morning(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T08:08")
    monkeypatch.setattr(clock, "_started", time.monotonic())


def ask(client: Client, key: str, values: dict[str, str]) -> Any:
    return client.get(reverse("calculator", args=[key]), values)


def text_of(answer: Any) -> str:
    plain = re.sub(r"<[^>]+>", " ", answer.content.decode())
    return unescape(re.sub(r"\s+", " ", plain)).replace("\u00a0", " ")


def test_each_sum_answers_in_two_figures_with_its_range() -> None:
    owner = signed_in(a_fleet(1, with_work=False).owner)
    assert set(GOOD) == set(SAYS) == set(SUMS)
    for key, values in GOOD.items():
        answer = ask(owner, key, values)
        said = text_of(answer)
        assert answer.status_code == 200, key
        for words in (*SAYS[key], "Because", "Used in"):
            assert words in said, (key, words)
        for field, value in values.items():
            assert _value(answer, field) == value, (key, field)
        shown = ask(owner, key, {})
        assert shown.status_code == 200
        assert "Write the values at left" in text_of(shown)
        assert "Answer, an estimate" not in text_of(shown)


def _value(answer: Any, field: str) -> str:
    html = answer.content.decode()
    typed = re.search(rf'<input id="{field}"[^>]* value="([^"]*)"', html)
    if typed:
        return unescape(typed[1])
    block = html[html.index(f'<select id="{field}"') :]
    chosen = re.search(r'<option value="([^"]*)" selected', block[: block.index("</select>")])
    return unescape(chosen[1]) if chosen else ""


def test_what_cannot_be_is_named_with_its_field_and_stays_typed() -> None:
    owner = signed_in(a_fleet(1, with_work=False).owner)
    for key, change, field, words in WRONG:
        answer = ask(owner, key, {**GOOD[key], **change})
        said = text_of(answer)
        assert answer.status_code == 422, (key, change)
        assert words in said, (key, change, said[said.find("No answer") :][:300])
        assert f'<a href="#{field}">' in answer.content.decode(), (key, change)
        assert "Answer, an estimate" not in said
        if field not in {"of", "salt"}:
            assert _value(answer, field) == change.get(field, GOOD[key][field])
    assert {key for key, *_ in WRONG} == set(SUMS)
    for key, sheet in SUMS.items():
        tried = {field for name, _change, field, _words in WRONG if name == key}
        assert {one.key for one in (*sheet.fields, *sheet.chooses)} - tried <= {"of"}, key


def test_comma_point_and_unit_mean_the_same() -> None:
    owner = signed_in(a_fleet(1, with_work=False).owner)
    point = ask(owner, "co2", GOOD["co2"])
    comma = ask(owner, "co2", {"kh": "4 dKH", "ph": "6,6", "temp": "24 °C"})
    assert comma.status_code == 200
    assert _answer(point) == _answer(comma)


def _answer(answer: Any) -> str:
    html = answer.content.decode()
    return html[html.index('<section id="answer"') : html.index("</section>")]


def test_values_of_a_tank_are_offered_with_their_age_and_never_filled_in() -> None:
    load_parameters()
    fleet = a_fleet(2, with_work=False)
    owner = signed_in(fleet.owner)
    code = str(fleet.tanks[0].codes.get().code)
    for parameter, value in (("kh", "4"), ("ph", "6.6"), ("temperature", "24.1")):
        record_reading(
            tank=fleet.tanks[0],
            parameter=parameter,
            text=value,
            by=fleet.owner,
            at=AT,
        )
    offered = ask(owner, "co2", {"tank": code})
    said = text_of(offered)
    assert "4 dKH" in said
    assert "24.1 °C" in said
    assert re.search(r"pH 6\.6 , [^.]*\d\d:\d\d", said)
    assert _value(offered, "kh") == ""
    link = re.search(r'href="([^"]+)">Take them over', offered.content.decode())
    assert link
    taken = dict(parse_qsl(urlsplit(unescape(link[1])).query))
    assert taken == {"tank": code, "kh": "4", "ph": "6.6", "temp": "24.1"}
    answer = ask(owner, "co2", taken)
    assert "about 36 mg/L" in text_of(answer)
    assert reverse("tank_detail", args=[code]) in _answer(answer)


def test_the_room_and_its_largest_cylinder_are_offered() -> None:
    fleet = a_fleet(2)
    owner = signed_in(fleet.owner)
    page = ask(owner, "room", {})
    uid = re.search(r'<option value="([0-9a-f-]{36})"', page.content.decode())
    assert uid
    said = text_of(ask(owner, "room", {"room": uid[1]}))
    assert "m³ , who measured it is not written down" in said
    assert "Take them over" in said


def test_the_ends_of_each_field_are_answered_or_refused_with_words() -> None:
    """Nothing that a field takes may come out as no number, or break the drawing."""
    house = Source("", "", {}, {})
    answered = 0
    for key, sheet in SUMS.items():
        ends = [
            (str(one.limit.low), str(one.limit.high), GOOD[key][one.key]) for one in sheet.fields
        ]
        for values in product(*ends):
            typed = GOOD[key] | dict(zip((one.key for one in sheet.fields), values, strict=True))
            found = answer_of(sheet, typed, None, house)
            if isinstance(found, Trouble):
                assert found.errors[0][1], typed
                continue
            assert found is not None
            answered += 1
            ElementTree.fromstring(found.line)  # noqa: S314 (made by ourselves)
            said = " ".join((found.big, found.story, *(one.text for one in found.because)))
            assert not re.search(r"\b(nan|inf|None)\b|\de[+-]\d", said), (key, typed, said)
    assert answered > 200


def test_without_airing_it_stays_and_below_the_limit_nobody_waits() -> None:
    owner = signed_in(a_fleet(1, with_work=False).owner)
    said = {
        changes: text_of(ask(owner, "room", {"gas": "2", "air": "60", "changes": changes}))
        for changes in ("", "0", "2")
    }
    assert "not asked; write how often" in said[""]
    assert "none: then it stays above 5,000" in said["0"]
    # Source: ln((18,116 + 420 - 420) / (5,000 - 420)) / 2 by hand: 0.69 h
    assert "about 0.69 h until 5,000" in said["2"]
    large = text_of(ask(owner, "room", {"gas": "0.5", "air": "600", "changes": "0"}))
    assert "below 5,000 from the start" in large


def test_a_stranger_and_nobody_are_alike() -> None:
    mine, theirs = a_fleet(1, "mine", with_work=False), a_fleet(3, "theirs", with_work=False)
    owner = signed_in(mine.owner)
    strange = str(theirs.tanks[2].codes.get().code)
    for values in ({"tank": strange}, {"tank": "T9999"}, {"tank": "T\x00"}):
        assert ask(owner, "co2", values).status_code == 404
    for values in ({"room": "x"}, {"room": "00000000-0000-7000-8000-000000000003"}):
        assert ask(owner, "room", values).status_code == 404
    assert ask(owner, "no-such-sum", {}).status_code == 404


def test_nothing_is_written_and_a_post_is_refused() -> None:
    fleet: Fleet = a_fleet(1, with_work=False)
    owner = signed_in(fleet.owner)
    readings = Reading.objects.count()
    with CaptureQueriesContext(connection) as asked:
        for key, values in GOOD.items():
            ask(owner, key, values)
    written = [
        query["sql"]
        for query in asked
        if re.match(r"(INSERT|UPDATE|DELETE)", query["sql"]) and "session" not in query["sql"]
    ]
    assert written == []
    assert Reading.objects.count() == readings
    assert owner.post(reverse("calculator", args=["co2"]), GOOD["co2"]).status_code == 405
    main = ask(owner, "co2", GOOD["co2"]).content.decode()
    assert 'method="post"' not in main[main.index("<main") : main.index("</main>")]
