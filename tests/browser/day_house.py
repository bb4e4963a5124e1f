"""The program on a data folder, reached by https as in a house, and a browser that trusts it."""

from __future__ import annotations

import json
import shutil
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page, Playwright

from tests.browser.conftest import QUIETLY
from tests.browser.tapping import listen_for_taps
from tests.browser.trusting import NAME, NAMES_LEAD_HERE, home_that_trusts
from tests.browser.whole_gallery import free_port, wait_for, web_command
from tests.faults.program import Program, kill, program

NAMES = ("chromium", "chromium-browser", "google-chrome")
MORNING = datetime(2026, 3, 12, 7, 40, tzinfo=UTC)
TABLET = {"width": 820, "height": 1180}
NO_NETWORK = {
    f"Failed to load resource: net::{why}" for why in ("ERR_CONNECTION_REFUSED", "ERR_FAILED")
}
"""What a browser says of itself while nobody answers; the second where a worker asked."""


class House:
    """The running program, its moved clock and what went wrong on its pages."""

    def __init__(self, running: Program) -> None:
        self.program, self.began = running, time.monotonic()
        self.port = free_port()
        self.address = f"https://{NAME}:{self.port}"
        self.certificate = running.data / "certificate" / NAME
        self.web: subprocess.Popen[bytes] | None = None
        self.was_closed = False
        self.troubles: list[str] = []

    def now(self) -> datetime:
        return MORNING + timedelta(seconds=time.monotonic() - self.began)

    def clock(self, ahead_s: int = 0) -> str:
        return (self.now() + timedelta(seconds=ahead_s)).isoformat(timespec="seconds")

    def open_doors(self) -> None:
        """Web, worker and beat.

        A moved clock counts from the start of its process. The one of the worker is put ahead, so
        that it never judges a moment before what the web has written.
        """
        self.open_web()
        self.program.worker(clock=self.clock(ahead_s=8))
        self.program.beat(clock=self.clock(ahead_s=8))

    def open_web(self) -> None:
        """Again at the same address after `close_web`."""
        words = web_command(self.port, self.certificate / "server.pem")
        settings = {"LAN_URL": self.address, "HOSTS": NAME, "CERTIFICATE": str(self.certificate)}
        told = {f"GALLERY_OPS_{name}": value for name, value in settings.items()}
        self.web = self.program.start(*words, clock=self.clock(), **told)
        wait_for(self.port)

    def close_web(self) -> None:
        """For a tablet the network is gone."""
        assert self.web is not None
        kill(self.web)
        self.web, self.was_closed = None, True

    def told(self, deed: str, *more: str) -> dict[str, Any]:
        words = ("-m", "tests.browser.whole_gallery", deed, *more)
        found: dict[str, Any] = json.loads(
            self.program.run(*words, clock=self.clock()).splitlines()[-1]
        )
        return found

    def page(self, browser: Browser) -> Page:
        """A device of its own, with its clock set."""
        context = browser.new_context(
            viewport=TABLET,  # type: ignore[arg-type]
            has_touch=True,
            timezone_id="Europe/London",
            locale="en-GB",
        )
        context.clock.install(time=self.now())
        listen_for_taps(context)
        page = context.new_page()
        page.on("pageerror", lambda error: self.troubles.append(str(error)))
        page.on("console", self._listen)
        page.on("response", self._answered)
        return page

    def _listen(self, said: Any) -> None:
        gone = self.was_closed and said.text in NO_NETWORK  # told late, it may be back by then
        if said.type == "error" and not gone:
            self.troubles.append(said.text)

    def _answered(self, answer: Any) -> None:
        if answer.status >= 400:
            self.troubles.append(f"{answer.status} {answer.url}")


@contextmanager
def a_house(folder: Path) -> Iterator[House]:
    with program(folder) as running:
        house = House(running)
        running.run(
            "manage.py", "collectstatic", "--noinput", "-v0", "--skip-checks", clock=house.clock()
        )
        words = ("-m", "gallery_ops.certificate", NAME, "--data", str(running.data))
        running.run(*words, clock=house.clock())
        try:
            yield house
        except Exception as failed:
            failed.add_note("\n".join(["On its pages:", *house.troubles]))
            raise


@contextmanager
def a_browser(house: House, play: Playwright) -> Iterator[Browser]:
    path = next((found for name in NAMES if (found := shutil.which(name))), None)
    home = house.program.folder / "home"
    running = play.chromium.launch(
        executable_path=path,
        args=[*QUIETLY, NAMES_LEAD_HERE],
        env=home_that_trusts(home, house.certificate / "authority.crt"),  # type: ignore[arg-type]
    )
    yield running
    running.close()
