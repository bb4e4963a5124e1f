"""An entry put right at a desk, without scripts: moved to its tank, or another number; why."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from gallery_ops.kernel import clock
from tests.built_once import built_once
from tests.gallery_ops.web.test_round_pages import signed_in
from tests.maintenance.actions.saying import AT, Morning, a_morning
from tests.maintenance.house import a_carer

pytestmark = pytest.mark.django_db

LATER = AT + timedelta(minutes=30)
built, morning = built_once(a_morning)


@pytest.fixture(autouse=True)
def _later(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: LATER)


def text_of(client: Client, code: str, query: str = "") -> str:
    page = client.get(reverse("tank_entries", args=[code]) + query)
    assert page.status_code == 200
    return " ".join(re.sub(r"<[^>]+>", " ", page.content.decode()).split())


def test_both_lines_are_seen_after_a_move_and_stock_follows(morning: Morning) -> None:
    said = morning.dose()
    client, address = signed_in(morning.carer), reverse("tank_entries", args=["T01"])
    assert "It was another tank" in text_of(client, "T01", f"?entry={said.action_id}")
    wanted = {"entry": str(said.action_id), "deed": "move", "tank": "T02", "reason": "Next tank"}
    missing = client.post(address, {**wanted, "reason": " "})
    assert missing.status_code == 422
    assert "Reason: write 1 to 200 characters" in missing.content.decode()
    assert client.post(address, wanted).status_code == 302
    assert "Moved to T02 by Bram : “Next tank”" in text_of(client, "T01").replace("Bram:", "Bram :")
    assert "gave 3 mL of complete fertiliser Bram" in text_of(client, "T02")
    assert (morning.task("dose").state, morning.task("dose", "T02").state) == ("open", "done")
    assert morning.level() == 497_000


def test_another_number_is_written_beside_the_first(morning: Morning) -> None:
    said = morning.dose()
    client, address = signed_in(morning.carer), reverse("tank_entries", args=["T01"])
    wanted = {"entry": str(said.action_id), "deed": "amend", "reason": "Read the cup wrong"}
    wrong = client.post(address, {**wanted, "number": "2,5 cups"})
    assert wrong.status_code == 422
    assert "2,5 cups" in wrong.content.decode(), "what was typed stays"
    assert client.post(address, {**wanted, "number": "2,5"}).status_code == 302
    text = text_of(client, "T01")
    assert "gave 2.5 mL" in text
    assert "Put right by Bram" in text
    assert morning.level() == 497_500


def test_another_persons_entry_is_put_right_by_those_who_may(morning: Morning) -> None:
    said = morning.dose()
    stranger = signed_in(a_carer(morning.house, "Pia Sandgrove", "C1"))
    text = text_of(stranger, "T01", f"?entry={said.action_id}")
    assert "This is another person's entry" in text.replace("&#x27;", "'")
    assert "It was another tank" not in text
    owner = signed_in(morning.house.owner)
    assert "It was another tank" in text_of(owner, "T01", f"?entry={said.action_id}")
