"""A browser, a gallery of one round, and a tablet that opens it.

One browser serves all tests of a process, each in a context of its own: to start one costs seconds.
Where Debian's build without a window is there, it is that one: the same engine, a fifth less work.
A test that kills its browser, or gives it a home, starts the whole one by `play`.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, Playwright, Route, expect, sync_playwright

from tests.browser.round_house import RoundHouse
from tests.browser.tapping import TABLET, WITHIN_MS, Open, listen_for_taps, ready

NAMES = ("chromium", "chromium-browser", "google-chrome")
WITHOUT_WINDOW = "chromium-headless-shell"
QUIETLY = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
)
"""Nothing here is drawn by a graphics card, and nothing is looked for outside."""
expect.set_options(timeout=WITHIN_MS)


@pytest.fixture(scope="session")
def play() -> Iterator[Playwright]:
    """The driver keeps an event loop on this thread, beside which Django would refuse its database.

    Tests ask the one and the other in turn, never at once.
    """
    with pytest.MonkeyPatch.context() as patch, sync_playwright() as playing:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "1")
        yield playing


@pytest.fixture(scope="session")
def browser(play: Playwright) -> Iterator[Browser]:
    path = shutil.which(WITHOUT_WINDOW) or program()
    running = play.chromium.launch(executable_path=path, args=[*QUIETLY])
    yield running
    running.close()


def program() -> str | None:
    return next((found for name in NAMES if (found := shutil.which(name))), None)


@pytest.fixture
def house() -> Iterator[RoundHouse]:
    standing = RoundHouse()
    yield standing
    standing.close()
    assert standing.wrong == []


@pytest.fixture
def opened(browser: Browser, house: RoundHouse) -> Iterator[Open]:
    """Opens the round on a tablet; at the end no error may stand in the console."""
    troubles: list[str] = []
    contexts = []

    def open_at(code: str = "", *, expected: tuple[str, ...] = (), store: str = "") -> Page:
        context = browser.new_context(viewport=TABLET, has_touch=True, timezone_id="Europe/London")  # type: ignore[arg-type]
        contexts.append(context)
        listen_for_taps(context)
        page = context.new_page()
        page.clock.install(time="2026-03-12T07:58:00")
        page.on("pageerror", lambda error: troubles.append(str(error)))
        page.on("console", lambda said: _note(troubles, said.type, said.text, expected))
        if store:
            page.route("**/outbox/tablet_store.js", lambda route: _broken(route, store))
        page.goto(f"{house.address}/round/{'#' + code if code else ''}")
        ready(page)
        return page

    yield open_at
    for context in contexts:
        context.close()
    assert troubles == []


def _note(troubles: list[str], kind: str, text: str, expected: tuple[str, ...]) -> None:
    if kind == "error" and "favicon" not in text and not any(e in text for e in expected):
        troubles.append(text)


def _broken(route: Route, body: str) -> None:
    answer = route.fetch()
    route.fulfill(
        response=answer,
        body=answer.text().replace("async append(envelopes, pictures = []) {", body),
    )
