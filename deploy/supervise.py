"""Who keeps web, worker and beat alive, and who stops them? One parent, standard library only.

Prefixes the children's output, starts again what dies and says so, stops everything on Ctrl-C or
TERM. Each child has its own process group and gets TERM when the parent dies, even by kill -9.
A child that dies six times within a minute stops the whole thing with its last lines.
"""

from __future__ import annotations

import contextlib
import ctypes
import os
import signal
import subprocess
import sys
import threading
import time
from collections import deque
from collections.abc import Callable, Mapping

GRACE_S = 8.0  # between TERM and KILL; the worker's warm stop was measured at 4 to 6 s
LIVES = 6
LOOP_S = 60.0
PR_SET_PDEATHSIG = 1
_libc = ctypes.CDLL(None)
_output = threading.Lock()


def say(name: str, line: str) -> None:
    # When nobody reads any more, the gallery goes on all the same.
    with _output, contextlib.suppress(BrokenPipeError, ValueError):
        sys.stdout.write(f"{name:>7} | {line.rstrip()}\n")
        sys.stdout.flush()


class Child:
    """One program that shall run; `start` gives it a new life."""

    def __init__(self, name: str, argv: list[str], environment: Mapping[str, str]) -> None:
        self.name, self.argv, self.environment = name, argv, dict(environment)
        self.births: deque[float] = deque(maxlen=LIVES)
        self.tail: deque[str] = deque(maxlen=15)
        self.again_at = 0.0
        self.start()

    def start(self) -> None:
        parent = os.getpid()

        def before_exec() -> None:
            os.setsid()  # Ctrl-C in the terminal then reaches the parent only
            _libc.prctl(PR_SET_PDEATHSIG, signal.SIGTERM)
            if os.getppid() != parent:  # the parent died in between
                os._exit(1)

        self.births.append(time.monotonic())
        self.again_at = 0.0
        self.process = subprocess.Popen(
            self.argv,
            env=self.environment,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            errors="replace",
            preexec_fn=before_exec,
        )
        threading.Thread(target=self._pump, args=(self.process,), daemon=True).start()

    def _pump(self, process: subprocess.Popen[str]) -> None:
        assert process.stdout is not None
        for line in process.stdout:
            self.tail.append(line)
            say(self.name, line)

    def is_running(self) -> bool:
        return self.process.poll() is None

    def signal_group(self, number: int) -> None:
        with contextlib.suppress(ProcessLookupError, PermissionError):
            os.killpg(self.process.pid, number)

    def dies_in_a_loop(self) -> bool:
        return len(self.births) == LIVES and self.births[-1] - self.births[0] < LOOP_S

    def pause_s(self) -> float:
        """How long to wait before the next life: longer the more it died lately [s]."""
        lately = sum(time.monotonic() - birth < LOOP_S for birth in self.births)
        return min(0.25 * 2 ** (lately - 1), 4.0)


def _look_after(child: Child) -> bool:
    """Start a dead child again when its pause is over; False when it dies in a loop."""
    if child.is_running():
        return True
    if child.again_at:
        if time.monotonic() >= child.again_at:
            child.start()
        return True
    child.signal_group(signal.SIGKILL)  # what it left behind
    if child.dies_in_a_loop():
        say("start", f"{child.name} died {LIVES} times within a minute; giving up.")
        say("start", "Its last lines were:")
        for line in child.tail:
            say(child.name, line)
        return False
    say("start", f"{child.name} stopped ({_how(child.process.returncode)}); starting it again.")
    child.again_at = time.monotonic() + child.pause_s()
    return True


def _how(code: int) -> str:
    return f"signal {-code}" if code < 0 else f"code {code}"


def _stop_all(children: list[Child]) -> None:
    for child in children:
        if child.is_running():  # only the leader: it stops its own children in good order
            child.process.send_signal(signal.SIGTERM)
    end = time.monotonic() + GRACE_S
    for child in children:
        try:
            child.process.wait(max(0.05, end - time.monotonic()))
        except subprocess.TimeoutExpired:
            say("start", f"{child.name} did not stop within {GRACE_S:.0f} s and was ended.")
        child.signal_group(signal.SIGKILL)
        child.process.wait()


def run(
    commands: Mapping[str, list[str]],
    environment: Mapping[str, str],
    when_started: Callable[[threading.Event], None] | None = None,
) -> int:
    """Run `commands` until Ctrl-C, TERM or HUP; gives the exit code.

    `when_started` runs beside, in a thread of its own, and gets the event that is set at the end.
    """
    stop = threading.Event()
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, lambda *_: stop.set())
    children = [Child(name, argv, environment) for name, argv in commands.items()]
    if when_started:
        threading.Thread(target=when_started, args=(stop,), daemon=True).start()
    code = 0
    while not stop.wait(0.2):
        in_order = [_look_after(child) for child in children]  # each is looked after
        if not all(in_order):
            code = 1
            break
    say("start", "Stopping ...")
    stop.set()
    _stop_all(children)
    say("start", "All stopped.")
    return code


if __name__ == "__main__":
    import shlex

    # For trying it out: supervise.py name='command with words' ...
    pairs = dict(argument.split("=", 1) for argument in sys.argv[1:])
    sys.exit(run({name: shlex.split(text) for name, text in pairs.items()}, os.environ))
