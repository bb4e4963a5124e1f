"""What was tapped is there when a page, a browser or a second page comes and goes."""

from __future__ import annotations

import hashlib
import io
import json
import os
import re
import signal
import time
from contextlib import suppress
from pathlib import Path
from random import Random

import pytest
from PIL import Image
from playwright.sync_api import BrowserContext, Page, Playwright, expect

from tests.browser.conftest import QUIETLY, program
from tests.browser.round_house import RoundHouse
from tests.browser.tapping import (
    NOTHING_WAITS,
    TABLET,
    WITHIN_MS,
    Open,
    listen_for_taps,
    ready,
    sent,
    tap,
    tap_button,
    until,
)

pytestmark = [pytest.mark.browser, pytest.mark.once]


BEGUN_IS_KEPT = """new Promise((done) => {
    const asked = indexedDB.open("outbox tablet-1");
    asked.onsuccess = () => {
        const read = asked.result.transaction("drafts").objectStore("drafts").getAll();
        read.onsuccess = () => {
            asked.result.close();
            done(JSON.stringify(read.result).includes("24,6"));
        };
    };
})"""
_SHELL = {
    "device_id": "tablet-1", "epoch": "e", "sent_at": "2026-03-12T08:08:00+00:00",
    "boot_id": "00000000-0000-7000-8000-000000000001", "monotonic_ms": 0,
}  # fmt: skip


def test_a_tablet_keeps_what_waits_when_its_page_is_loaded_again(
    opened: Open, house: RoundHouse
) -> None:
    page = opened("T12", expected=("500",))
    house.mode = 500
    tap(page, "tick 1")
    expect(page.locator('[data-key="outbox"]')).to_contain_text("kept here")
    asked: list[str] = []
    page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.dismiss()))
    page.reload()
    ready(page)
    assert asked == []
    assert house.actions == []
    expect(page.locator('[data-key="tick 1"]')).to_have_attribute("aria-pressed", "true")
    tap(page, "outbox")
    expect(page.locator("h1")).to_contain_text("2 not sent. All are kept on this tablet.")
    with page.expect_download() as download:
        page.locator('[data-key="save"]').tap()
    saved = json.loads(download.value.path().read_text("utf-8"))
    assert download.value.suggested_filename.startswith("undershore-tablet-1-")
    assert [action["seq"] for action in saved["actions"]] == [1, 2]
    house.shape.validate({**_SHELL, "actions": saved["actions"]})
    tap_button(page, "Back to the round")
    house.mode = "ok"
    page.evaluate("dispatchEvent(new Event('online'))")
    sent(page)
    assert [action["seq"] for action in house.actions] == [1, 2]
    tap(page, "tick 2")
    sent(page)
    assert [action["seq"] for action in house.actions] == [1, 2, 3, 4]


def test_how_far_the_clock_is_off_is_known_to_a_round_that_opens_without_network(
    play: Playwright, house: RoundHouse, tmp_path: Path
) -> None:
    house.ahead_h = 3
    page = _walk_in(_own_browser(play, tmp_path), house, "T12")
    _opens_without_network(page)
    tap(page, "tick 1")
    until(page, NOTHING_WAITS)
    expect(page.locator('[data-key="outbox"]')).to_contain_text("Clock 3 h slow")
    house.close()
    page.reload()
    ready(page)
    expect(page.locator('[data-key="outbox"]')).to_contain_text("Clock 3 h slow")
    tap(page, "tick 2")
    tap(page, "outbox")
    expect(page.locator(".ob-state")).to_contain_text("3 h slow when last compared")
    with page.expect_download() as download:
        page.locator('[data-key="save"]').tap()
    saved = json.loads(download.value.path().read_text("utf-8"))
    assert abs(saved["offset_ms"] - 3 * 3_600_000) < 2_000
    house.open()
    page.context.close()


def test_what_was_begun_is_there_when_the_page_is_loaded_again(
    opened: Open, house: RoundHouse
) -> None:
    page = opened("T12")
    tap(page, "look temperature")
    page.locator(".stepper input").fill("24,6")
    until(page, BEGUN_IS_KEPT)
    page.reload()
    ready(page)
    tap(page, "look temperature")
    expect(page.locator(".stepper input")).to_have_value("24,6")
    assert house.actions == []


