"""A tablet put down after the round: other pages say what waits there, and send it once."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.browser.round_house import RoundHouse
from tests.browser.tapping import Open, tap, until

pytestmark = [pytest.mark.browser, pytest.mark.once]

LOOKED = "document.documentElement.dataset.looked === '1'"
NO_ANSWER = ("ERR_", "503", "400")
"""In what a browser says of itself while nobody answers, or answers that they cannot now."""


def tick_without_network(opened: Open, house: RoundHouse) -> Page:
    page = opened("T12", expected=NO_ANSWER)
    house.close()
    tap(page, "tick 1")
    return page


def leave_for_the_board(page: Page, house: RoundHouse) -> None:
    page.goto(f"{house.address}/board/")
    until(page, LOOKED)


def test_the_board_says_what_waits_sends_it_and_says_so(opened: Open, house: RoundHouse) -> None:
    page = tick_without_network(opened, house)
    house.mode = 503
    house.open()
    leave_for_the_board(page, house)
    line = page.locator("#waiting")
    expect(line).to_contain_text("kept here")
    assert house.actions == []
    house.mode = "ok"
    leave_for_the_board(page, house)
    expect(line).to_contain_text("All sent")
    assert len(house.of("check")) == 1
    leave_for_the_board(page, house)
    expect(line).to_be_hidden()


def test_two_pages_of_a_tablet_send_once(opened: Open, house: RoundHouse) -> None:
    page = tick_without_network(opened, house)
    beside = page.context.new_page()
    house.open()
    for each in (page, beside):
        each.goto(f"{house.address}/board/", wait_until="commit")
    for each in (page, beside):
        until(each, LOOKED)
    until(page, "!document.querySelector('#waiting').textContent.includes('kept here')")
    sent = [action["action_id"] for action in house.actions]
    assert len(sent) == len(set(sent)) == house.came
    assert len(house.of("check")) == 1


def test_what_was_refused_leads_to_the_list(opened: Open, house: RoundHouse) -> None:
    page = tick_without_network(opened, house)
    house.mode = "held"
    house.open()
    leave_for_the_board(page, house)
    line = page.locator("#waiting")
    expect(line).to_contain_text("a person")
    expect(line.get_by_role("link")).to_have_attribute("href", "/held/")


def test_what_was_not_sent_leads_to_no_list_of_what_was(opened: Open, house: RoundHouse) -> None:
    page = tick_without_network(opened, house)
    house.mode = 400
    house.open()
    leave_for_the_board(page, house)
    line = page.locator("#waiting")
    expect(line).to_contain_text("2 not sent The gallery could not read them.")
    expect(line.get_by_role("link")).to_have_count(0)


def test_a_tablet_without_a_round_makes_no_outbox_of_it(opened: Open, house: RoundHouse) -> None:
    page = opened()
    page.context.clear_cookies()
    asked = page.context.new_page()
    asked.goto(f"{house.address}/board/?device=another")
    until(asked, LOOKED)
    expect(asked.locator("#waiting")).to_be_hidden()
    names = asked.evaluate("indexedDB.databases().then((all) => all.map((one) => one.name))")
    assert "outbox another" not in names
