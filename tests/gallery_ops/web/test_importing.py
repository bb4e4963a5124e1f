"""Does the import page read first, write only what was looked at, and take it back?"""

from __future__ import annotations

import re
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from gallery_ops.kernel import clock
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.services.people import add_person, make_showroom
from maintenance.models import ImportRun
from tanks.models import Tank
from tanks.queries.tanks import fleet

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 12, 9, 14, tzinfo=UTC)
TESTS = Path(__file__).parents[2]
FLEET = (TESTS / "outside" / "demo_fleet.csv").read_bytes()
GERMAN = (TESTS / "gallery_ops" / "fleet_file" / "files" / "becken_cp1252.csv").read_bytes()


@pytest.fixture(autouse=True)
def at_09_14(monkeypatch: pytest.MonkeyPatch) -> None:
    """The clock begins anew in each test; else it runs on from the start of the whole run."""
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T09:14")
    monkeypatch.setattr(clock, "_started", time.monotonic())


class Desk:
    """A browser at a desk, signed in as one role."""

    def __init__(self, role: str = "manager", code: str = "undershore") -> None:
        before = AT - timedelta(days=30)
        self.showroom: Showroom = make_showroom(
            code=code,
            name=code.capitalize(),
            zone="Europe/London",
            currency="GBP",
            country="GB",
            at=before,
        )
        owner = add_person(
            showroom=self.showroom,
            login=f"maud.{code}",
            name="Maud Ellerkamp",
            role="owner",
            by=None,
            at=before,
        )
        self.member: Membership = owner
        if role != "owner":
            self.member = add_person(
                showroom=self.showroom,
                login=f"iskra.{code}",
                name="Iskra Vann",
                role=role,
                by=owner,
                at=before,
            )
        self.client = Client()
        self.client.force_login(self.member.person)

    def send(self, content: bytes, name: str = "fleet.csv", **more: str) -> Any:
        file = SimpleUploadedFile(name, content)
        return self.client.post(self.url, {"deed": "read", "file": file, **more})

    def press(self, page: Any, deed: str, **more: str) -> Any:
        """Press a button of a page: what its hidden fields hold goes along."""
        text = page.content.decode()
        held = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)">', text))
        held.pop("csrfmiddlewaretoken", None)
        return self.client.post(self.url, {**held, "deed": deed, **more})

    @property
    def url(self) -> str:
        return reverse("fleet_import")


def text_of(page: Any) -> str:
    text = re.sub(r"<[^>]+>", " ", page.content.decode())
    return re.sub(r"\s+", " ", text)


def test_the_page_asks_for_a_file() -> None:
    page = Desk().client.get("/tanks/import/")
    assert page.status_code == 200
    assert "It is read first, and nothing is written." in text_of(page)


def test_a_form_without_a_file_says_so() -> None:
    desk = Desk()
    page = desk.client.post(desk.url, {"deed": "read"})
    assert page.status_code == 422
    assert "Choose a file first." in text_of(page)


def test_a_dry_run_shows_every_tank_and_writes_nothing() -> None:
    page = Desk().send(FLEET)
    assert page.status_code == 200
    text = text_of(page)
    assert "All 20 rows can come in. Nothing has been written: this is a dry run." in text
    assert "fleet.csv, 20 rows, 16 columns, read as comma separated, UTF-8, decimal point" in text
    assert "20 new , T01 to T20" in text
    assert "Bring in 20 tanks" in text
    assert page.content.decode().count('class="bare"') == 20
    assert Tank.objects.count() == ImportRun.objects.count() == 0


def test_what_was_looked_at_is_brought_in_and_can_be_taken_back() -> None:
    desk = Desk()
    answer = desk.press(desk.send(FLEET), "bring")
    assert answer.status_code == 302
    page = desk.client.get(answer.url)
    assert "20 tanks were written from fleet.csv." in text_of(page)
    assert len(fleet(desk.showroom, AT + timedelta(hours=8))) == 20
    answer = desk.press(page, "undo")
    assert "fleet.csv was taken back: 20 tanks" in text_of(desk.client.get(answer.url))
    assert Tank.objects.filter(voided_at=None).count() == 0


def test_the_same_file_again_says_so_and_offers_no_button() -> None:
    desk = Desk()
    desk.press(desk.send(FLEET), "bring")
    text = text_of(desk.send(FLEET))
    assert "All 20 tanks stand as this list says." in text
    assert "This very file was brought in" in text
    assert "Bring in" not in text
    assert Tank.objects.count() == 20