def test_a_second_page_of_the_tablet_gives_no_number_twice(opened: Open, house: RoundHouse) -> None:
    first = opened("T12")
    second = first.context.new_page()
    second.goto(f"{house.address}/round/#T13")
    ready(second)
    tap(first, "tick 1")
    tap(second, "tick 1")
    until(first, NOTHING_WAITS)
    for page in (first, second):
        expect(page.locator('[data-key="outbox"]')).to_contain_text(
            re.compile("All sent|Nothing waits here")
        )
    assert sorted(action["seq"] for action in house.actions) == list(
        range(1, len(house.actions) + 1)
    )
    assert len(house.of("check")) == 2


def test_a_browser_that_is_killed_keeps_every_tick(
    play: Playwright, house: RoundHouse, tmp_path: Path
) -> None:
    house.mode = 500
    for code in ("T12", "T13"):
        page = _walk_in(_own_browser(play, tmp_path), house, code)
        tap(page, "tick 1")
        expect(page.locator('[data-key="tick 1"]')).to_have_attribute("aria-pressed", "true")
        _kill(tmp_path)
    house.mode = "ok"
    context = _own_browser(play, tmp_path)
    sent(_walk_in(context, house, "T14"))
    context.close()
    assert [action["kind"] for action in house.actions] == ["round_open", "check", "check"]
    assert [action["seq"] for action in house.actions] == [1, 2, 3]


def test_a_round_goes_on_without_the_gallery_and_is_sent_once_when_it_is_back(
    play: Playwright, house: RoundHouse, tmp_path: Path
) -> None:
    page = _walk_in(_own_browser(play, tmp_path), house, "T12")
    _opens_without_network(page)
    house.close()
    tap(page, "look surface")
    page.locator('[data-key="photo surface"]').set_input_files(
        {"name": "p.jpg", "mimeType": "image/jpeg", "buffer": _a_photo()}
    )
    expect(page.locator("#main")).to_contain_text("One photo kept.")
    tap_button(page, "Leave it as it was")
    tap(page, "tick 1")
    page.reload()
    ready(page)
    expect(page.locator('[data-key="tick 1"]')).to_have_attribute("aria-pressed", "true")
    tap(page, "tick 2")
    _kill(tmp_path)

    page = _walk_in(_own_browser(play, tmp_path), house, "T13")
    tap(page, "tick 1")
    tap(page, "tick 2")
    expect(page.locator('[data-key="outbox"]')).to_contain_text("kept here")
    other = page.context.new_page()
    other.goto(f"{house.address}/first-minute/")
    assert other.locator("h1").inner_text() == "/first-minute/"
    other.goto(f"{house.address}/stock/")
    assert other.locator("h1").inner_text() == "/no-network/"

    house.open()
    page.evaluate("dispatchEvent(new Event('online'))")
    sent(page)
    tap(page, "outbox")
    expect(page.locator('[data-key="photos"]')).to_contain_text("with the gallery")
    page.context.close()
    kinds = [action["kind"] for action in house.actions]
    assert kinds == ["round_open", "photo", *["check", "dose", "feed"] * 2]
    assert [action["seq"] for action in house.actions] == list(range(1, 9))
    _is_whole_once_and_bare(house)


