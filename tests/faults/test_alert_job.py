"""Does every alert exist once, whatever happens to the worker and to its messages?

Real processes: the program's own worker and beat on the broker and database that this run of the
tests uses (file queue and SQLite, or Redis and PostgreSQL).
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.faults.program import Program, kill, program, until

pytestmark = pytest.mark.start

NOW = "2026-03-20T10:00"
LATER = "2026-03-20T10:15"  # a row counts as left behind ten minutes after it was taken


@pytest.fixture
def gallery(tmp_path: Path) -> Iterator[Program]:
    with program(tmp_path) as made:
        made.ask("prepare", clock=NOW)
        yield made


@pytest.mark.parametrize("place", ["inside", "after"])
def test_a_worker_killed_in_the_middle_of_the_alert_job(gallery: Program, place: str) -> None:
    gallery.ask("want", clock=NOW)
    halted = gallery.folder / "halted"
    worker = gallery.worker(
        clock=NOW, app="tests.faults.halting", HALT_IN=place, HALT_FILE=str(halted)
    )
    until(halted.exists, gallery, "The middle of the job")
    kill(worker)

    left = gallery.state(clock=NOW)
    assert len(left["wanted"]) > 5
    assert left["open"] == ([] if place == "inside" else left["wanted"])
    assert (left["taken"], left["waiting"]) == (1, 0)

    gallery.worker(clock=LATER)
    gallery.ask("knock", clock=LATER)
    until(
        lambda: (now := gallery.state(clock=LATER))["done"] > 0 and not now["taken"],
        gallery,
        "The end of the job",
    )
    after = gallery.state(clock=LATER)
    assert after["open"] == after["wanted"]
    assert after["closed"] == 0


def test_the_sweep_does_the_work_whose_messages_were_lost(gallery: Program) -> None:
    gallery.ask("want", clock=NOW)
    assert gallery.messages() > 0
    gallery.empty_broker()
    before = gallery.state(clock=NOW)
    assert (before["open"], before["waiting"]) == ([], 1)

    gallery.worker(clock=NOW)
    gallery.beat(clock=NOW)
    until(lambda: gallery.state(clock=NOW)["done"] > 0, gallery, "The sweep")
    after = gallery.state(clock=NOW)
    assert after["open"] == after["wanted"]
    assert len(after["open"]) > 5


def test_two_processes_run_the_job_again_and_again_at_once(gallery: Program) -> None:
    go = gallery.folder / "go"
    words = ["-m", "tests.faults.gallery", "review", str(go)]
    pair = [gallery.start(*words, clock=NOW) for _ in range(2)]
    logs = [gallery.folder / f"{n}.log" for n in range(len(gallery.running))][-2:]
    until(lambda: all("ready" in log.read_text() for log in logs), gallery, "Both processes")
    go.touch()
    assert [child.wait(60) for child in pair] == [0, 0], gallery.said()
    after = gallery.state(clock=NOW)
    assert after["open"] == after["wanted"]
    assert len(after["open"]) > 5
    assert after["closed"] == 0
