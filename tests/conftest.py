"""What holds for every test? Long runs and browsers only when asked for."""

from collections.abc import Iterator

import pytest
from django.db import connection
from hypothesis import HealthCheck, settings

from tests.watch import watch_writes

# A busy machine is no finding: time is measured in tests/benchmarks, not here.
settings.register_profile("house", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("house")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--long", action="store_true", help="also run the tests marked long")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Take long tests out of the run (deselected and counted, not shown as passed)."""
    if config.getoption("--long"):
        return
    left_out = [item for item in items if "long" in item.keywords]
    if left_out:
        config.hook.pytest_deselected(items=left_out)
        items[:] = [item for item in items if "long" not in item.keywords]


@pytest.fixture(autouse=True, scope="session")
def _guards_lifted_before_a_flush() -> Iterator[None]:
    """Let Django empty the tables after a test with real transactions.

    On SQLite it deletes row by row, which tables of facts refuse. The flush ends with post_migrate,
    and that puts the guards back.
    """
    from django.test import TestCase, TransactionTestCase

    from gallery_ops.kernel import guards

    empty_tables = TransactionTestCase._fixture_teardown  # type: ignore[attr-defined]

    def lift_first(self: TransactionTestCase) -> None:
        if not isinstance(self, TestCase):
            guards.lift()
        empty_tables(self)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", lift_first)
        yield


@pytest.fixture(autouse=True)
def _every_write_goes_through_a_service(request: pytest.FixtureRequest) -> Iterator[None]:
    """Fail a test in which a page, an endpoint, a job or an action writes by itself."""
    with connection.execute_wrapper(watch_writes):
        yield
