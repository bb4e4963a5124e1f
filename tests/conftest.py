"""What holds for every test? Long runs and browsers only when asked for."""

import gc
import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.db import connection, transaction
from hypothesis import HealthCheck, settings

from tests import asked
from tests.second_database import left_out, name_of
from tests.watch import watch_writes

# A busy machine is no finding: time is measured in tests/benchmarks, not here. Each run draws the
# same examples, so that it asks the same lines; a long run draws new ones.
SLOW_IS_FINE = [HealthCheck.too_slow]
settings.register_profile(
    "house", deadline=None, derandomize=True, database=None, suppress_health_check=SLOW_IS_FINE
)
settings.register_profile("long", deadline=None, suppress_health_check=SLOW_IS_FINE)
LEFT_BY_MIGRATE = {"django_content_type", "auth_permission"}


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--long", action="store_true", help="also run the tests marked long")
    parser.addoption(
        "--both",
        action="store_true",
        help="on PostgreSQL also run what others ask it already (see tests/second_database.py)",
    )
    parser.addoption("--rest", action="store_true", help="on PostgreSQL run only the latter")


def pytest_configure(config: pytest.Config) -> None:
    settings.load_profile("long" if config.getoption("--long") else "house")
    config.addinivalue_line(
        "markers",
        "second: one database is enough, and tests/run takes the second where there is one",
    )


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Take out what does not belong into this run (deselected and counted, not shown as passed).

    Long tests, unless they are asked for; on PostgreSQL tests that know no database, and those that
    ask it nothing of their own, or only the others. What starts processes comes first, so that no
    process waits for it at the end.
    """
    long, rest = config.getoption("--long"), config.getoption("--rest")
    out = [] if long else [item for item in items if item.get_closest_marker("long")]
    if os.environ.get("DATABASE_URL"):
        out += [item for item in items if not _knows_a_database(item)]
        if not long and not config.getoption("--both"):
            known = left_out()
            out += [item for item in items if (name_of(item.nodeid) in known) is not rest]
    if out:
        config.hook.pytest_deselected(items=out)
        gone = set(out)
        items[:] = [item for item in items if item not in gone]
    items.sort(key=lambda item: not _is_slow(item))


def pytest_collection_finish() -> None:
    """Look less often for rubbish: what was imported and collected stays until the end anyway."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 50)


def pytest_sessionfinish() -> None:
    """Leave word of which lines asked the database, where tests/run wants to know."""
    if folder := os.environ.get("TESTS_KEPT_IN"):
        asked.keep(Path(folder), connection.vendor)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Beside the counts of tests: how many rows from outside they hold, and of what worth."""
    passed = terminalreporter.stats.get("passed", [])
    if any("test_the_account_is_the_one" in report.nodeid for report in passed):
        account = Path(__file__).parent / "outside" / "ACCOUNT.md"
        lines = account.read_text(encoding="utf-8").splitlines()
        kinds = [line.split("|")[1:3] for line in lines if line.count("|") == 5][2:]
        counted = ", ".join(f"{kind.strip()} {n.strip()}" for kind, n in kinds)
        terminalreporter.write_line(f"Check tables: {lines[2]}")
        terminalreporter.write_line(f"By kind of second value: {counted}.")


def _knows_a_database(item: pytest.Item) -> bool:
    fixtures = set(getattr(item, "fixturenames", ()))
    return any(map(item.get_closest_marker, ("django_db", "start"))) or bool(
        {"db", "transactional_db", "live_server", "manage"} & fixtures
    )


def _is_slow(item: pytest.Item) -> bool:
    starts = item.get_closest_marker("start") is not None
    return starts or "gallery_ops/demo" in item.nodeid


@pytest.fixture(autouse=True, scope="session")
def _guards_lifted_before_a_flush() -> Iterator[None]:
    """Let Django empty the tables after a test with real transactions.

    On SQLite it deletes row by row, which tables of facts refuse. The flush ends with post_migrate,
    and that puts the guards back. On PostgreSQL it would truncate a hundred tables, which takes
    longer than most tests; there the few that hold something are emptied.
    """
    from django.test import TestCase, TransactionTestCase

    from gallery_ops.kernel import guards

    empty_tables = TransactionTestCase._fixture_teardown  # type: ignore[attr-defined]

    def lift_first(self: TransactionTestCase) -> None:
        if isinstance(self, TestCase):
            empty_tables(self)
        elif connection.vendor == "postgresql":
            _empty_what_is_filled()
        else:
            guards.lift()
            empty_tables(self)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", lift_first)
        yield


@pytest.fixture(autouse=True, scope="session")
def _questions_are_counted_not_quoted() -> Iterator[None]:
    """Where questions are captured, keep them as they were put, without their values.

    On SQLite Django asks the database to quote the values of each, which is one more question.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(connection.ops, "last_executed_query", lambda _cursor, sql, _values: sql)
        yield


def _empty_what_is_filled() -> None:
    """Delete all rows but those that a migrate leaves; no trigger of PostgreSQL is asked."""
    quote = connection.ops.quote_name
    names = set(connection.introspection.django_table_names(only_existing=True))
    tables = sorted(names - LEFT_BY_MIGRATE)
    asked = " UNION ALL ".join(
        f"SELECT {n} WHERE EXISTS (SELECT 1 FROM {quote(name)})"  # noqa: S608 - names of models
        for n, name in enumerate(tables)
    )
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET LOCAL session_replication_role = replica")
        cursor.execute(asked)
        for (n,) in cursor.fetchall():
            cursor.execute(f"DELETE FROM {quote(tables[n])}")  # noqa: S608


@pytest.fixture(autouse=True)
def _every_write_goes_through_a_service(request: pytest.FixtureRequest) -> Iterator[None]:
    """Fail a test in which a page, an endpoint, a job or an action writes by itself.

    What a test asks that plays at random is noted on PostgreSQL only: it need not come again.
    """
    at_random = getattr(request.function, "is_hypothesis_test", False)
    asked.is_noting = connection.vendor == "postgresql" or not at_random
    with connection.execute_wrapper(watch_writes):
        yield
