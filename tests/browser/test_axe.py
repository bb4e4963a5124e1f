"""Every page of the URL conf in a real browser: nothing serious for axe in light, dark and dim, no
sideways scroll, nothing in the console, and a way through it by keyboard.

The pages come from the list of addresses, so that a new one is covered by itself.
"""

from __future__ import annotations

import time
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import axe_playwright_python
import pytest
from django.test import Client
from playwright.sync_api import Browser, ConsoleMessage, Page, Response

from gallery_ops.certificate.kept import ensure
from gallery_ops.kernel import clock
from gallery_ops.kernel.services.devices import enrol_device, make_enrolment_code
from gallery_ops.overview.who import DEVICE_COOKIE
from gallery_ops.web.parts import LOOK_COOKIE
from tests.builders.fleet import Fleet, a_fleet
from tests.builders.people import a_member
from tests.gallery_ops.web.pages.addresses import AT, addresses, named, signed_in

pytestmark = [pytest.mark.browser, pytest.mark.once, pytest.mark.django_db(transaction=True)]

AXE = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text("utf-8")
TAGS = ["wcag2a", "wcag2aa", "wcag21aa", "best-practice"]
GRAVE = """tags => axe._audit.rules
    .filter(rule => rule.enabled && tags.some(tag => rule.tags.includes(tag)))
    .filter(rule => !rule.tags.some(tag => ['experimental', 'deprecated'].includes(tag)))
    .filter(rule => !['minor', 'moderate'].includes(rule.impact)).map(rule => rule.id)"""
"""A rule that carries a smaller weight of its own can find nothing that is noted here."""
COLOURS = ["color-contrast", "link-in-text-block"]
"""What a look can change: it sets colours only, so the other rules would answer as before."""
RUN = """({rules, fresh}) => axe.run(fresh ? {include: window.fresh} : document,
    {resultTypes: ['violations'], preload: false, runOnly: {type: 'rule', values: rules}})"""
"""No rule that is asked reads style sheets or sound, which axe would fetch again before."""
FRESH = """seen => {
    const known = new Set(seen), names = ['class', 'disabled', 'readonly'];
    for (const sheet of document.styleSheets)
        for (const rule of sheet.cssRules)
            for (const [, name] of rule.cssText.matchAll(/\\[([a-z-]+)/g)) names.push(name);
    const asked = [...new Set(names)].sort(), ways = new Map([[null, '']]);
    const way = element => {
        if (!ways.has(element)) {
            const attributes = asked.map(name => element.getAttribute(name) ?? '-').join();
            const { parentElement, previousElementSibling: before } = element;
            const place = `${before?.tagName}.${before?.className} ${!element.nextElementSibling}`;
            ways.set(element, `${way(parentElement)}>${element.tagName} ${attributes} ${place}`);
        }
        return ways.get(element);
    };
    const short = text => {
        let [one, two] = [7, 11];
        for (let at = 0; at < text.length; at += 1) {
            one = Math.imul(one ^ text.charCodeAt(at), 16777619);
            two = Math.imul(two ^ text.charCodeAt(at), 2246822519);
        }
        return `${one}.${two}`;
    };
    const says = element => [...element.childNodes].some(
        node => node.nodeType === Node.TEXT_NODE && node.data.trim());
    window.fresh = [];
    for (const element of document.body.querySelectorAll('*')) {
        if (!says(element) && !element.matches('input, textarea, select')) continue;
        const sign = short(way(element));
        if (known.has(sign)) continue;
        known.add(sign);
        window.fresh.push(element);
    }
    return [...known];
}"""
"""What no page before had: a text whose way from the root has other names of tags, other classes
or other attributes that a style sheet asks for. Where all of them are the same, so are the rules
of the style sheets that hold for it, and its colours. Which child of its parent an element is, but
for the last, is not told apart: style sheets ask it for places, not for colours."""
FETCHING = """asked => axe._audit.rules
    .filter(rule => asked.includes(rule.id) && rule.preload).map(rule => rule.id)"""
