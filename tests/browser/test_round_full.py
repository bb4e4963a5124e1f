"""A full tablet: photos rest first, a tick that was not kept says so, and nothing counts twice.

Quotas are cut for the gallery's address by the browser itself. Chromium tells every page of ten
free gigabytes, whatever there is, so as to give nothing away; what a browser that tells the truth
leads to is seen with that turned off.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, CDPSession, Page, Playwright, expect

from tests.browser.conftest import QUIETLY, program
from tests.browser.round_house import RoundHouse
from tests.browser.tapping import (
    TABLET,
    listen_for_taps,
    ready,
    sent,
    stands_at,
    tap,
    tap_button,
    until,
)
from tests.browser.test_round_kept import _a_photo

pytestmark = [pytest.mark.browser, pytest.mark.once]

TELLS = "--disable-features=StaticStorageQuota,IncognitoStaticStorageQuota"
MB = 1_000_000

_FILL = """(sizes) => new Promise((done, failed) => {
  const asked = indexedDB.open("films", 1);
  asked.onupgradeneeded = () => asked.result.createObjectStore("films", { autoIncrement: true });
  asked.onerror = () => failed(asked.error);
  asked.onsuccess = async () => {
    const put = (size) => new Promise((kept) => {
      const tx = asked.result.transaction("films", "readwrite", { durability: "strict" });
      const film = new Uint8Array(size);  // nothing that could be written smaller
      for (let at = 0; at < size; at += 65536)
        crypto.getRandomValues(film.subarray(at, at + 65536));
      tx.objectStore("films").put(film);
      tx.oncomplete = () => kept(true);
      tx.onabort = () => kept(tx.error?.name !== "QuotaExceededError" && tx.error?.name);
    });
    let refused = 0;
    for (const [size, most] of sizes)
      for (let n = 0; n < most; n += 1) if (!(await put(size))) { refused += 1; break; }
    asked.result.close();
    done(refused);
  };
})"""
_EMPTY = """() => new Promise((done, failed) => {
  const asked = indexedDB.deleteDatabase("films");
  asked.onsuccess = () => done(true);
  asked.onerror = asked.onblocked = () => failed(asked.error);
})"""


class Tablet:
    """A page of the round, and the room that its browser gives it."""

    def __init__(self, browser: Browser, house: RoundHouse) -> None:
        self.context = browser.new_context(viewport=TABLET, has_touch=True)  # type: ignore[arg-type]
        listen_for_taps(self.context)
        self.page: Page = self.context.new_page()
        self.troubles: list[str] = []
        self.page.on("pageerror", lambda error: self.troubles.append(str(error)))
        self.browser_says: CDPSession = self.context.new_cdp_session(self.page)
        self.house = house

    def room(self, quota: int | None) -> None:
        """Cut the quota of the gallery's address; None lifts that."""
        of: dict[str, Any] = {"origin": self.house.address}
        if quota is not None:
            of["quotaSize"] = quota
        self.browser_says.send("Storage.overrideQuotaForOrigin", of)

    def used(self) -> int:
        """What the browser itself counts for the address [bytes]."""
        of = {"origin": self.house.address}
        return int(self.browser_says.send("Storage.getUsageAndQuota", of)["usage"])

    def walk_in(self, code: str) -> Page:
        """Open the round at a stop, its files kept for a walk without network."""
        self.page.goto(f"{self.house.address}/round/#{code}")
        ready(self.page)
        until(self.page, "caches.match('/pack').then((kept) => kept !== undefined)")
        return self.page


@pytest.fixture
def tablet(browser: Browser, house: RoundHouse) -> Iterator[Tablet]:
    has = Tablet(browser, house)
    yield has
    has.context.close()
    assert has.troubles == []


@pytest.fixture
def telling(play: Playwright, house: RoundHouse) -> Iterator[Tablet]:
    running = play.chromium.launch(executable_path=program(), args=[*QUIETLY, TELLS])
    has = Tablet(running, house)
    yield has
    running.close()
    assert has.troubles == []


