"""The round in a real browser: taps, hints, undo, what waits, what cannot be kept."""

from __future__ import annotations

from pathlib import Path

import axe_playwright_python
import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.round_house import RoundHouse
from tests.browser.tapping import TABLET, Open, ready, sent, stands_at, tap, tap_button

pytestmark = [pytest.mark.browser, pytest.mark.once]


def test_a_normal_tank_is_two_taps_without_scrolling_and_the_next_opens_by_itself(
    opened: Open, house: RoundHouse
) -> None:
    page = opened("T12")
    assert page.evaluate("document.documentElement.scrollHeight") <= TABLET["height"]
    for key in ("tick 1", "tick 2"):
        box = page.locator(f'[data-key="{key}"]').bounding_box()
        assert box is not None
        assert box["height"] >= 84
    tap(page, "tick 1")
    tap(page, "tick 2")
    stands_at(page, "T13")
    sent(page)
    kinds = [action["kind"] for action in house.actions]
    assert kinds == ["round_open", "check", "dose", "feed"]
    assert house.of("check")[0]["body"]["value"] == "all_normal"
    assert len(house.of("check")[0]["body"]["looks"]) == 6
    assert house.of("dose")[0]["body"]["given_ul"] == 9 * 924
    assert "24.0" not in str(house.actions)


def test_empty_tanks_are_passed_by_with_one_line(opened: Open, house: RoundHouse) -> None:
    page = opened("T08")
    tap(page, "tick 1")
    page.locator(".stepper input").fill("0,8")
    tap_button(page, "Keep 0,8")
    tap(page, "tick 2")
    stands_at(page, "T10")
    expect(page.locator(".passed")).to_contain_text("T09, empty, dry, day 12.")
    sent(page)
    assert house.of("check")[1]["body"]["value"] == "0.8"
    assert house.of("check")[1]["body"]["text"] == "0,8"
    assert not [action for action in house.actions if action["stop_id"] == _stop(house, "T09")]


def _stop(house: RoundHouse, code: str) -> str:
    return str(next(stop["id"] for stop in house.pack["stops"] if stop["tank"] == code))


def test_a_double_tap_never_reaches_the_next_tank(opened: Open, house: RoundHouse) -> None:
    page = opened("T12")
    tap(page, "tick 1")
    box = page.locator('[data-key="tick 2"]').bounding_box()
    assert box is not None
    for pause in (60, 380, 0):
        page.touchscreen.tap(box["x"] + 200, box["y"] + 40)
        page.wait_for_timeout(pause)
    stands_at(page, "T13")
    sent(page)
    assert {dose["stop_id"] for dose in house.of("dose")} == {_stop(house, "T12")}


def test_dosed_today_asks_and_a_second_dose_needs_a_reason(opened: Open, house: RoundHouse) -> None:
    page = opened("T05")
    tap(page, "tick 1")
    expect(page.locator(".before")).to_contain_text("Odile gave 2.8 mL fertiliser today at 06:52.")
    tap(page, "again")
    tap_button(page, "Part of it was spilt")
    tap(page, "tick 2")
    sent(page)
    again = house.of("dose")[0]["body"]["again"]
    assert again["reason"] == "Part of it was spilt"
    assert again["earlier"]


def test_a_wrong_bottle_in_the_hand_stops_the_dose_and_the_right_one_is_named_in_it(
    opened: Open, house: RoundHouse
) -> None:
    for stop in house.pack["stops"]:
        for dose in stop["doses"]:
            dose["bottle"] = {"code": "22222222", "name": "Bottle of zone A"}
    page = opened("T12")
    tap(page, "tick 1")
    bottle = page.locator('[data-key^="bottle "]')
    tap(page, bottle)
    code = page.get_by_label("Code on its label")
    code.fill("bottle A")
    tap_button(page, "This is the bottle")
    expect(page.get_by_role("alert")).to_contain_text("Allowed: its eight characters")
    expect(code).to_have_value("bottle A")
    code.fill("3333-333w")
    tap_button(page, "This is the bottle")
    expect(page.get_by_role("alert")).to_contain_text("3333-333W does not feed T12")
    expect(bottle).to_contain_text("not the one of this tank")
    expect(page.locator('[data-key="tick 2"]')).to_have_count(0)
    tap(page, "other bottle")
    code.fill("2222 2222")
    tap_button(page, "This is the bottle")
    tap(page, "tick 2")
    sent(page)
    assert [dose["body"]["bottle"] for dose in house.of("dose")] == ["22222222"]


def test_a_number_is_refused_asked_about_and_kept_with_its_alarm(
    opened: Open, house: RoundHouse
) -> None:
    page = opened("T12")
    tap(page, "look temperature")
    for digit in "607":
        tap(page, page.get_by_role("button", name=digit, exact=True))
    tap_button(page, "Erase last digit")
    tap_button(page, "Keep 60 °C")
    expect(page.get_by_role("alert")).to_contain_text("Between 0 and 45 °C")
    expect(page.locator(".stepper input")).to_have_value("60")
    page.locator(".stepper input").fill("2,5")
    tap_button(page, "Keep 2,5 °C")
    expect(page.get_by_role("button", name="No, 25 °C")).to_be_visible()
    page.locator(".stepper input").fill("28.4")
    tap_button(page, "Keep 28.4 °C")
    expect(page.locator(".stop-do > .notice")).to_contain_text("raises an alert")
    expect(page.locator('[data-key="tick 1"]')).to_contain_text("The other five")
    sent(page)
    assert [check["body"]["value"] for check in house.of("check")] == ["28.4"]


