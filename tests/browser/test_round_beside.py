"""A stop on a bad day: another tank's emergency, a question before the tick, what is held."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.browser.round_house import RoundHouse
from tests.browser.tapping import TABLET, Open, stands_at, tap, tap_button, until

pytestmark = [pytest.mark.browser, pytest.mark.once]

ID = "0195e000-0000-7000-8000-00000000bbbb"


def _gasping_at(house: RoundHouse, code: str) -> None:
    """Somebody has opened the card for this tank, before the pack was made."""
    tap = {"action_id": ID, "kind": "opened", "line": None, "text": "", "by": "Iskra"}
    tap |= {"at": "2026-03-12T07:50:00+00:00", "place": {"kind": "tank", "key": code}}
    house.pack["emergency"] = {
        "ring": {"name": "", "number": ""}, "at_work": [], "rooms": [],
        "open": [{"id": ID, "card": "gasping", "drill": False, "taps": [tap]}],
    }  # fmt: skip
    for card in house.pack["cards"]:
        card["stops"] = "tank"


def _height(page: Page) -> int:
    return int(page.evaluate("document.documentElement.scrollHeight"))


def test_another_tanks_emergency_says_whose_it_is_and_leaves_the_foot_in_view(
    opened: Open, house: RoundHouse
) -> None:
    _gasping_at(house, "T10")
    page = opened("T12")
    running = page.locator(".fm-run")
    expect(running).to_contain_text("T10")
    tap(page, "tick 1")
    tap(page, "tick 2")
    stands_at(page, "T13")
    expect(page.locator(".last-tap")).to_contain_text("T12")
    expect(page.locator('[data-key="tick 2"]')).to_contain_text("Gave 9 presses")
    assert _height(page) <= TABLET["height"]


@pytest.mark.parametrize(("width", "height"), [(820, 1180), (1180, 820)])
def test_the_question_of_a_double_dose_leaves_the_foot_in_view(
    opened: Open, house: RoundHouse, width: int, height: int
) -> None:
    for stop in house.pack["stops"]:
        for dose in stop["doses"]:
            dose["bottle"] = {"code": "22222222", "name": "Bottle of zone A"}
    page = opened("T01")
    page.set_viewport_size({"width": width, "height": height})
    tap(page, "tick 1")
    for _ in range(4):
        tap(page, page.locator('[data-key^="more "]'))
    expect(page.locator(".before")).to_contain_text("twice the plan of 2 presses or more")
    assert _height(page) <= height


def test_what_needs_a_person_says_so_at_its_stop(opened: Open, house: RoundHouse) -> None:
    house.mode = "held"
    page = opened("T12")
    tap(page, "tick 1")
    tick = page.locator('[data-key="tick 1"]')
    expect(tick).to_contain_text("kept on this tablet")
    until(page, "document.querySelector('[data-key=outbox]').innerText.includes('a person')")
    tap(page, "outbox")
    tap_button(page, "Back to the round")
    expect(tick).to_contain_text("kept on this tablet; needs a person before it counts")