def _photo_of_the_surface(page: Page) -> None:
    tap(page, "look surface")
    page.locator('[data-key="photo surface"]').set_input_files(
        {"name": "p.jpg", "mimeType": "image/jpeg", "buffer": _a_photo()}
    )


def test_from_four_fifths_on_photos_rest_in_words_and_ticks_go_on(
    telling: Tablet, house: RoundHouse
) -> None:
    page = telling.walk_in("T12")
    telling.room(int(telling.used() / 0.82))
    _photo_of_the_surface(page)
    said = page.locator(".photo-in .notice")
    expect(said).to_contain_text("No photo now: this tablet is nearly full")
    expect(said).to_contain_text("Ticks and numbers are kept as before")
    expect(said).to_contain_text("delete films and pictures that are not the gallery’s")
    tap_button(page, "Leave it as it was")
    tap(page, "tick 1")
    expect(page.locator('[data-key="tick 1"]')).to_have_attribute("aria-pressed", "true")
    telling.room(None)
    tap(page, "tick 2")
    stands_at(page, "T13")
    _photo_of_the_surface(page)
    expect(page.locator("#main")).to_contain_text("One photo kept.")
    sent(page)
    kinds = [action["kind"] for action in house.actions]
    assert kinds == ["round_open", "check", "dose", "feed", "photo"]


def test_a_full_tablet_says_why_and_what_to_do_and_keeps_the_same_tap_once_when_there_is_room(
    tablet: Tablet, house: RoundHouse
) -> None:
    tablet.page.goto(f"{house.address}/board/")
    quota = 24 * MB
    tablet.room(quota)
    page = tablet.walk_in("T12")
    page.evaluate(_FILL, [[quota - tablet.used() - 3 * MB, 1]])
    _photo_of_the_surface(page)
    said = page.locator(".photo-in .notice")
    expect(said).to_contain_text("The photo was not kept: this tablet is too full for it.")
    tap_button(page, "Leave it as it was")
    tap(page, "tick 1")
    expect(page.locator('[data-key="tick 1"]')).to_have_attribute("aria-pressed", "true")
    sent(page)

    house.mode = 500
    assert page.evaluate(_FILL, [[MB, 9], [100_000, 20], [10_000, 20], [1000, 90], [50, 90]]) > 0
    tap(page, "tick 2")
    expect(page.locator('[data-key="tick 2"]')).to_have_attribute("aria-pressed", "false")
    alert = page.get_by_role("alert")
    expect(alert).to_contain_text("Not kept: this tablet is full.")
    expect(alert).to_contain_text("Make room on it")
    expect(alert).to_contain_text("never the browser’s data")
    stands_at(page, "T12")

    tablet.room(tablet.used() // 2)
    for _ in range(2):  # what a full tablet cannot keep anew is shown, and goes on being kept
        page.reload()
        ready(page)
    stands_at(page, "T12")
    expect(page.locator('[data-key="tick 2"]')).to_have_attribute("aria-pressed", "false")
    page.evaluate(_EMPTY)
    tablet.room(quota)
    tap(page, "tick 2")
    stands_at(page, "T13")
    expect(page.get_by_role("alert")).to_have_count(0)
    house.mode = "ok"
    page.evaluate("dispatchEvent(new Event('online'))")
    sent(page)
    kinds = [action["kind"] for action in house.actions]
    assert kinds == ["round_open", "check", "dose", "feed"]
    assert [action["seq"] for action in house.actions] == [1, 2, 3, 4]


def test_a_window_that_may_forget_is_told_of_before_the_first_tap_and_once(
    tablet: Tablet, house: RoundHouse
) -> None:
    page = tablet.walk_in("T12")
    told = page.locator(".told")
    expect(told).to_contain_text("Is this a private window?")
    expect(told).to_contain_text("leave the window open until all is sent")
    assert page.evaluate("document.documentElement.scrollHeight") <= TABLET["height"]
    tap(page, "understood")
    expect(told).to_have_count(0)
    page.reload()
    ready(page)
    expect(page.locator('[data-key="tick 1"]')).to_be_visible()
    expect(told).to_have_count(0)
    assert house.actions == []