def test_the_words_of_a_photo_button_stand_in_its_middle(opened: Open, house: RoundHouse) -> None:
    page = opened("T12")
    tap(page, "look drop_checker")
    label = page.locator("label.btn", has_text="Add a photo")
    above, below, left, right = label.evaluate(_ROUND_THE_WORDS)
    assert abs(above - below) <= 1.5  # a line of text has an odd number of pixels
    assert abs(left - right) <= 1


_ROUND_THE_WORDS = """(button) => {
  const words = document.createRange();
  words.selectNode([...button.childNodes].find((node) => node.nodeType === Node.TEXT_NODE));
  const [outer, inner] = [button.getBoundingClientRect(), words.getBoundingClientRect()];
  return [
    inner.top - outer.top, outer.bottom - inner.bottom,
    inner.left - outer.left, outer.right - inner.right,
  ];
}"""


def test_what_was_seen_last_is_said_once_and_stands_clear_of_the_answers(
    opened: Open, house: RoundHouse
) -> None:
    page = opened("T12")
    tap(page, "look temperature")
    last = next(
        look["last"]["text"]
        for stop in house.pack["stops"]
        if stop["tank"] == "T12"
        for look in stop["looks"]
        if look["look"] == "temperature"
    )
    panel = page.locator(".opened").inner_text()
    assert panel.count(last) == 1
    field, below = page.locator(".stepper"), page.locator(".stepper + .hint")
    assert _top(below) - _top(field) - _height(field) >= 8
    tap_button(page, "Leave it as it was")
    tap(page, "look drop_checker")
    hint = page.locator(".open-h + .hint").bounding_box()
    answers = page.locator(".choices .choice").first.bounding_box()
    assert hint is not None
    assert answers is not None
    line = page.locator(".open-h + .hint").evaluate(
        "(p) => parseFloat(getComputedStyle(p).paddingBottom)"
    )
    assert answers["y"] - (hint["y"] + hint["height"] - line) >= 8


def _top(thing: Locator) -> float:
    return float(thing.evaluate("(one) => one.getBoundingClientRect().top"))


def _height(thing: Locator) -> float:
    return float(thing.evaluate("(one) => one.getBoundingClientRect().height"))


def test_an_earlier_round_that_is_open_is_named_until_this_one_is_begun(
    opened: Open, house: RoundHouse
) -> None:
    other = "0195e000-0000-7000-8000-00000000aaaa"
    house.pack["before"] = [
        {"id": other, "code": "AB2CD3EF", "name": "Opening", "opened_at": None, "tasks": 36}
    ]
    page = opened("T12")
    line = page.locator(".still-open")
    expect(line).to_contain_text("Opening was not begun today: 36 tasks to do.")
    assert page.evaluate("document.documentElement.scrollHeight") <= TABLET["height"]
    page.get_by_role("button", name="Go to Opening").tap()
    expect(page.locator("h1")).to_have_text("/rounds/AB2CD3EF/")
    page.goto(f"{house.address}/round/#T12")
    ready(page)
    tap(page, "tick 1")
    expect(line).to_have_count(0)
    sent(page)


def test_undo_takes_back_the_last_tap_from_the_next_stop(opened: Open, house: RoundHouse) -> None:
    page = opened("T12")
    tap(page, "tick 1")
    tap(page, "tick 2")
    stands_at(page, "T13")
    tap(page, "undo")
    stands_at(page, "T12")
    expect(page.locator('[data-key="tick 2"]')).to_have_attribute("aria-pressed", "false")
    expect(page.locator('[data-key="tick 1"]')).to_have_attribute("aria-pressed", "true")
    sent(page)
    taken = {action["body"]["takes_back"] for action in house.of("undo")}
    assert taken == {action["action_id"] for action in house.of("dose") + house.of("feed")}


def test_by_keyboard_alone(opened: Open, house: RoundHouse) -> None:
    page = opened("T12")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    expect(page.locator(".open-h")).to_have_text("Floor and level")
    page.keyboard.press("Escape")
    expect(page.locator('[data-key="look floor_level"]')).to_be_focused()
    page.keyboard.press("1")
    expect(page.locator('[data-key="tick 2"]')).to_be_focused()
    page.keyboard.press("2")
    stands_at(page, "T13")
    page.keyboard.press("u")
    stands_at(page, "T12")
    sent(page)
    assert len(house.of("undo")) == 2