def test_the_next_person_goes_on_without_the_network_and_a_new_version_waits(
    play: Playwright, house: RoundHouse, tmp_path: Path
) -> None:
    somebody = house.knows_pin("294063")
    page = _walk_in(_own_browser(play, tmp_path), house, "T12")
    _opens_without_network(page)
    tap(page, "tick 1")
    sent(page)
    house.version = "two"
    page.evaluate("navigator.serviceWorker.getRegistration().then((one) => one.update())")
    until(page, "navigator.serviceWorker.getRegistration().then((one) => one.waiting !== null)")
    tap(page, "outbox")
    expect(page.locator("#main")).to_contain_text("A new version waits until the round is closed.")
    page.reload()
    ready(page)
    assert page.title() == "Opening one"

    page.evaluate("fetch('/sign-out/', {method: 'POST'})")
    house.close()
    page.reload()
    ready(page)
    expect(page.locator("h1")).to_have_text("Who is here?")
    assert page.title() == "Opening one"
    assert page.locator(".tick").count() == 0
    tap(page, f"name {somebody['id']}")
    tap(page, "pad 7")
    tap_button(page, "Erase last digit")
    for digits, title in (("294064", "Who is here?"), ("294063", None)):
        for digit in digits:
            tap(page, f"pad {digit}")
        if title:
            expect(page.get_by_role("alert")).to_contain_text("4 tries left")
    expect(page.locator('[data-key="tick 1"]')).to_have_attribute("aria-pressed", "true")
    tap(page, "tick 2")
    house.open()
    page.evaluate("dispatchEvent(new Event('online'))")
    sent(page)
    given = house.of("dose")[0]
    assert (given["person_id"], given["person_proof"]) == (somebody["id"], "pin")

    house.pack["round"]["closed_at"] = "2026-03-12T09:10:00+00:00"
    page.reload()
    ready(page)
    until(page, "navigator.serviceWorker.getRegistration().then((one) => one.waiting === null)")
    end = time.monotonic() + WITHIN_MS / 1000
    while page.title() != "Opening two":  # its pages are fetched behind the one that stands
        assert time.monotonic() < end, "the new version did not come"
        page.wait_for_timeout(200)
        page.reload()
        ready(page)
    page.context.close()


def _a_photo() -> bytes:
    """4,000 px wide, several pieces long, with the maker of the camera written beside it."""
    out, told = io.BytesIO(), Image.Exif()
    told[0x010F] = "Maker of the camera"
    coarse = Image.frombytes("RGB", (500, 375), Random(7).randbytes(500 * 375 * 3))
    coarse.resize((4000, 3000)).save(out, "JPEG", exif=told, quality=80)
    return out.getvalue()


def _is_whole_once_and_bare(house: RoundHouse) -> None:
    ((name, photo),) = house.photos.items()
    (said,) = house.of("photo")
    assert hashlib.sha256(photo).hexdigest() == name == said["body"]["sha256"]
    assert len(photo) == said["body"]["size_bytes"] > 512 * 1024
    with Image.open(io.BytesIO(photo)) as picture:
        assert (picture.size, dict(picture.getexif())) == ((2560, 1920), {})


def _opens_without_network(page: Page) -> None:
    """Waits until the worker has kept the round, and says so in the outbox."""
    until(page, "navigator.serviceWorker.controller !== null")
    until(page, "caches.match('/pack').then((kept) => kept !== undefined)")
    tap(page, "outbox")
    expect(page.locator("#main")).to_contain_text("This round opens without the network too.")
    tap_button(page, "Back to the round")


def _own_browser(play: Playwright, folder: Path) -> BrowserContext:
    """A browser that keeps its things in a folder, as a tablet does."""
    (folder / "SingletonLock").unlink(missing_ok=True)
    context = play.chromium.launch_persistent_context(
        folder,
        executable_path=program(),
        args=[*QUIETLY],
        viewport=TABLET,  # type: ignore[arg-type]
        has_touch=True,
    )
    listen_for_taps(context)
    return context


def _walk_in(context: BrowserContext, house: RoundHouse, code: str) -> Page:
    page = context.new_page()
    page.goto(f"{house.address}/round/#{code}")
    ready(page)
    return page


def _kill(folder: Path) -> None:
    """SIGKILL to every process of the browser of this folder, until there is none."""
    end = time.monotonic() + WITHIN_MS / 1000
    while mine := _processes(folder):
        assert time.monotonic() < end, f"still there: {mine}"
        for process in mine:
            with suppress(OSError):
                os.kill(process, signal.SIGKILL)
        time.sleep(0.05)


def _processes(folder: Path) -> list[int]:
    """What has this folder among its words; one that has ended has no words any more."""
    wanted, found = f"--user-data-dir={folder}".encode(), []
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            with suppress(OSError):
                if wanted in (entry / "cmdline").read_bytes().split(b"\0"):
                    found.append(int(entry.name))
    return found
