"""Is PostgreSQL asked by every line that asks, though not every test runs there?"""

import ast
import random
import sys
from pathlib import Path

import pytest

from tests import asked
from tests.second_database import choose, left_out, name_of, shape

pytestmark = pytest.mark.once

HOUSE = Path(__file__).resolve().parents[2]


def test_every_test_that_is_left_out_is_there() -> None:
    """A name that nobody has any more hides that its test may come back under another."""
    there: set[str] = set()
    for file in {name.partition("::")[0] for name in left_out()}:
        path = HOUSE / file
        tree = ast.parse(path.read_text(encoding="utf-8")) if path.exists() else ast.Module([], [])
        for node in tree.body:
            inner = node.body if isinstance(node, ast.ClassDef) else []
            if isinstance(node, ast.FunctionDef):
                there.add(f"{file}::{node.name}")
            there |= {f"{file}::{node.name}::{f.name}" for f in inner if hasattr(f, "name")}
    assert left_out() - there == set()
    assert left_out()


@pytest.mark.parametrize("seed", range(20))
def test_those_chosen_ask_all_and_none_of_them_can_be_spared(seed: int) -> None:
    chance = random.Random(seed)
    asks = {
        f"test {n}": {f"question {chance.randrange(40)}" for _ in range(chance.randrange(12))}
        for n in range(60)
    }
    chosen = choose(asks, {test: chance.random() for test in asks})

    def asked_by(tests: set[str]) -> set[str]:
        return set[str]().union(*(asks[test] for test in tests))

    assert asked_by(chosen) == asked_by(set(asks))
    assert all(asked_by(chosen - {test}) != asked_by(chosen) for test in chosen)


def test_the_cheaper_of_two_that_ask_the_same_is_chosen() -> None:
    asks = {"dear": {"a", "b"}, "cheap": {"a", "b"}}
    assert choose(asks, {"dear": 2.0, "cheap": 0.1}) == {"cheap"}


def test_what_always_runs_spares_others() -> None:
    asks = {"threads": {"a", "b"}, "page": {"a"}, "form": {"c"}, "process": set[str]()}
    cost_s = dict.fromkeys(asks, 1.0)
    assert choose(asks, cost_s, {"threads", "process"}) == {"threads", "process", "form"}


def test_no_test_of_threads_or_processes_is_left_out() -> None:
    """Who waits for whom cannot be read from statements."""
    for name in left_out():
        file, _, function = name.partition("::")
        text = (HOUSE / file).read_text(encoding="utf-8")
        before = text[: text.index(f"def {function.rpartition('::')[2]}(")].rpartition("\n\n\n")[2]
        assert "transaction=True" not in before, name
        assert not file.startswith("tests/deploy/"), name


def test_a_statement_is_the_same_whatever_its_values() -> None:
    one = 'SELECT "a" FROM "t" WHERE "id" IN (%s, %s, %s) LIMIT 21'
    other = 'SELECT "a" FROM "t" WHERE "id" IN (%s) LIMIT 1'
    assert shape(one) == shape(other)
    assert shape(one) != shape(one.replace('"a"', '"b"'))
    rows = 'INSERT INTO "t" ("a", "b") VALUES (%s, %s), (%s, NULL)'
    assert shape(rows) == shape('INSERT INTO "t" ("a", "b") VALUES (%s, %s)')
    assert shape('SAVEPOINT "s140_x12"') == shape('SAVEPOINT "s139_x7"')


def test_a_test_is_named_without_its_values() -> None:
    assert name_of("tests/a/test_b.py::test_c[a::d-1]") == "tests/a/test_b.py::test_c"


def test_the_innermost_line_of_the_program_is_the_one_that_asked() -> None:
    names: dict[str, object] = {"line_of": asked.line_of, "here": lambda: sys._getframe(1)}
    inner = compile("def ask():\n    return line_of(here())\n", f"{HOUSE}/tanks/inner.py", "exec")
    exec(inner, names)  # noqa: S102 - our own line, under another file's name
    outer = compile("def call():\n    return ask()\n", f"{HOUSE}/tanks/outer.py", "exec")
    exec(outer, names)  # noqa: S102
    line = names["call"]()  # type: ignore[operator]
    assert line is not None
    assert asked.named(*line) == "tanks/inner.py:2"
    assert asked.line_of(sys._getframe()) is None


def test_a_line_that_one_database_alone_was_asked_by_is_named(tmp_path: Path) -> None:
    (tmp_path / "sqlite.1.asked").write_text("tanks/a.py:1\ntanks/a.py:2 IntegrityError")
    (tmp_path / "sqlite.2.asked").write_text("tanks/a.py:3\ngallery_ops/kernel/guards.py:9")
    (tmp_path / "postgresql.3.asked").write_text("tanks/a.py:1\ntanks/a.py:3\ntanks/a.py:4")
    assert asked.asked_of_sqlite_alone(tmp_path) == ["tanks/a.py:2 IntegrityError"]
