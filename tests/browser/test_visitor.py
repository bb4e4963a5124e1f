"""The visitor's page and the printed labels in a real browser: nothing serious for axe, no sideways
scroll, no cookie, nothing refused by the policy, and squares that read back as they are printed."""

from __future__ import annotations

import io
import re
import time
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import axe_playwright_python
import numpy as np
import pytest
from django.test import Client
from django.urls import reverse
from PIL import Image
from playwright.sync_api import Browser, Page

from gallery_ops.kernel import clock
from gallery_ops.overview.who import SHOWROOM_KEY
from gallery_ops.web.qr import LEAST_MM
from tanks.services.layouts import close_layout
from tests.builders.gallery import an_owner
from tests.gallery_ops.web.squares import read_back
from tests.gallery_ops.web.visitor_world import AT, TODAY, World, a_world

pytestmark = [pytest.mark.browser, pytest.mark.once, pytest.mark.django_db(transaction=True)]

AXE = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text("utf-8")
COLOURS = "runOnly: ['color-contrast', 'link-in-text-block']"
SIZES = {"narrow": (320, 640), "phone": (390, 844), "tablet": (820, 1180), "desktop": (1280, 900)}
MM_PER_PX = 25.4 / 96
HIDDEN_PX = """Math.max(
    ...[...document.querySelectorAll('.plate')].map(p => p.scrollHeight - p.clientHeight))"""


@pytest.fixture(autouse=True)
def at_09_14(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", TODAY.strftime("%Y-%m-%dT%H:%M"))
    monkeypatch.setattr(clock, "_started", time.monotonic())


def serious(page: Page, only: str = "") -> list[str]:
    """What axe finds serious or critical, by rule and place."""
    page.evaluate(AXE)
    asked = f"axe.run(document, {{resultTypes: ['violations'], {only}}})"
    found: dict[str, Any] = page.evaluate(asked)
    return [
        f"{rule['id']}: {node['target']}"
        for rule in found["violations"]
        if rule["impact"] in {"serious", "critical"}
        for node in rule["nodes"]
    ]


def look_at(browser: Browser, url: str, sizes: Iterable[str], scheme: str) -> list[str]:
    """Everything wrong with the page at that address; an empty list when it is as it should be.

    Made wider or narrower it is still the same page, and in the dark only its colours are others.
    """
    context = browser.new_context(color_scheme=scheme)  # type: ignore[arg-type]
    page = context.new_page()
    troubles: list[str] = []
    page.on("pageerror", lambda error: troubles.append(str(error)))
    page.on("console", lambda said: troubles.append(said.text) if said.type == "error" else None)
    page.goto(url)
    for size in sizes:
        wide, high = SIZES[size]
        page.set_viewport_size({"width": wide, "height": high})
        page.wait_for_load_state("networkidle")
        if page.evaluate("document.documentElement.scrollWidth > innerWidth"):
            troubles.append(f"scrolls sideways, {size}")
    broken = "[...document.images].filter(i => i.complete && !i.naturalWidth).map(i => i.src)"
    troubles += page.evaluate(broken)
    if context.cookies():
        troubles.append("sets a cookie")
    troubles = [t for t in troubles if "404 (Not Found)" not in t]  # an unknown code answers so
    found = [*troubles, *serious(page, COLOURS if scheme == "dark" else "")]
    context.close()
    return [f"{scheme}: {trouble}" for trouble in found]


def test_the_page_of_a_visitor_is_whole_in_every_size_and_light(
    live_server: Any, browser: Browser
) -> None:
    world = a_world()
    shown = live_server.url + reverse("public_tank", args=[world.code.code])
    found = [
        trouble
        for scheme in ("light", "dark")
        for trouble in look_at(browser, shown, SIZES, scheme)
    ]
    assert found == []


def test_an_empty_glass_and_an_unknown_code_are_whole_too(
    live_server: Any, browser: Browser
) -> None:
    world = a_world()
    close_layout(layout=world.layout, by=an_owner(world.tank.showroom), at=AT)
    empty = live_server.url + reverse("public_tank", args=[world.code.code])
    unknown = live_server.url + reverse("public_tank", args=["ABC"]) + "?lang=de"
    found = [
        trouble
        for url in (empty, unknown)
        for size, scheme in (("narrow", "light"), ("phone", "dark"))
        for trouble in look_at(browser, url, [size], scheme)
    ]
    assert found == []


def test_axe_would_find_a_serious_fault(live_server: Any, browser: Browser) -> None:
    world = a_world()
    page = browser.new_page()
    page.goto(live_server.url + reverse("public_tank", args=[world.code.code]))
    page.evaluate("document.querySelector('img').removeAttribute('alt')")
    found = serious(page)
    page.close()
    assert any(rule.startswith("image-alt") for rule in found)


@pytest.mark.parametrize("size", ["a6", "a5", "strip"])
def test_a_printed_square_reads_back_and_is_large_enough(
    live_server: Any, browser: Browser, size: str
) -> None:
    world = a_world()
    cookie = signed_in(world)
    context = browser.new_context(viewport={"width": 1000, "height": 1300})
    context.add_cookies([{"name": "sessionid", "value": cookie, "url": live_server.url}])
    page = context.new_page()
    page.goto(f"{live_server.url}{reverse('label_sheet')}?size={size}")
    assert serious(page) == []
    page.emulate_media(media="print")
    box = page.locator(".qr").bounding_box()
    picture = page.locator(".qr").screenshot()
    text = page.locator(".plate").inner_text()
    hidden = page.evaluate(HIDDEN_PX)
    pdf = page.pdf(prefer_css_page_size=True)
    context.close()
    pixels = np.asarray(Image.open(io.BytesIO(picture)).convert("L"))
    found, level = read_back(pixels)
    assert (found, level) == (f"{live_server.url}/v/{world.code.code}/", "Q")
    assert box is not None
    modules = 29 if len(found) <= 32 else 33  # versions 3 and 4 of ISO/IEC 18004
    assert box["width"] * MM_PER_PX * modules / (modules + 8) >= LEAST_MM - 0.1
    assert world.code.code[:4] + "-" + world.code.code[4:] in text
    assert hidden <= 1
    assert len(re.findall(rb"/Type\s*/Page\b", pdf)) == 1


def test_a_label_of_a_hundred_words_stays_inside_its_edges(
    live_server: Any, browser: Browser
) -> None:
    world = a_world()
    sentence = "The river has carried every stone of this wall down once before it stood here. "
    world.layout.story = sentence * 7 + "So it goes."
    world.layout.save()
    cookie = signed_in(world)
    context = browser.new_context(viewport={"width": 1000, "height": 1300})
    context.add_cookies([{"name": "sessionid", "value": cookie, "url": live_server.url}])
    page = context.new_page()
    for size in ("a6", "a5"):
        page.goto(f"{live_server.url}{reverse('label_sheet')}?size={size}")
        assert page.evaluate(HIDDEN_PX) <= 1, size
    context.close()


def signed_in(world: World) -> str:
    """The session of the owner."""
    client = Client()
    owner = an_owner(world.tank.showroom)
    client.force_login(owner.person, backend="django.contrib.auth.backends.ModelBackend")
    session = client.session
    session[SHOWROOM_KEY] = owner.showroom_id
    session.save()
    return str(client.cookies["sessionid"].value)
