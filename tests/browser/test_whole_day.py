"""One day as a gallery lives it, by taps in a real browser, with web, worker and beat running.

By https with the gallery's own certificate, which the browser trusts as a tablet does; the rounds
are walked while no web server runs, and sent when it is back.

What must come out is reckoned outside the program: ``tests/outside/demo_fleet.csv`` says which tank
is given how much, and the sum of its column is 196 mL a day.
"""

from __future__ import annotations

import csv
import io
import re
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, Playwright, expect

from tests.browser.day_house import House, a_browser, a_house
from tests.browser.tapping import WITHIN_MS, calm, ready, sent, tap
from tests.browser.whole_gallery import PINS
from tests.faults.program import HOUSE
from tests.gallery_ops.web.squares import read_back

pytestmark = [pytest.mark.browser, pytest.mark.once]

LIST = HOUSE / "tests/outside/demo_fleet.csv"
PASSWORD = "quiet stones under moss"
GALLERY = {
    "name": "Undershore",
    "place": "Marrowick",
    "zone": "Europe/London",
    "country": "GB",
    "currency": "GBP",
    "owner_name": "Maud Ellerkamp",
    "owner_login": "maud.e",
    "password": PASSWORD,
}
READ = {"Temperature": "24.1", "pH": "6.8"}
"""What is typed where a stop asks for a number; other numbers are 0.8."""
PRESS_UL = {"A": 924, "B": 1000}
"""What a press gives in the demo gallery: measured in zone A, never measured in zone B."""
MOST_TYPED = 8
"""Each tank is asked for one number a week, two start-ups for their test as well."""
OPEN_STOP = """[...document.querySelectorAll('.stop-title .num, [data-key="tick close"]')]
    .map(found => found.matches('.num') ? found.innerText : '')"""
"""One question, so that a page that goes on in between cannot answer half of it."""
A_DAY = re.compile(r"\b\d{1,2} (Mar|Apr)")
ORDER_BY = re.compile(r"Order .+ (today|by \d{1,2} (March|April)): .+ likely gone \d{1,2} ")


def until(page: Page, path: str, words: str | re.Pattern[str]) -> None:
    """Ask for the page again until the words stand on it."""
    end = time.monotonic() + WITHIN_MS / 1000
    while True:
        page.goto(path)
        text = page.locator("main").inner_text()
        if re.search(words, text):
            return
        assert time.monotonic() < end, f"{words!r} did not come:\n{text[:1500]}"
        page.wait_for_timeout(1500)


def begin_gallery(house: House, page: Page) -> None:
    page.goto(house.address)
    for name, words in GALLERY.items():
        page.locator(f"[name={name}]").fill(words)
    page.get_by_role("button", name="Begin").tap()
    page.wait_for_url(lambda url: "/first-run/" not in url)


def bring_the_list_in(house: House, page: Page) -> None:
    page.goto(f"{house.address}/tanks/import/")
    page.locator("input[type=file]").set_input_files(LIST)
    page.get_by_role("button", name="Read it").tap()
    page.get_by_role("button", name="Bring in 20 tanks").tap()
    expect(page.locator("main")).to_contain_text("20 tanks were written")


def enrol(house: House, boss: Page, tablet: Page) -> None:
    boss.goto(f"{house.address}/tablets/")
    boss.get_by_role("button", name="Make a code for a tablet").tap()
    code = boss.locator("b.code").inner_text()
    no_window_that_forgets(house, tablet)
    tablet.goto(f"{house.address}/tablets/enrol/")
    said = tablet.locator("#this-tablet li")
    expect(said).to_have_count(4)
    expect(said.nth(2)).to_contain_text("asked when you enrol it")
    tablet.get_by_label("Code").fill(code)
    expect(said.nth(2)).to_contain_text(re.compile("yes|not promised"))
    tablet.get_by_label("What this tablet is called").fill("tablet of zone A")
    tablet.get_by_role("button", name="Enrol it").tap()
    expect(tablet.get_by_role("heading", name="Who is here?")).to_be_visible()


def no_window_that_forgets(house: House, tablet: Page) -> None:
    """Where a browser opens no folder it keeps nothing: the form is gone, and it says why."""
    private = tablet.context.new_page()
    refusing = "navigator.storage.getDirectory = () => Promise.reject(new Error('SecurityError'))"
    private.add_init_script(refusing)
    private.goto(f"{house.address}/tablets/enrol/")
    expect(private.get_by_role("alert")).to_contain_text("This window forgets")
    expect(private.get_by_role("button", name="Enrol it")).to_be_hidden()
    private.close()


def sign_in_by_tile(tablet: Page, name: str, pin: str) -> None:
    tablet.get_by_role("link", name=re.compile(name)).tap()
    slip = tablet.get_by_role("button", name="Erase last digit")
    if slip.is_visible():
        tablet.locator('[data-digit="7"]').tap()
        slip.tap()
    for digit in pin:
        tablet.locator(f'[data-digit="{digit}"]').tap()
    if tablet.locator("[data-pin-submit]").is_visible():
        tablet.locator("[data-pin-submit]").tap()
    tablet.wait_for_url(lambda url: "/sign-in/" not in url)


