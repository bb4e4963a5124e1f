"""Handing over at a desk, reading it on the board, and the paper round as pages."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

import pytest
from django.test import Client

from gallery_ops.kernel import clock
from gallery_ops.kernel.models import Membership
from maintenance.models import HandoverLine, HandoverRead, Round
from tests.built_once import built_once
from tests.gallery_ops.web.pages.addresses import signed_in
from tests.maintenance.actions.saying import AT, Morning, a_morning
from tests.maintenance.house import a_carer

pytestmark = pytest.mark.django_db


@dataclass
class Gallery:
    """A morning on which Bram noted something, and Odile, who comes next."""

    morning: Morning
    odile: Membership


def _built() -> Gallery:
    morning = a_morning()
    odile = a_carer(morning.house, "Odile Marsh", "C1")
    morning.say("note", {"text": "Lid rattles"}, stop_id=morning.stop("T01"))
    return Gallery(morning, odile)


built, gallery = built_once(_built)


@pytest.fixture(autouse=True)
def _now(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: AT + timedelta(minutes=10))


def bram(gallery: Gallery) -> Client:
    """His browser."""
    return signed_in(gallery.morning.carer)


def close(gallery: Gallery, **typed: str) -> str:
    """Post the form of the close page as it stands, with what was typed over it."""
    client, path = bram(gallery), f"/rounds/{gallery.morning.round.code}/close/"
    page = client.get(path)
    drafted = page.context["lines"]
    form = {"shown": [row["line"].entry for row in drafted], "to": ""}
    form |= {f"text {row['line'].entry}": row["text"] for row in drafted}
    answer = client.post(path, {**form, **{k.replace("_", " "): v for k, v in typed.items()}})
    return answer.content.decode() if answer.status_code == 422 else ""


def test_the_drafted_line_is_handed_over_and_read_by_one_button(gallery: Gallery) -> None:
    assert close(gallery, to=str(gallery.odile.person.uid)) == ""
    line = HandoverLine.objects.get()
    assert (line.text, line.kind, line.handed_to) == (
        "Lid rattles",
        "changed",
        gallery.odile.person,
    )
    assert Round.objects.get(pk=gallery.morning.round.pk).closed_at is not None
    client = signed_in(gallery.odile)
    board = client.get("/")
    assert "Lid rattles" in board.content.decode()
    etag = client.get("/?poll=1")["ETag"]
    assert client.get("/?poll=1", headers={"if-none-match": etag}).status_code == 304
    client.post("/handover/", {"line": str(line.action_id), "back": "board"})
    assert HandoverRead.objects.get().person == gallery.odile.person
    after = client.get("/?poll=1", headers={"if-none-match": etag})
    assert (after.status_code, "Lid rattles" in after.content.decode()) == (200, False)
    page = client.get("/handover/").content.decode()
    assert "Read by Odile Marsh" in page


def test_a_line_can_be_taken_out_and_ones_own_added(gallery: Gallery) -> None:
    entry = bram(gallery).get(f"/rounds/{gallery.morning.round.code}/close/").context["lines"][0]
    taken = {f"text_{entry['line'].entry}": " "}
    own = {"own_tank_1": "T02", "own_kind_1": "do", "own_text_1": "Weigh the bottle"}
    assert close(gallery, **taken, **own) == ""
    line = HandoverLine.objects.get()
    assert (line.tank, line.kind) == (gallery.morning.house.tanks["T02"], "do")
    assert line.by_at is not None
    assert "Weigh the bottle" in signed_in(gallery.odile).get("/").content.decode()


def test_an_unknown_tank_keeps_what_was_typed_and_closes_nothing(gallery: Gallery) -> None:
    page = close(gallery, own_tank_1="T77", own_text_1="It hums")
    assert "T77" in page
    assert "It hums" in page
    assert "there is none with that code" in page
    assert not HandoverLine.objects.exists()
    assert Round.objects.get(pk=gallery.morning.round.pk).closed_at is None


def test_a_round_is_handed_over_once(gallery: Gallery) -> None:
    close(gallery)
    again = bram(gallery).post(f"/rounds/{gallery.morning.round.code}/close/", {"shown": []})
    assert again.status_code == 422
    assert HandoverLine.objects.count() == 1


def test_a_line_of_another_gallery_cannot_be_read(gallery: Gallery) -> None:
    other = a_morning("marrowick")
    other.say("handover_line", {"line": "worry", "text": "Theirs", "tank": None, "by": None,
                                "source": None, "entry": None, "handed_to": None})  # fmt: skip
    theirs = str(HandoverLine.objects.get().action_id)
    signed_in(gallery.odile).post("/handover/", {"line": theirs})
    assert not HandoverRead.objects.exists()


def test_the_sheet_is_printed_and_typed_in(gallery: Gallery) -> None:
    client, code = bram(gallery), gallery.morning.round.code
    sheet = client.get(f"/rounds/{code}/paper/").content.decode()
    assert sheet.index("T01") < sheet.index("T02")
    assert "3 presses = 3 mL" in sheet
    path = f"/rounds/{code}/paper/enter/"
    wrong = client.post(path, {"1.time": "812", "1.look": "y", "2.time": "800", "2.d0": "twelve"})
    page = wrong.content.decode()
    assert wrong.status_code == 422
    assert 'value="twelve"' in page
    assert 'aria-describedby="b2-d0-no"' in page
    assert "08:12 from paper" in page
    mended = client.post(path, {"2.time": "800", "2.d0": "3"}, follow=True)
    assert "1 stop is entered." in mended.content.decode()
    assert gallery.morning.level() == 500_000 - 3_000
