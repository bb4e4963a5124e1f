"""Would the watch on the connection notice a page that writes by itself?"""

import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests import asked, watch

pytestmark = pytest.mark.once

WRITE = 'UPDATE "tanks_tank" SET "name" = %s'


@pytest.fixture(autouse=True)
def nothing_is_noted(monkeypatch: pytest.MonkeyPatch) -> None:
    """No statement is put here, and no line of the program asks."""
    monkeypatch.setattr(asked, "is_noting", False)


def step(path: str, inner: Callable[[], object]) -> Callable[[], object]:
    """A function that calls `inner` and seems to stand in the file `path`."""
    names: dict[str, Callable[..., object]] = {}
    code = compile("def step(inner):\n    return inner()\n", path, "exec")
    exec(code, names)  # noqa: S102 - our own line, under another file's name
    return lambda: names["step"](inner)


def called_from(*paths: str) -> Callable[[], object]:
    """A write whose call stack passes through the given files, outermost first."""
    names: dict[str, object] = {"watch_writes": watch.watch_writes, "sql": WRITE}
    library = "def write():\n    return watch_writes(lambda *_: 'written', sql, (), False, {})\n"
    exec(compile(library, "/library/sql.py", "exec"), names)  # noqa: S102 - our own line
    inner: Callable[[], object] = names["write"]  # type: ignore[assignment]
    for path in reversed(paths):
        inner = step(watch.HOUSE + path, inner)
    return inner


@pytest.mark.parametrize(
    "path",
    [
        "gallery_ops/web/pages/tank.py",
        "gallery_ops/api/views/tank.py",
        "gallery_ops/kernel/worker.py",
        "inventory/jobs.py",
        "maintenance/actions/dose.py",
    ],
)
def test_a_door_that_writes_is_named(path: str) -> None:
    with pytest.raises(watch.WroteWithoutService, match=f"{path}.*tanks_tank"):
        called_from(path)()


@pytest.mark.parametrize(
    "paths",
    [
        ("gallery_ops/web/pages/tank.py", "tanks/services/placements.py"),
        ("tanks/services/placements.py",),
        ("tests/builders/tank.py",),
        (),
    ],
)
def test_a_service_and_a_test_may_write(paths: tuple[str, ...]) -> None:
    assert called_from(*paths)() == "written"


def test_reading_is_never_in_the_way() -> None:
    assert watch.door_without_service(sys._getframe()) is None
    assert not watch.OWN_TABLES.match('SELECT "tanks_tank"."id" FROM "tanks_tank"')
    assert not watch.OWN_TABLES.match('INSERT INTO "django_session" VALUES (1)')


def test_the_watch_looks_at_this_house() -> None:
    assert Path(watch.HOUSE, "manage.py").is_file()