def walk_without_network(
    house: House, tablet: Page, codes: list[str]
) -> list[dict[str, dict[str, Any]]]:
    """Fetch the rounds, walk them while no web server runs, send all when it is back."""
    for code in codes:
        open_round(house, tablet, code)
        kept(tablet, f"/rounds/{code}/")
        kept(tablet, str(tablet.locator("#main").get_attribute("data-pack")))
    house.close_web()
    walked = [walk(house, tablet, code) for code in codes]
    expect(tablet.locator('[data-key="outbox"]')).to_contain_text("not sent")
    house.open_web()
    tablet.evaluate("dispatchEvent(new Event('online'))")
    sent(tablet)
    return walked


def kept(tablet: Page, path: str) -> None:
    """Until the tablet has this address where it finds it without the network."""
    for _ in until_too_long():
        if tablet.evaluate("path => caches.match(path).then(found => !!found)", path):
            return
        tablet.wait_for_timeout(200)
    raise AssertionError(f"{path} was not kept on the tablet")


def open_round(house: House, tablet: Page, code: str) -> None:
    tablet.goto(f"{house.address}/rounds/{code}/")
    ready(tablet)


def walk(house: House, tablet: Page, code: str) -> dict[str, dict[str, Any]]:
    """Tap through one round; by tank: how many taps, what was typed, what tick two said."""
    open_round(house, tablet, code)
    stops: dict[str, dict[str, Any]] = {}
    here = ""
    while (here := next_stop(tablet, here)) and here not in stops:
        stops[here] = do_stop(tablet, here)
    return stops


def next_stop(tablet: Page, last: str) -> str:
    """The code of the stop that opened after the last one, quiet by now; empty at the end."""
    onward = tablet.get_by_role("button", name=re.compile("without it$"))
    for _ in until_too_long():
        calm(tablet)
        if (here := open_stop(tablet)) != last:
            return here
        if onward.count():  # the photo that is asked for this week is left
            tap(tablet, onward)
        tablet.wait_for_timeout(50)
    raise AssertionError(f"nothing opened after {last}")


def open_stop(tablet: Page) -> str:
    """The code of the stop that is open; empty on the screen that closes the round."""
    for _ in until_too_long():
        found: list[str] = tablet.evaluate(OPEN_STOP)
        if found:
            return found[0]
        tablet.wait_for_timeout(50)
    raise AssertionError("neither a stop nor the end of the round is open")


def until_too_long() -> Iterator[None]:
    end = time.monotonic() + WITHIN_MS / 1000
    while time.monotonic() < end:
        yield


def do_stop(tablet: Page, here: str) -> dict[str, Any]:
    """Look, type what is asked for, give; as a hand does it that waits for what it sees."""
    done: dict[str, Any] = {"taps": 1, "typed": 0, "gave": ""}
    tap(tablet, "tick 1")
    looked(tablet, here)
    field = tablet.locator(".stop-do .stepper input")
    while open_stop(tablet) == here and field.count():
        about = field.first.get_attribute("aria-label") or ""
        field.first.fill(next((v for word, v in READ.items() if word in about), "0.8"))
        tap(tablet, tablet.get_by_role("button", name=re.compile("^Keep")).first)
        done["typed"] += 1
        assert done["typed"] < 5, f"{about} at {here} was not taken"
    give = tablet.locator('[data-key="tick 2"][aria-pressed="false"]')
    if open_stop(tablet) == here and give.count():
        done["gave"] = give.inner_text()
        tap(tablet, "tick 2")
        done["taps"] += 1
    return done


def looked(tablet: Page, here: str) -> None:
    """Until the first tick is kept, or the next stop has opened because nothing is to be given."""
    pressed = tablet.locator('[data-key="tick 1"][aria-pressed="true"]')
    for _ in until_too_long():
        if pressed.count() or open_stop(tablet) != here:
            return
        tablet.wait_for_timeout(50)
    raise AssertionError(f"the look at {here} was not kept")


def rounds_of_today(house: House, page: Page) -> list[str]:
    """Codes of the opening rounds, in walking order, once their tasks are there."""
    page.goto(f"{house.address}/rounds/")
    lay_out = page.get_by_role("button", name="Lay out today's rounds")
    if lay_out.count():
        lay_out.tap()
        expect(lay_out).to_have_count(0)
    until(page, f"{house.address}/rounds/", r"0 of \d+ tasks done")
    links = page.get_by_role("link", name=re.compile("^Opening"))
    return [str(link.get_attribute("href")).split("/")[-2] for link in links.all()]


