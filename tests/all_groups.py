"""Which tests run where, and how does one see at a glance what happened? Standard library only.

Groups: all pytest on SQLite, all pytest on PostgreSQL and Redis, node's runner, the browser. A
group whose programs are missing is named loudly with the line that gets them; with CI=true that
is a failure. Every group runs, also after a failed one.

The groups run side by side, since each waits a good deal: for processes, servers, animations. The
output is in their order all the same (see side_by_side.py).
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
import xml.etree.ElementTree as ElementTree
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

HERE = Path(__file__).resolve().parent
HOUSE = HERE.parent
sys.path[:0] = [str(HERE), str(HOUSE / "deploy")]

import environment  # noqa: E402 - found by the path set above
import servers  # noqa: E402
from side_by_side import SideBySide  # noqa: E402

VENV = HOUSE / ".venv-tests"
LISTS = [HOUSE / "requirements.txt", HERE / "requirements.txt"]
IN_CI = os.environ.get("CI", "").lower() in {"1", "true", "yes"}
END_WITHIN_S = 10.0
LIMIT_S = 40 * 60  # a group that hangs is ended; long runs have no limit
NO_TESTS = 5  # pytest's exit code
SERVERS = ("postgresql", "redis-server")
BROWSERS = ("chromium", "chromium-browser", "google-chrome")

# What a group needs: the Debian package and how to see that its programs are there.
PACKAGES: dict[str, Callable[[], bool]] = {
    "postgresql": lambda: servers.postgres_program("initdb") is not None,
    "redis-server": lambda: shutil.which("redis-server") is not None,
    "nodejs": lambda: shutil.which("node") is not None,
    "chromium": lambda: any(shutil.which(name) for name in BROWSERS),
    "libnss3-tools": lambda: shutil.which("certutil") is not None,
}
QUICKER = "chromium-headless-shell"  # got beside the others where apt knows it; none needs it


@dataclass
class Group:
    name: str
    packages: tuple[str, ...]
    run: Callable[[Path], int]  # gets the file to write into
    outcome: str = "not run"
    counts: Counter[str] = field(default_factory=Counter)
    seconds: float = 0.0
    failed: bool = False


def say(line: str = "") -> None:
    print(line, flush=True)


def write(words: Path, line: str) -> None:
    """Add a line to what a group says."""
    with words.open("a", encoding="utf-8") as out:
        out.write(line + "\n")


def missing(packages: tuple[str, ...]) -> list[str]:
    return [name for name in packages if not PACKAGES[name]()]


def get_packages() -> None:
    """As root, install what is missing with apt; otherwise the groups will say what they lack."""
    wanted = missing(tuple(PACKAGES))
    if not wanted or os.getuid() != 0 or not shutil.which("apt-get"):
        return
    say(f"Installing {' '.join(wanted)} with apt-get ...")

    def apt(*words: str) -> subprocess.CompletedProcess[str]:
        quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
        return subprocess.run(
            words, env=quiet, stdin=subprocess.DEVNULL, capture_output=True, text=True
        )

    updated = apt("apt-get", "update", "-q")
    quicker = [QUICKER] if apt("apt-cache", "show", QUICKER).returncode == 0 else []
    names = [*wanted, *quicker]
    installed = apt("apt-get", "install", "-y", "-q", "--no-install-recommends", *names)
    for done in (updated, installed):
        if done.returncode:
            said = (done.stdout + done.stderr)[-800:]
            say(f"  {' '.join(done.args[:2])} failed:\n{said}")


def split_marker(arguments: list[str]) -> tuple[list[str], str]:
    """Take `-m EXPRESSION` out of pytest arguments, so that it can be joined with a group's."""
    rest, marker = [], ""
    words = iter(arguments)
    for word in words:
        if word == "-m":
            marker = next(words, "")
        elif word.startswith("-m") and not word.startswith("--"):
            marker = word[2:].lstrip("=")
        else:
            rest.append(word)
    return rest, marker