def test_wrong_rows_are_quoted_beside_their_neighbour_and_left_out_by_the_button() -> None:
    desk = Desk()
    page = desk.send(GERMAN, "becken.csv")
    text = text_of(page)
    assert "6 of 8 rows can come in. 2 cannot yet." in text
    assert "Row 15, column B “Becken-Nr.”: it says “B03”. Row 8 has that code already" in text
    assert '<td class="bad">B03</td>' in page.content.decode()
    assert "Große Ebbe" in text  # the row that has the code already stands beside it
    assert "Bring in 6 tanks, leave 2 out" in text
    assert "Row 11, a total: Summe; 38,0; 1021" in text
    desk.press(page, "bring")
    assert Tank.objects.count() == 6


def test_all_problems_come_as_a_file_that_computes_nothing() -> None:
    desk = Desk()
    page = desk.send(b"code;title;dims cm;glass mm\nT1;=cmd;60x30x36;=1+1\n")
    answer = desk.press(page, "problems")
    assert answer["Content-Type"].startswith("text/csv")
    assert ";'=1+1;" in answer.content.decode("utf-8-sig")


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "This file is empty. Bring the list with its headings."),
        (b"   ", "This file is empty. Bring the list with its headings."),
        (b"%PDF-1.7 x", "This is a PDF, not a table."),
        (b"just one line", "read as one column"),
        (b"code;length;width;height\nT1;200;100;100\n", "could be centimetres or millimetres"),
    ],
)
def test_a_file_that_cannot_be_read_gets_a_sentence(content: bytes, words: str) -> None:
    page = Desk().send(content)
    assert page.status_code == 422
    assert words in text_of(page)


def test_a_unit_is_asked_and_the_file_need_not_be_chosen_again() -> None:
    desk = Desk()
    page = desk.send(b"code;length;width;height;glass\nT1;200;100;100;4\n", "nano.csv")
    page = desk.press(page, "read", length_unit="mm")
    assert page.status_code == 200
    assert "nano.csv, 1 rows" in text_of(page)
    desk.press(page, "bring")
    assert Tank.objects.get().length_mm == 200


def test_an_unknown_column_can_be_given_a_meaning() -> None:
    desk = Desk()
    page = desk.send(b"code;Spitzname;dims cm;glass\nT1;Heron, Absent;60x30x36;6\n")
    assert "This heading is not known" in text_of(page)
    page = desk.press(page, "read", means_B="title")
    desk.press(page, "bring")
    (tank,) = fleet(desk.showroom, AT + timedelta(hours=8))
    assert tank.title == "Heron, Absent"


def test_a_button_pressed_after_something_changed_writes_nothing() -> None:
    desk = Desk()
    page = desk.send(FLEET)
    desk.press(desk.send(FLEET.replace(b"T05", b"X05")), "bring")
    answer = desk.press(page, "bring")
    assert answer.status_code == 409
    assert "Something changed in the gallery since this list was read." in text_of(answer)
    assert Tank.objects.count() == 20


def test_more_tanks_than_a_page_should_write_are_sent_to_the_command() -> None:
    desk = Desk()
    rows = "".join(f"X{number:03};60x30x36;6\n" for number in range(201))
    page = desk.send(f"code;dims cm;glass mm\n{rows}".encode())
    assert "Bring in 201" not in text_of(page)
    assert "This is more than 200 tanks" in text_of(page)
    assert page.content.decode().count('class="imp-wall"') == 8  # 24 on a floor, 9 not drawn
    assert "9 more are not drawn." in text_of(page)
    answer = desk.press(page, "bring")
    assert answer.status_code == 409
    assert Tank.objects.count() == 0


def test_a_carer_is_told_who_may() -> None:
    desk = Desk(role="carer")
    assert desk.send(FLEET).status_code == 403
    assert Tank.objects.count() == 0


def test_a_file_and_an_import_of_another_showroom_are_not_there() -> None:
    there = Desk(code="farshore")
    page = there.send(FLEET)
    there.press(page, "bring")
    here = Desk()
    answer = here.press(page, "bring")
    assert answer.status_code == 422
    assert "Choose the file once more" in text_of(answer)
    sha = ImportRun.objects.get().sha256
    assert here.client.post(here.url, {"deed": "undo", "kept": sha}).status_code == 404
    assert (
        "../"
        not in here.client.post(here.url, {"deed": "bring", "kept": "../../x"}).content.decode()
    )
    assert Tank.objects.filter(voided_at=None).count() == 20
