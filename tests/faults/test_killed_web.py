"""Is everything there once, though the program that answers is killed again and again?

Three tablets send what they entered, over HTTP, to the real server in processes of its own; it is
killed with -9 at moments chosen by chance and started again. KILLS=100 makes a long run of it.
"""

from __future__ import annotations

import http.client
import json
import os
import random
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from tests.faults.program import Program, kill, program, until

pytestmark = pytest.mark.start

NOW = "2026-03-12T08:08"
KILLS = int(os.environ.get("KILLS", "5"))
SENDERS = 3
ENTRIES = max(200, 40 * KILLS)
A_BATCH = 7
OUTBOX = "/api/v1/outbox"
WITHIN_S = 120 + 40 * KILLS


@pytest.fixture
def gallery(tmp_path: Path) -> Iterator[Program]:
    with program(tmp_path) as made:
        yield made


class Web:
    """The server, which dies and comes back at the same address."""

    def __init__(self, gallery: Program) -> None:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.gallery = gallery
        self.child = self._start()

    def _start(self) -> Any:
        words = ["-m", "gunicorn", "gallery_ops.wsgi", "-b", f"127.0.0.1:{self.port}"]
        return self.gallery.start(*words, "-k", "gthread", "--threads", "4", clock=NOW)

    def answers(self) -> bool:
        """Whether it answers at all."""
        try:
            self.ask("GET", "/no-such-page/", "", {})
        except (OSError, http.client.HTTPException):
            return False
        return True

    def ask(self, how: str, path: str, body: str, headers: dict[str, str]) -> bytes:
        """One request on a line of its own; what was answered, when it was whole."""
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        with closing(line):
            line.request(how, path, body, headers)
            return line.getresponse().read()

    def die_and_come_back(self) -> None:
        kill(self.child)
        self.child = self._start()
        until(self.answers, self.gallery, "The server")


class Sender(threading.Thread):
    """A tablet that sends until each entry has its verdict; an answer that did not come is none."""

    def __init__(self, web: Web, told: dict[str, Any]) -> None:
        super().__init__(daemon=True)
        self.web, self.told = web, told
        self.waiting: list[Any] = list(told["actions"])
        self.failed = 0
        self.again = 0
        self.strange: list[Any] = []

    def run(self) -> None:
        end = time.monotonic() + WITHIN_S
        while self.waiting and time.monotonic() < end:
            batch = self.waiting[:A_BATCH]
            try:
                verdicts = self._send(batch)
            except (OSError, ValueError, KeyError, http.client.HTTPException):
                self.failed += 1
                time.sleep(0.2)
                continue
            said = {one["action_id"]: one["verdict"] for one in verdicts}
            self.again += sum(one == "duplicate" for one in said.values())
            self.strange += [v for v in said.values() if v not in {"accepted", "duplicate"}]
            self.waiting = [a for a in self.waiting if a["action_id"] not in said]

    def _send(self, batch: list[Any]) -> Any:
        body = {**self.told["envelope"], "actions": batch}
        headers = {"Content-Type": "application/json", "X-Gallery-Ops": "outbox"}
        headers["Cookie"] = self.told["cookie"]
        return json.loads(self.web.ask("POST", OUTBOX, json.dumps(body), headers))["verdicts"]


def test_two_hundred_entries_of_each_tablet_survive_every_kill(gallery: Program) -> None:
    said = gallery.run(
        "-m", "tests.faults.tablets", "prepare", str(SENDERS), str(ENTRIES), clock=NOW
    )
    told = json.loads(said.splitlines()[-1])
    web = Web(gallery)
    until(web.answers, gallery, "The server")
    senders = [Sender(web, each) for each in told]
    for sender in senders:
        sender.start()
    chance, kills = random.Random(KILLS), 0
    while kills < KILLS and any(sender.is_alive() for sender in senders):
        time.sleep(chance.uniform(0.1, 0.9))
        web.die_and_come_back()
        kills += 1
    for sender in senders:
        sender.join(WITHIN_S)
    failed, again = sum(s.failed for s in senders), sum(s.again for s in senders)
    print({"kills": kills, "entries": SENDERS * ENTRIES, "cut off": failed, "known": again})
    assert [len(sender.waiting) for sender in senders] == [0] * SENDERS, gallery.said()
    assert [sender.strange for sender in senders] == [[]] * SENDERS
    assert kills == KILLS
    assert failed > 0
    books = json.loads(
        gallery.run("-m", "tests.faults.tablets", "books", clock=NOW).splitlines()[-1]
    )
    entered = sorted(a["action_id"] for each in told for a in each["actions"])
    assert sorted(books["actions"]) == entered
    assert books["notes"] == sum(a["kind"] == "note" for e in told for a in e["actions"])
    doses = [a["body"]["given_ul"] for e in told for a in e["actions"] if a["kind"] == "dose"]
    assert books["doses"] == len(doses)
    assert books["moved_ul"] == -sum(doses)