class Runner:
    """Runs the groups with the same arguments and keeps their counts."""

    def __init__(self, python: Path, arguments: list[str]) -> None:
        self.python = python
        self.long = "--long" in arguments
        given = [word for word in arguments if word != "--long"]
        self.given, self.marker = split_marker(given)
        self.selected = bool(given)
        self.reports = Path(tempfile.mkdtemp(prefix="gallery-ops-reports-"))
        self.children: list[subprocess.Popen[bytes]] = []
        self.kept = {"TESTS_KEPT_IN": str(self.reports)}  # see tests/faults/program.py

    def pytest(
        self, report: str, marker: str, more: list[str], words: Path, **settings: str
    ) -> int:
        joined = f"({marker}) and ({self.marker})" if self.marker else marker
        # A browser's own clock does not wait for the other groups, so they stand back.
        command = [] if report == "browser" else ["nice", "-n", "5"]
        command += [str(self.python), "-m", "pytest", "-q", "-p", "no:schemathesis"]
        command += ["-m", joined, f"--junitxml={self.reports / report}.xml", "--durations=5"]
        command += [f"--color={'yes' if sys.stdout.isatty() and not IN_CI else 'no'}"]
        command += [*(["--long"] if self.long else []), *self.given, *more]
        clean = {k: v for k, v in os.environ.items() if k not in {"DATABASE_URL", "REDIS_URL"}}
        return self.call(command, {**clean, **self.kept, **settings}, words)

    def call(self, command: list[str], settings: dict[str, str], words: Path) -> int:
        with words.open("ab") as out:
            child = subprocess.Popen(
                command,
                cwd=HOUSE,
                env=settings,
                stdin=subprocess.DEVNULL,
                stdout=out,
                stderr=out,
                start_new_session=True,
            )
        self.children.append(child)
        try:
            return child.wait(None if self.long else LIMIT_S)
        except subprocess.TimeoutExpired:
            write(words, f"Ended after {LIMIT_S // 60} minutes without an end of its own.")
            self.end(child)
            return 124

    def end(self, child: subprocess.Popen[bytes]) -> None:
        """End a child and what it started: first so that tests can end what is theirs."""
        for how in (signal.SIGINT, signal.SIGKILL):
            if child.poll() is None:
                os.killpg(child.pid, how)
                with suppress(subprocess.TimeoutExpired):
                    child.wait(END_WITHIN_S)

    def end_all(self) -> None:
        """When the run is broken off."""
        for child in self.children:
            self.end(child)

    def spread(self) -> list[str]:
        """A file stays with one process. A chosen few tests run faster in one.

        Three groups run at once, and half of a browser's time is waiting: on two cores each gets
        two processes.
        """
        each = max(2, (os.cpu_count() or 2) // 2)
        shared = ["-n", str(each), "--dist", "loadfile", "--no-loadscope-reorder"]
        return [] if self.selected else shared

    def sqlite(self, words: Path) -> int:
        left = "" if missing(SERVERS) else " and not second"
        return self.pytest("sqlite", f"not browser{left}", self.spread(), words)

    def postgres(self, words: Path) -> int:
        try:
            with servers.private_servers() as addresses:
                return self.pytest(
                    "postgres", "not browser and not once", self.spread(), words, **addresses
                )
        except servers.NoServer as trouble:
            write(words, str(trouble))
            return 1

    def browser(self, words: Path) -> int:
        folder = HERE / "browser"
        if not folder.is_dir():
            return NO_TESTS
        more = [] if self.selected else [str(folder), *self.spread()]
        return self.pytest("browser", "browser", more, words)

    def node(self, words: Path) -> int:
        files = sorted(str(path) for path in (HERE / "js").glob("*.test.mjs"))
        if self.selected or not files:
            return NO_TESTS
        report = self.reports / "node.xml"
        command = ["node", "--test", "--test-reporter=spec", "--test-reporter-destination=stdout"]
        command += ["--test-reporter=junit", f"--test-reporter-destination={report}", *files]
        return self.call(command, dict(os.environ), words)

    def counts(self, report: str) -> Counter[str]:
        """Passed, failed and skipped of a group, from the report that the runner wrote."""
        path = self.reports / f"{report}.xml"
        counts: Counter[str] = Counter()
        if not path.exists():
            return counts
        for case in ElementTree.parse(path).iter("testcase"):  # noqa: S314 - our own file
            kinds = {child.tag for child in case}
            bad, left = kinds & {"failure", "error"}, "skipped" in kinds
            counts["failed" if bad else "skipped" if left else "passed"] += 1
        return counts


def run_group(group: Group, runner: Runner, report: str, words: Path) -> None:
    write(words, f"\n=== {group.name} ===")
    lacking = missing(group.packages)
    if lacking:
        group.outcome = f"COULD NOT RUN. Get what it needs: apt-get install -y {' '.join(lacking)}"
        group.failed = IN_CI
        write(words, group.outcome)
        return
    began = time.monotonic()
    code = group.run(words)
    group.seconds = time.monotonic() - began
    group.counts = runner.counts(report)
    if code == NO_TESTS:
        nothing_wanted = runner.selected or report in {"node", "browser"}
        group.outcome, group.failed = "no test selected", not nothing_wanted
    else:
        group.outcome, group.failed = ("passed", False) if code == 0 else (f"FAILED ({code})", True)
    write(words, f"{group.name}: {group.outcome}, {group.seconds:.0f} s")


def summary(groups: list[Group], began: float) -> int:
    total: Counter[str] = Counter()
    say("\n=== Summary ===")
    for group in groups:
        total += group.counts
        numbers = ", ".join(
            f"{group.counts[kind]} {kind}"
            for kind in ("passed", "failed", "skipped")
            if group.counts[kind] or (kind != "skipped" and group.counts)
        )
        say(f"{group.name:<24} {group.outcome}  {numbers}  {group.seconds:.0f} s")
    for group in groups:
        if group.outcome.startswith("COULD NOT RUN"):
            say(f"!!! {group.name} was not tested. {group.outcome}")
    say(f"Everything together took {time.monotonic() - began:.0f} s.")
    skipped = f", {total['skipped']} skipped" if total["skipped"] else ""
    say(f"{total['passed']} passed, {total['failed']} failed{skipped}")
    nothing = not total["passed"] and not total["failed"]
    if nothing:
        say("No test ran: check the pytest arguments.")
    return 1 if nothing or any(group.failed for group in groups) else 0


def main(arguments: list[str]) -> int:
    began = time.monotonic()
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
    # Hundreds of processes load the same files: read once, a file is kept as bytecode.
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    try:
        if arguments == ["--prepare"]:
            environment.make(VENV, LISTS, say, compiled=False)
            return 0
        return run_all(arguments, began)
    except environment.Trouble as trouble:
        print(f"tests/run: {trouble}", file=sys.stderr)
        return 1


def run_all(arguments: list[str], began: float) -> int:
    """Get what is needed and run every group. What needs no Python package begins before those."""
    runner = Runner(environment.python_of(VENV), arguments)
    groups = {
        "node": Group("JavaScript modules", ("nodejs",), runner.node),
        "sqlite": Group("SQLite", (), runner.sqlite),
        "postgres": Group("PostgreSQL and Redis", SERVERS, runner.postgres),
        "browser": Group("Browser", ("chromium", "libnss3-tools"), runner.browser),
    }
    beside, programs = SideBySide(runner.reports), threading.Event()

    def programs_and_node(words: Path) -> None:
        try:
            get_packages()
        finally:
            programs.set()
        run_group(groups["node"], runner, "node", words)

    try:
        beside.start("node", programs_and_node)
        environment.make(VENV, LISTS, say, compiled=False)
        programs.wait()
        for report in ("sqlite", "postgres", "browser"):
            beside.start(report, partial(run_group, groups[report], runner, report))
        beside.show()
        return summary(list(groups.values()), began)
    finally:
        runner.end_all()
        beside.wait()
        shutil.rmtree(runner.reports, ignore_errors=True)


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit(130)