WIDTHS = {320: 640, 390: 844, 820: 1180, 1280: 900}
LOOKS = ("light", "dark", "dim")
OWN_LOOK = {
    "public_tank", "public_enter", "label_sheet", "container_labels", "first_minute_print",
}  # fmt: skip
"""Pages that choose their look by the device or by the paper, not by the tablet's choice."""
NOTHING_TO_PASS = {"public_enter", "public_tank"}
"""Pages where only the languages stand before the text, so that no link passes them by."""
NO_PAGE = {"drawing", "service_worker", "app_manifest", "photo_file", "public_photo"}
"""Answers that are pictures or for the browser itself."""
TANKS = 6
SIDEWAYS = """() => {
    const wide = document.documentElement.scrollWidth - innerWidth;
    return wide > 0 ? [`scrolls ${wide} px sideways`] : [];
}"""
FOCUS = """() => {
    const look = getComputedStyle(document.activeElement);
    const ring = look.outlineStyle !== 'none' && parseFloat(look.outlineWidth) > 0;
    const href = document.activeElement.getAttribute('href');
    return {ring: ring || look.boxShadow !== 'none', href, tag: document.activeElement.tagName};
}"""


@pytest.fixture(autouse=True)
def on_the_morning(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T08:08")
    monkeypatch.setattr(clock, "_started", time.monotonic())


@pytest.fixture(autouse=True)
def own_https(settings: Any, tmp_path: Path) -> None:
    """As after deploy/start --lan, so that the steps of a new tablet are there in full."""
    ensure(tmp_path, "gallery.lan", None, datetime.now(UTC))  # noqa: TID251 - a browser's own clock
    settings.LAN_URL, settings.TRUST_URL = "https://gallery.lan:8443", "http://gallery.lan:8080"
    settings.CERTIFICATE_DIR = str(tmp_path)


class Walker:
    """One page after the other, and everything wrong with them."""

    def __init__(self, browser: Browser, base: str, cookies: dict[str, str]) -> None:
        self.base, self.where = base, ""
        self.troubles: list[str] = []
        self.grave: list[str] = []
        self.seen: list[str] = []
        self.context = browser.new_context(has_touch=True, timezone_id="Europe/London")
        self.context.add_init_script(AXE)
        for name, value in cookies.items():
            self.context.add_cookies([{"name": name, "value": value, "url": base}])
        self.page = self.context.new_page()
        self.page.on("pageerror", lambda error: self.note(str(error)))
        self.page.on("console", self.listen)
        self.page.on("response", self.answered)

    def listen(self, said: ConsoleMessage) -> None:
        if said.type == "error":
            self.note(said.text)

    def answered(self, answer: Response) -> None:
        if answer.status >= 400:
            self.note(f"{answer.status} {answer.url}")

    def note(self, trouble: str) -> None:
        self.troubles.append(f"{self.where}: {trouble}")

    def open(self, path: str, wide: int, look: str) -> Page:
        self.where = f"{path} at {wide} {look}"
        self.page.set_viewport_size({"width": wide, "height": WIDTHS[wide]})
        self.context.add_cookies([{"name": LOOK_COOKIE, "value": look, "url": self.base}])
        self.page.goto(self.base + path)
        if self.page.locator("main[data-pack]").count():
            self.page.wait_for_selector("html[data-ready='1']", state="attached")
        return self.page

    def axe(self, looks: tuple[str, ...] = LOOKS[:1]) -> None:
        """Every rule but those of colour on the whole page; those in each look on what is new.

        A text is known to later pages only where it was held in all looks.
        """
        if not self.grave:
            self.grave = self.page.evaluate(GRAVE, TAGS)
            assert set(COLOURS) <= set(self.grave)
            assert not self.page.evaluate(FETCHING, self.grave), "axe must fetch for these"
        self.ask(sorted(set(self.grave) - set(COLOURS)), fresh=False)
        seen = self.page.evaluate(FRESH, self.seen)
        if looks == LOOKS:
            self.seen = seen
        if not self.page.evaluate("window.fresh.length"):
            return
        path = self.where
        for look in looks:
            self.where = f"{path} {look}"
            self.page.evaluate("look => { document.documentElement.dataset.theme = look }", look)
            self.ask(COLOURS, fresh=True)

    def ask(self, rules: list[str], *, fresh: bool) -> None:
        found: dict[str, Any] = self.page.evaluate(RUN, {"rules": rules, "fresh": fresh})
        for rule in found["violations"]:
            if rule["impact"] in {"serious", "critical"}:
                for node in rule["nodes"]:
                    self.note(f"{rule['id']} {node['target']}")

    def keyboard(self, *, skips: bool) -> None:
        """Skip link first, then focus that can be seen on each of the next stops."""
        self.page.keyboard.press("Tab")
        first = self.page.evaluate(FOCUS)
        if skips and first["href"] != "#main":
            self.note(f"the first stop of Tab is {first}")
        for _ in range(6):
            seen = self.page.evaluate(FOCUS)
            if seen["tag"] != "BODY" and not seen["ring"]:
                self.note(f"no ring on {self.page.evaluate('document.activeElement.outerHTML')}")
            self.page.keyboard.press("Tab")


def walk_over(walker: Walker, paths: dict[str, str]) -> None:
    for name, path in paths.items():
        page = walker.open(path, 820, LOOKS[0])
        if page.evaluate("document.activeElement === document.body"):
            walker.keyboard(skips=name not in NOTHING_TO_PASS)
        for wide in WIDTHS:
            page.set_viewport_size({"width": wide, "height": WIDTHS[wide]})
            walker.where = f"{path} at {wide}"
            for trouble in page.evaluate(SIDEWAYS):
                walker.note(trouble)
        page.set_viewport_size({"width": 820, "height": WIDTHS[820]})
        walker.where = path
        walker.axe(LOOKS if name not in OWN_LOOK else LOOKS[:1])


def pages_of(fleet: Fleet) -> tuple[dict[str, str], dict[str, str], dict[str, str]]:
    """By name: what the owner sees, what a guest sees, what is seen by nobody in particular."""
    things = named(fleet.owner, fleet.tanks[2])
    owners, guests, anybody = {}, {}, {}
    client = signed_in(fleet.owner)
    for address in addresses():
        path = address.path(things)
        if address.name in NO_PAGE or client.get(path).status_code == 405:
            continue
        if address.right is None:
            anybody[address.name] = path
        elif address.right == "layout.read_own":
            guests[address.name] = path
        else:
            owners[address.name] = path
    owners["tank_wall as a list"] = owners["tank_wall"] + "?as=list"
    owners["tank_wall of a day"] = owners["tank_wall"] + "?on=2026-03-03"
    owners["day_board as a list"] = owners["day_board"] + "?as=list"
    owners["stock_forecast as a table"] = owners["stock_forecast"] + "?as=table"
    owners["calculator with an answer"] = owners["calculator"] + "?kh=4&ph=6.6&temp=24"
    return owners, guests, anybody


def session_of(client: Client) -> dict[str, str]:
    return {"sessionid": str(client.cookies["sessionid"].value)}


def test_every_page_is_whole_in_every_light_and_width(live_server: Any, browser: Browser) -> None:
    fleet = a_fleet(TANKS)
    owners, guests, anybody = pages_of(fleet)
    guest = signed_in(a_member(fleet.owner, "guest_designer"))
    owner = signed_in(fleet.owner)
    code = make_enrolment_code(showroom=fleet.showroom, by=fleet.owner, at=AT)
    tablet = {DEVICE_COOKIE: enrol_device(code=code, name="tablet of the test", at=AT).token}
    assert len(owners) >= 18
    assert len(anybody) >= 8
    troubles: list[str] = []
    for cookies, paths in (
        (session_of(owner), owners),
        (session_of(guest), guests),
        (tablet, anybody),
        ({}, {"sign_in": anybody["sign_in"]}),
    ):
        walker = Walker(browser, live_server.url, cookies)
        walk_over(walker, paths)
        troubles += walker.troubles
        walker.context.close()
    assert troubles == [], "\n".join(troubles)


def test_a_chosen_look_is_the_one_that_was_looked_at(live_server: Any, browser: Browser) -> None:
    cookies = session_of(signed_in(a_fleet(1, with_work=False).owner))
    walker = Walker(browser, live_server.url, cookies)
    for look in LOOKS:
        page = walker.open("/tanks/", 820, look)
        assert page.locator("html").get_attribute("data-theme") == look
    walker.context.close()


def test_the_walk_would_find_what_is_wrong(live_server: Any, browser: Browser) -> None:
    fleet = a_fleet(2, with_work=False)
    cookies = session_of(signed_in(fleet.owner))
    walker = Walker(browser, live_server.url, cookies)
    page = walker.open("/tanks/", 820, "light")
    page.evaluate(
        "document.querySelector('main').insertAdjacentHTML('beforeend',"
        " '<img src=/static/none.png><p id=wide>wide</p>')"
    )
    page.wait_for_load_state("networkidle")
    walker.axe()
    page.evaluate("document.querySelector('#wide').classList.add('pale')")
    page.evaluate("document.querySelector('#wide').style.color = '#eee'")
    walker.axe()
    page.evaluate("document.querySelector('#wide').setAttribute('width', '1')")
    page.evaluate("document.querySelector('#wide').style.width = '2000px'")
    sideways = page.evaluate(SIDEWAYS)
    walker.open("/tanks/T9999/", 820, "light")
    walker.context.close()
    found = " ".join(walker.troubles)
    assert "image-alt" in found
    assert "color-contrast" in found
    assert "404" in found
    assert sideways
