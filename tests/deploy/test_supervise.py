"""Does the supervisor restart what dies, stop everything, and leave nothing behind?"""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

pytestmark = pytest.mark.once

SUPERVISE = Path(__file__).resolve().parents[2] / "deploy" / "supervise.py"
# Names itself, has a child of its own that would outlive it, and ticks.
TICKING = """
import os, subprocess, sys, time
inner = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(300)"])
print("born", os.getpid(), inner.pid, flush=True)
while True:
    time.sleep(0.1)
"""
DEAF = """
import signal, time
signal.signal(signal.SIGTERM, signal.SIG_IGN)
print("born", flush=True)
time.sleep(300)
"""
BROKEN = "import sys; print('cannot find my glasses', flush=True); sys.exit(3)"


class Supervised:
    """A running supervisor and what it printed."""

    def __init__(self, folder: Path, **programs: str) -> None:
        self.log = folder / "supervisor.log"
        words = []
        for name, text in programs.items():
            (folder / f"{name}.py").write_text(text)
            words.append(f"{name}={sys.executable} {folder}/{name}.py")
        with self.log.open("wb") as out:
            self.process = subprocess.Popen(
                [sys.executable, str(SUPERVISE), *words], stdout=out, stderr=out
            )

    def text(self) -> str:
        return self.log.read_text()

    def wait_for(self, seen: Callable[[str], bool], within_s: float = 10) -> str:
        end = time.monotonic() + within_s
        while time.monotonic() < end:
            if seen(self.text()):
                return self.text()
            time.sleep(0.05)
        raise AssertionError(f"not seen within {within_s} s:\n{self.text()}")

    def pids(self) -> list[int]:
        """Every process that ever said it was born."""
        lines = [line.split("born")[1] for line in self.text().splitlines() if "born" in line]
        return [int(word) for line in lines for word in line.split()]


def is_alive(pid: int) -> bool:
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0]
    except OSError:
        return False
    return state != "Z"


def all_gone(pids: list[int], within_s: float = 5) -> bool:
    end = time.monotonic() + within_s
    while any(map(is_alive, pids)) and time.monotonic() < end:
        time.sleep(0.05)
    return not any(map(is_alive, pids))


@pytest.fixture
def supervised(tmp_path: Path) -> Iterator[Callable[..., Supervised]]:
    made: list[Supervised] = []

    def begin(**programs: str) -> Supervised:
        made.append(Supervised(tmp_path, **programs))
        return made[-1]

    yield begin
    for each in made:
        each.process.kill()
        each.process.wait()
        for pid in filter(is_alive, each.pids()):
            os.kill(pid, signal.SIGKILL)


def test_a_killed_child_is_started_again_and_said_so(
    supervised: Callable[..., Supervised],
) -> None:
    running = supervised(worker=TICKING)
    running.wait_for(lambda text: text.count("born") == 1)
    first, inner = running.pids()
    os.kill(first, signal.SIGKILL)
    said = running.wait_for(lambda text: text.count("born") == 2)
    assert "worker stopped (signal 9); starting it again." in said
    assert all_gone([first, inner])


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT, signal.SIGHUP])
def test_a_stop_leaves_nothing(
    supervised: Callable[..., Supervised], number: signal.Signals
) -> None:
    running = supervised(web=TICKING, worker=TICKING)
    running.wait_for(lambda text: text.count("born") == 2)
    began = time.monotonic()
    running.process.send_signal(number)
    assert running.process.wait(10) == 0
    assert time.monotonic() - began < 10
    assert "All stopped." in running.text()
    assert all_gone(running.pids(), within_s=1)


def test_a_deaf_child_is_ended_within_ten_seconds(
    supervised: Callable[..., Supervised],
) -> None:
    running = supervised(worker=DEAF)
    running.wait_for(lambda text: "born" in text)
    began = time.monotonic()
    running.process.terminate()
    assert running.process.wait(12) == 0
    assert time.monotonic() - began < 10
    assert "worker did not stop within 8 s and was ended." in running.text()


def test_children_die_with_a_killed_parent(supervised: Callable[..., Supervised]) -> None:
    running = supervised(web=TICKING)
    running.wait_for(lambda text: "born" in text)
    leader = running.pids()[0]
    running.process.kill()
    assert all_gone([leader])


def test_a_child_that_dies_at_every_start_ends_all_with_its_last_lines(
    supervised: Callable[..., Supervised],
) -> None:
    running = supervised(beat=BROKEN, web=TICKING)
    assert running.process.wait(40) == 1
    said = running.text()
    assert said.count("beat stopped (code 3); starting it again.") == 5
    assert "beat died 6 times within a minute; giving up." in said
    assert said.rindex("cannot find my glasses") > said.index("Its last lines were:")
    assert all_gone(running.pids(), within_s=1)
