"""Which tests may PostgreSQL do without? Measured, and written to second_database.txt.

    .venv-tests/bin/python -m tests.second_database

Runs on PostgreSQL all tests that know a database and notes for each of them what it asks: the
statement without its values, the line of the program that put it, and what came of it. Then tests
are chosen, what costs least for what is new first, until everything that any test asked is asked.
The others are written down. They would put no statement there that is not put anyhow: tests/run
comes to them last, where time is left, and with --both, --long or named tests in any case.

Who waits for whom is no matter of statements: tests with real transactions, of several threads or
processes, are always among the first.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Set
from pathlib import Path
from typing import Any

import pytest

from tests import asked, servers

HERE = Path(__file__).resolve().parent
LEFT_OUT = HERE / "second_database.txt"
HEAD = """\
# Tests that PostgreSQL runs last, where time is left: others put every statement that these put
# there, from the same lines and with the same outcome. Written by python -m tests.second_database.
"""
VALUES = re.compile(r"\((?:(?:%s|\d+|NULL|DEFAULT)(?:::\w+)?(?:, )?)+\)")
ROWS = re.compile(r"(?:\(\?\)(?:, )?)+")
NUMBER = re.compile(r"\b\d+\b")
SAVEPOINT = re.compile(r'"?s\d+_x\d+"?')
FOLDER = "SECOND_DATABASE_FOLDER"
Asked = set[str]


def left_out() -> set[str]:
    """Names of tests, `path::function`."""
    lines = LEFT_OUT.read_text(encoding="utf-8").splitlines()
    return {line for line in lines if line and not line.startswith("#")}


def name_of(nodeid: str) -> str:
    """A test without the values that it is run with."""
    return nodeid.partition("[")[0]


def may_be_left_out(item: pytest.Item) -> bool:
    """Whether what a test asks says all that it wants of a database."""
    mark = item.get_closest_marker("django_db")
    real = mark is not None and bool(mark.kwargs.get("transaction", mark.args[:1] == (True,)))
    starts = item.get_closest_marker("start") is not None
    other = {"transactional_db", "live_server", "manage"} & set(getattr(item, "fixturenames", ()))
    return not (real or starts or other)


def shape(sql: str) -> str:
    """A statement without values; a list of them is as long as any other."""
    short = VALUES.sub("(?)", SAVEPOINT.sub("savepoint", sql))
    return NUMBER.sub("0", ROWS.sub("(?)", short))


def choose(
    asks: dict[str, Asked], cost_s: dict[str, float], always: Set[str] = frozenset()
) -> set[str]:
    """Tests that together ask all that is asked, cheap for what they add; not the fewest possible.

    asks : by test, what it asks
    cost_s : by test, its processor time
    always : tests that run in any case
    """
    todo = {test: what for test, what in asks.items() if test not in always}
    asked_anyhow = set[str]().union(*(asks[test] for test in always))
    left, chosen = set[str]().union(*asks.values()) - asked_anyhow, set[str]()
    while left:
        best = max(sorted(todo), key=lambda test: len(todo[test] & left) / (cost_s[test] + 0.01))
        left -= todo.pop(best)
        chosen.add(best)
    times = Counter(what for test in chosen | always for what in asks[test])
    for test in sorted(chosen, key=lambda test: (-cost_s[test], test)):
        if all(times[what] > 1 for what in asks[test]):
            chosen.discard(test)
            times.subtract(asks[test])
    return chosen | always


class Noting:
    """A plugin of pytest: what each test asks and costs, into the folder that the run names."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.asks: defaultdict[str, Asked] = defaultdict(set)
        self.cost_s: defaultdict[str, float] = defaultdict(float)
        self.now: Asked = set()
        self.always: set[str] = set()
        self.shapes: dict[str, str] = {}

    def listen(
        self, execute: Callable[..., Any], sql: Any, params: Any, many: bool, context: Any
    ) -> Any:
        line = asked.line_of(sys._getframe(1))
        if line is None:  # the test itself, or a table made for it
            return execute(sql, params, many, context)
        text = str(sql)
        if text not in self.shapes:
            self.shapes[text] = shape(text)
        where = f"{asked.named(*line)} {self.shapes[text]}"
        try:
            answer = execute(sql, params, many, context)
        except Exception as error:
            self.now.add(f"{where} {type(error).__name__}")
            raise
        self.now.add(where)
        return answer

    def pytest_collection_finish(self) -> None:
        """From here on every connection of this process is listened to."""
        from django.db.backends.utils import CursorWrapper

        run = CursorWrapper._execute_with_wrappers  # type: ignore[attr-defined]

        def noted(cursor: Any, sql: Any, params: Any, many: bool, executor: Any) -> Any:
            def through(sql: Any, params: Any, many: bool, context: Any) -> Any:
                return self.listen(executor, sql, params, many, context)

            return run(cursor, sql, params, many, through)

        CursorWrapper._execute_with_wrappers = noted  # type: ignore[attr-defined]

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        self.now, began = set(), time.process_time()
        answer = yield
        if not may_be_left_out(item):
            self.always.add(name_of(item.nodeid))
        self.asks[name_of(item.nodeid)] |= self.now
        self.cost_s[name_of(item.nodeid)] += time.process_time() - began
        return answer

    def pytest_sessionfinish(self) -> None:
        asks = {test: sorted(what) for test, what in self.asks.items()}
        found = {"asks": asks, "cost_s": self.cost_s, "always": sorted(self.always)}
        path = self.folder / f"{os.getpid()}.json"
        path.write_text(json.dumps(found), encoding="utf-8")


def pytest_configure(config: pytest.Config) -> None:
    """As a plugin of pytest (`-p tests.second_database`)."""
    config.pluginmanager.register(Noting(Path(os.environ[FOLDER])), "noting")


def measured(words: list[str]) -> tuple[dict[str, Asked], dict[str, float], set[str]]:
    """Run the tests and read what was noted: what each asks and costs, and who always runs."""
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:schemathesis", "-p"]
    command += ["tests.second_database", "--both", "-m", "not browser and not once and not start"]
    command += ["-n", "2", "--dist", "loadfile", *words]
    with tempfile.TemporaryDirectory() as folder, servers.private_servers() as addresses:
        settings = {**os.environ, **addresses, FOLDER: folder}
        subprocess.run(command, cwd=HERE.parent, env=settings, check=True)
        parts = [json.loads(path.read_text("utf-8")) for path in Path(folder).glob("*.json")]
    asks = {test: set(what) for part in parts for test, what in part["asks"].items()}
    cost_s = {test: cost for part in parts for test, cost in part["cost_s"].items()}
    return asks, cost_s, {test for part in parts for test in part["always"]}


def main(words: list[str]) -> None:
    asks, cost_s, always = measured(words)
    chosen = choose(asks, cost_s, always)
    names = sorted(set(asks) - chosen)
    LEFT_OUT.write_text(HEAD + "".join(f"{name}\n" for name in names), encoding="utf-8")
    spent = sum(cost_s[name] for name in chosen)
    print(
        f"{len(chosen)} of {len(asks)} tests ask all there is to ask, "
        f"in {spent:.0f} of {sum(cost_s.values()):.0f} s of processor time."
    )


if __name__ == "__main__":
    main(sys.argv[1:])