def test_the_whole_day_of_a_new_gallery(tmp_path: Path, play: Playwright) -> None:
    rows = list(csv.DictReader(LIST.read_text("utf-8").splitlines()))
    planted = [row["code"] for row in rows if row["stage"] != "empty"]
    planned_ul = {row["code"]: int(row["dose_ml_day"]) * 1000 for row in rows}
    assert (len(planted), sum(planned_ul.values())) == (19, 196_000)
    with a_house(tmp_path) as house, a_browser(house, play) as browser:
        house.open_doors()
        boss, tablet = house.page(browser), house.page(browser)
        begin_gallery(house, boss)
        bring_the_list_in(house, boss)
        house.program.run("-m", "tests.browser.whole_gallery", "stock", clock=house.clock())
        enrol(house, boss, tablet)
        since = house.clock()
        sign_in_by_tile(tablet, "Bram Tolliver", PINS["Bram Tolliver"])
        stops: dict[str, dict[str, Any]] = {}
        for walked in walk_without_network(house, tablet, rounds_of_today(house, tablet)):
            stops |= walked
        assert sorted(stops) == planted
        given = {code for code, stop in stops.items() if stop["gave"]}
        assert given == {code for code, ul in planned_ul.items() if ul}
        assert {stops[code]["taps"] for code in given} == {2}
        assert sum(stop["typed"] for stop in stops.values()) <= MOST_TYPED
        told = house.told("used", since)
        assert told["used_ul"] == 196_000
        assert told["doses"] == len([ul for ul in planned_ul.values() if ul]) == 18
        assert told["kinds"].count("dose") == 18
        the_manager_reads(house, boss)
        a_visitor_comes(house, browser, boss)
        assert house.troubles == []


def the_manager_reads(house: House, boss: Page) -> None:
    """The jobs ran in the worker: an alert with its because, and the forecast of the stock."""
    until(boss, f"{house.address}/alerts/", r"B Order ")
    boss.get_by_role("link", name=re.compile("^B Order ")).first.tap()
    expect(boss.locator("h1")).to_have_text(ORDER_BY)
    expect(boss.locator("details.because")).to_have_attribute("open", "")
    reasons = boss.locator("details.because dd").all_inner_texts()
    assert "None were kept" not in " ".join(reasons)
    assert len(reasons) >= 2
    until(boss, f"{house.address}/stock/", r"Because")
    assert A_DAY.search(boss.locator("main").inner_text())


def a_visitor_comes(house: House, browser: Browser, boss: Page) -> None:
    """By the square on the label, read by a decoder that is not ours (zxing-cpp)."""
    boss.goto(f"{house.address}/labels/?tank=T11")
    picture = boss.locator(".qr").first.screenshot()
    pixels = np.asarray(Image.open(io.BytesIO(picture)).convert("L"))
    address, _level = read_back(pixels)
    assert address.startswith(f"{house.address}/v/")
    visitor = house.page(browser)
    answer = visitor.goto(address)
    assert answer is not None
    assert answer.status == 200
    expect(visitor.locator("main")).to_contain_text("T11")
    assert visitor.context.cookies() == []


@pytest.mark.long
def test_the_same_day_in_the_demo_gallery_uses_presses_times_what_a_press_gives(
    tmp_path: Path, play: Playwright
) -> None:
    """Zone A's pump was measured at 924 uL a press; above 15 mL a measuring cup says it."""
    with a_house(tmp_path) as house, a_browser(house, play) as browser:
        house.program.run("manage.py", "load_demo", "--on", "2026-03-12", clock=house.clock())
        pins = house.told("sign_ins")
        house.open_doors()
        tablet = house.page(browser)
        code = house.told("enrolment_code")["code"]
        tablet.goto(f"{house.address}/tablets/enrol/")
        tablet.get_by_label("Code").fill(code)
        tablet.get_by_label("What this tablet is called").fill("tablet of the day")
        tablet.get_by_role("button", name="Enrol it").tap()
        since = house.clock()
        sign_in_by_tile(tablet, "Bram Tolliver", pins["Bram Tolliver"])
        codes = rounds_of_today(house, tablet)
        walked = dict(zip("AB", walk_without_network(house, tablet, codes), strict=True))
        told = house.told("used", since)
        assert house.troubles == []
    assert sum(len(stops) for stops in walked.values()) == 19
    expected = [
        said_ul(stop["gave"], PRESS_UL[zone])
        for zone, stops in walked.items()
        for stop in stops.values()
    ]
    assert told["used_ul"] == sum(expected)
    assert told["doses"] == len([ul for ul in expected if ul])


def said_ul(words: str, press_ul: int) -> int:
    """What the second tick of a stop said it gave [uL], reckoned from its presses."""
    pressed = re.search(r"(\d+) press", words)
    if pressed:
        return int(pressed[1]) * press_ul
    cup = re.search(r"([\d.]+) mL", words)
    return round(float(cup[1]) * 1000) if cup else 0
