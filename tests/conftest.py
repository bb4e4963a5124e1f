"""What holds for every test? Long runs and browsers only when asked for."""

import pytest


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