@pytest.mark.parametrize(("status", "words"), [(500, "by themselves"), (401, "Sign in again")])
def test_what_was_refused_waits_and_goes_later_once(
    opened: Open, house: RoundHouse, status: int, words: str
) -> None:
    page = opened("T12", expected=(str(status),))
    house.mode = status
    with page.expect_response(lambda answer: answer.status == status):
        tap(page, "tick 1")
    expect(page.locator('[data-key="outbox"]')).to_contain_text(words)
    tap(page, "tick 2")
    house.mode = "ok"
    page.evaluate("dispatchEvent(new Event('online'))")
    sent(page)
    assert [action["seq"] for action in house.actions] == [1, 2, 3, 4]


def test_a_page_loaded_again_goes_on_where_it_was(opened: Open, house: RoundHouse) -> None:
    page = opened("T12")
    tap(page, "tick 1")
    sent(page)
    page.reload()
    ready(page)
    stands_at(page, "T12")
    expect(page.locator('[data-key="tick 1"]')).to_have_attribute("aria-pressed", "true")
    tap(page, "tick 2")
    sent(page)
    assert [action["seq"] for action in house.actions] == [1, 2, 3, 4]
    assert len(house.of("round_open")) == 1


def test_leaving_a_desk_with_entries_that_wait_is_warned_about(
    opened: Open, house: RoundHouse
) -> None:
    house.keeps = "page"
    page = opened("T12", expected=("500",))
    house.mode = 500
    tap(page, "tick 1")
    expect(page.locator('[data-key="outbox"]')).to_contain_text("kept in this page")
    page.on("dialog", lambda dialog: dialog.dismiss())
    with page.expect_event("dialog") as asked:
        page.evaluate("setTimeout(() => location.reload(), 0)")
    assert asked.value.type == "beforeunload"
    house.mode = "ok"
    page.evaluate("dispatchEvent(new Event('online'))")
    sent(page)


def test_a_tablet_that_cannot_keep_shows_no_tick_and_says_so(
    opened: Open, house: RoundHouse
) -> None:
    page = opened("T12", store="async append(envelopes) { throw new Error('QuotaExceededError');")
    tap(page, "tick 1")
    expect(page.locator('[data-key="tick 1"]')).to_have_attribute("aria-pressed", "false")
    expect(page.get_by_role("alert")).to_contain_text("This tablet cannot keep entries.")
    assert house.actions == []


@pytest.mark.parametrize(("width", "height"), [(1180, 820), (820, 1180)])
def test_the_notice_of_a_full_tablet_leaves_the_foot_in_view(
    opened: Open, house: RoundHouse, width: int, height: int
) -> None:
    full = "throw new DOMException('no room', 'QuotaExceededError');"
    page = opened("T12", store=f"async append(envelopes) {{ {full}")
    page.set_viewport_size({"width": width, "height": height})
    tap(page, "tick 1")
    expect(page.get_by_role("alert")).to_contain_text("Not kept: this tablet is full.")
    assert page.evaluate("document.documentElement.scrollHeight") <= height
    foot = page.locator(".stop-foot").bounding_box()
    assert foot is not None
    assert foot["y"] + foot["height"] <= height


def test_an_emergency_card_is_two_taps_away_without_network(
    opened: Open, house: RoundHouse
) -> None:
    page = opened("T12", expected=("ERR_INTERNET_DISCONNECTED",))
    tap(page, "tick 1")
    page.context.set_offline(True)
    tap(page, "first minute")
    tap_button(page, "Gas in the room")
    expect(page.locator(".card-lines li").first).to_contain_text("Do not go in")
    expect(page.locator('[data-key="outbox"]')).to_contain_text("kept here")
    page.context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")
    tap_button(page, "Back to the round")
    sent(page)
    assert len(house.of("check")) == 1


def test_what_was_chosen_to_skip_stays_when_the_screen_is_drawn_anew(
    opened: Open, house: RoundHouse
) -> None:
    page = opened("T12")
    tap(page, "skip")
    page.locator('[data-key^="what "]').first.tap()
    chosen = page.locator("h1").inner_text()
    tap(page, "reason short_of_time")
    page.set_viewport_size({"width": 390, "height": 844})  # as when a phone is turned
    expect(page.locator("h1")).to_have_text(chosen)
    expect(page.locator('[data-key="reason short_of_time"]')).to_have_attribute(
        "aria-pressed", "true"
    )
    tap(page, "skip it")
    sent(page)
    assert [one["body"]["reason"] for one in house.of("skip")] == ["short_of_time"]


@pytest.mark.parametrize("key", ["", "look drop_checker", "look temperature", "skip", "close"])
def test_axe_finds_nothing(opened: Open, key: str) -> None:
    page = opened("T12")
    if key:
        tap(page, key)
    assert _axe(page) == []


def _axe(page: Page) -> list[str]:
    source = Path(axe_playwright_python.__file__).parent / "axe.min.js"
    page.evaluate(source.read_text("utf-8"))
    rules = "{runOnly: ['wcag2a', 'wcag2aa', 'wcag21aa', 'best-practice']}"
    answer = page.evaluate(f"axe.run(document, {rules})")
    assert answer["passes"]
    return [violation["id"] for violation in answer["violations"]]
