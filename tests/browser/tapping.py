"""A thumb on the round: taps, waits, reads."""

from __future__ import annotations

from collections.abc import Callable

from playwright.sync_api import Page, expect

TABLET = {"width": 820, "height": 1180}
SETTLED_MS = 900
"""Longer than the pause before the next stop opens, and the quiet after it."""
WITHIN_MS = 30_000
"""How long something may take that must come, beside all the other tests."""
TRIES = 30
Open = Callable[..., Page]


def tap(page: Page, key: str) -> None:
    page.locator(f'[data-key="{key}"]').tap()
    page.wait_for_timeout(SETTLED_MS)


def stands_at(page: Page, code: str) -> None:
    """Until this stop is open, and takes taps."""
    expect(page.locator(".stop-title .num")).to_have_text(code)
    page.wait_for_timeout(SETTLED_MS)


def sent(page: Page) -> None:
    expect(page.locator('[data-key="outbox"]')).to_contain_text("All sent", timeout=WITHIN_MS)


def ready(page: Page) -> None:
    page.wait_for_selector("html[data-ready='1']", state="attached")
    page.wait_for_timeout(SETTLED_MS)


def until(page: Page, question: str) -> None:
    """Asks from outside: inside, asking again needs `eval`, which the policy of our pages bars."""
    for _ in range(TRIES):
        if page.evaluate(question):
            return
        page.wait_for_timeout(SETTLED_MS)
    message = f"never true: {question}"
    raise AssertionError(message)
