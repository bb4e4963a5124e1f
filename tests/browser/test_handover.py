"""What the shift before left behind, in a real browser."""

from __future__ import annotations

import uuid

import pytest
from playwright.sync_api import expect

from tests.browser.round_house import RoundHouse
from tests.browser.tapping import Open, sent

pytestmark = [pytest.mark.browser, pytest.mark.once]


def test_what_was_read_is_told_at_once_and_not_with_the_next_batch(
    opened: Open, house: RoundHouse
) -> None:
    line = str(uuid.uuid4())
    said = {
        "id": line, "line": "worry", "text": "Two were at the surface.", "tank": "T12", "by": None,
        "from": "Odile Marsh", "to": None, "at": "2026-03-11T15:20:00Z", "source": None,
    }  # fmt: skip
    house.pack["handover"] = [said]
    house.keeps = "page"
    page = opened()
    expect(page.locator("h1")).to_contain_text("Odile Marsh left one line for you.")
    page.clock.pause_at(page.evaluate("Date.now()") / 1000 + 1)
    with page.expect_response(lambda answer: line in (answer.request.post_data or "")):
        page.locator('[data-key="tick read"]').tap()
        page.clock.run_for(1_000)  # a batch would wait for two seconds
    page.clock.resume()
    assert [action["body"] for action in house.of("handover_read")] == [{"line": line}]
    assert house.of("round_open") == []
    expect(page.locator("h1")).not_to_contain_text("left one line")
    sent(page)
