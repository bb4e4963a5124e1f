"""Which tests run where, and how does one see at a glance what happened? Standard library only.

Groups: all pytest on SQLite, pytest on PostgreSQL and Redis, node's runner, the browser. A
group whose programs are missing is named loudly with the line that gets them; with CI=true that
is a failure. Every group runs, also after a failed one.

The groups run side by side, since each waits a good deal: for processes, servers, animations. The
output is in their order all the same (see side_by_side.py). PostgreSQL first runs the tests that
ask it anything new (see second_database.py), and the others at the end, where there is time.
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

import asked  # noqa: E402 - found by the path set above
import environment  # noqa: E402
import servers  # noqa: E402
from programs import SERVERS, get_packages, missing  # noqa: E402
from side_by_side import SideBySide  # noqa: E402

VENV = HOUSE / ".venv-tests"
LISTS = [HOUSE / "requirements.txt", HERE / "requirements.txt"]
IN_CI = os.environ.get("CI", "").lower() in {"1", "true", "yes"}
END_WITHIN_S = 10.0
LIMIT_S = 40 * 60  # a group that hangs is ended; long runs have no limit
REST_UNTIL_S = 560.0
"""Begun by then, the rest on PostgreSQL ends within twelve minutes: it takes some quarter of what
went before (139 s after 528 s), on a fast machine as on a slow one."""
NO_TESTS = 5  # pytest's exit code


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
        self.long, self.both = "--long" in arguments, "--both" in arguments
        given = [word for word in arguments if word not in {"--long", "--both"}]
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
        command += ["--both"] if self.both or self.selected else []
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

    def read_ahead(self) -> None:
        """Let two processes read the test files of a fresh clone, half of them each.

        pytest writes its asserts into them and keeps the outcome. Else the processes of all groups,
        which begin at once, would each do that for every file.
        """
        if self.selected or any((HERE / "house").glob("__pycache__/*-pytest-*.pyc")):
            return
        files = sorted(str(path) for path in HERE.rglob("test_*.py"))
        command = [str(self.python), "-m", "pytest", "-q", "-p", "no:schemathesis"]
        command += ["--collect-only"]
        readers = [
            subprocess.Popen(
                [*command, *half],
                cwd=HOUSE,
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                start_new_session=True,
            )
            for half in (files[::2], files[1::2])
        ]
        self.children += readers
        for reader in readers:  # what is wrong with a file is said by its group
            reader.wait()

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

    def postgres(self, words: Path, report: str = "postgres", *which: str) -> int:
        marker, more = "not browser and not once", [*self.spread(), *which]
        try:
            with servers.private_servers() as addresses:
                return self.pytest(report, marker, more, words, **addresses)
        except servers.NoServer as trouble:
            write(words, str(trouble))
            return 1

    def rest(self, words: Path) -> int:
        """What PostgreSQL was not asked yet because others ask it the same."""
        return self.postgres(words, "rest", "--rest")

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
        nothing_wanted = runner.selected or report in {"node", "browser", "rest"}
        group.outcome, group.failed = "no test selected", not nothing_wanted
    else:
        group.outcome, group.failed = ("passed", False) if code == 0 else (f"FAILED ({code})", True)
    write(words, f"{group.name}: {group.outcome}, {group.seconds:.0f} s")


def the_rest(group: Group, runner: Runner, spent_s: float) -> None:
    """Run it where there is time; where there is not, the summary says so."""
    if runner.selected or runner.long or runner.both:
        group.outcome = "ran with the others"
    elif spent_s > REST_UNTIL_S:
        group.outcome = "left out for want of time; all of it: tests/run --both"
    else:
        at_last = SideBySide(runner.reports)
        at_last.start("rest", partial(run_group, group, runner, "rest"))
        at_last.show()


def same_lines(groups: dict[str, Group], runner: Runner) -> str:
    """Has every line that asked SQLite asked PostgreSQL too? What to do where one has not.

    Known only where both groups ran whole and nothing failed in them.
    """
    both = groups["sqlite"], groups["postgres"]
    if runner.selected or any(group.outcome != "passed" for group in both):
        return ""
    alone = asked.asked_of_sqlite_alone(runner.reports)
    if not alone:
        count = len(asked.kept(runner.reports, "sqlite"))
        say(f"\nEach of the {count} lines that asked SQLite asked PostgreSQL too.")
        return ""
    say("\nThese lines asked SQLite and never PostgreSQL:")
    say("\n".join(f"  {line}" for line in alone))
    say("If tests that reach them are marked `once`, take the mark from one of them; where only")
    say("threads ask, or only chance does, give the line a test; otherwise measure anew what")
    say("PostgreSQL may do without: python -m tests.second_database")
    return f"{len(alone)} lines asked SQLite alone"


def summary(groups: list[Group], began: float, lacking: str) -> int:
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
    if lacking:
        say(f"FAILED: {lacking} (named above).")
    return 1 if nothing or lacking or any(group.failed for group in groups) else 0


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
        "rest": Group("The rest on PostgreSQL", SERVERS, runner.rest),
    }
    beside, programs = SideBySide(runner.reports), threading.Event()

    def programs_and_node(words: Path) -> None:
        try:
            get_packages(say)
        finally:
            programs.set()
        run_group(groups["node"], runner, "node", words)

    try:
        beside.start("node", programs_and_node)
        environment.make(VENV, LISTS, say, compiled=False)
        runner.read_ahead()
        programs.wait()
        for report in ("sqlite", "postgres", "browser"):
            beside.start(report, partial(run_group, groups[report], runner, report))
        beside.show()
        lacking = same_lines(groups, runner)
        the_rest(groups["rest"], runner, time.monotonic() - began)
        return summary(list(groups.values()), began, lacking)
    finally:
        runner.end_all()
        beside.wait()
        shutil.rmtree(runner.reports, ignore_errors=True)


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit(130)
