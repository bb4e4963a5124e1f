"""A thumb on the round: taps, waits, reads.

Nothing here waits for a time. The page says on its root while an entry is being kept, the next stop
is due, or what lies under the thumb has just changed (`data-moving`); and the browser counts for us
which taps came to the page, since a tap is there later than the touch that makes it.
"""

from __future__ import annotations

import time
from collections.abc import Callable

from playwright.sync_api import BrowserContext, Locator, Page, expect

TABLET = {"width": 820, "height": 1180}
WITHIN_MS = 60_000
"""How long something may take that must come, beside all the other tests."""
CALM = "html:not([data-moving])"
HEARD = """addEventListener("click", () => {
    document.documentElement.setAttribute("data-heard", "");
}, true)"""
NOTHING_WAITS = """indexedDB.databases().then((all) => {
    const name = all.map((one) => one.name).find((one) => one.startsWith("outbox "));
    return name === undefined || new Promise((done) => {
        const asked = indexedDB.open(name);
        asked.onsuccess = () => {
            const entries = asked.result.transaction("entries").objectStore("entries");
            const counted = entries.index("waits").count();
            counted.onsuccess = () => { asked.result.close(); done(counted.result === 0); };
        };
    });
})"""
"""Asked of the tablet's own database: what the page says of it may be a moment old."""
Open = Callable[..., Page]


def listen_for_taps(context: BrowserContext) -> None:
    """To be called before the first page opens: `tap` waits for what this notes."""
    context.set_default_timeout(WITHIN_MS)
    context.add_init_script(HEARD)


def tap(page: Page, what: str | Locator) -> None:
    """Tap when the page takes taps, and wait until it has done what the tap asked for.

    what : a `data-key`, or the thing itself.
    """
    calm(page)
    page.evaluate("document.documentElement.removeAttribute('data-heard')")
    thing = page.locator(f'[data-key="{what}"]') if isinstance(what, str) else what
    thing.tap()
    page.wait_for_selector(f"{CALM}[data-heard]", state="attached")


def tap_button(page: Page, name: str) -> None:
    """As a hand does it that reads what stands on the button."""
    tap(page, page.get_by_role("button", name=name))


def calm(page: Page) -> None:
    """Until nothing is being kept and nothing moves under the thumb."""
    page.wait_for_selector(CALM, state="attached")


def stands_at(page: Page, code: str) -> None:
    """Until this stop is open, and takes taps."""
    expect(page.locator(".stop-title .num")).to_have_text(code)
    calm(page)


def sent(page: Page) -> None:
    """Until the gallery has everything that was entered, and the page says so."""
    until(page, NOTHING_WAITS)
    expect(page.locator('[data-key="outbox"]')).to_contain_text("All sent")


def ready(page: Page) -> None:
    """Until the round stands there and takes taps."""
    page.wait_for_selector(f"{CALM}[data-ready='1']", state="attached")


def until(page: Page, question: str) -> None:
    """Asks from outside: inside, asking again needs `eval`, which the policy of our pages bars."""
    end = time.monotonic() + WITHIN_MS / 1000
    while not page.evaluate(question):
        assert time.monotonic() < end, f"never true: {question}"
        page.wait_for_timeout(100)
