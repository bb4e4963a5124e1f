"""Does the preparation refuse a newer database, load the demo only when wanted, and only once?"""

from collections.abc import Callable
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from pytest_django import Settings

from gallery_ops.web.management.commands import get_ready

pytestmark = pytest.mark.django_db


@pytest.fixture
def loads(monkeypatch: pytest.MonkeyPatch, settings: Settings, tmp_path: Path) -> list[str]:
    """The commands that were called beside, and a place of its own for collected files."""
    called: list[str] = []
    settings.STATIC_ROOT = tmp_path
    monkeypatch.setattr(get_ready, "call_command", lambda name, **_: called.append(name))
    monkeypatch.setattr(get_ready, "get_commands", lambda: {"load_demo": "gallery_ops.web"})
    return called


def run(*words: str) -> str:
    out = StringIO()
    call_command("get_ready", *words, stdout=out)
    return out.getvalue()


@pytest.fixture
def has_applied(monkeypatch: pytest.MonkeyPatch, settings: Settings) -> Callable[[str, str], None]:
    """Let the database say that it took one more step than the program knows."""
    settings.MIGRATION_MODULES = {}  # the program knows its steps, as it does outside the tests
    executor = MigrationExecutor(connection)

    def say(app: str, step: str) -> None:
        executor.loader.applied_migrations = {(app, step): None}  # type: ignore[dict-item]
        monkeypatch.setattr(get_ready, "_executor", lambda: executor)

    return say


def test_a_database_of_a_newer_version_is_refused_in_words(
    has_applied: Callable[[str, str], None],
) -> None:
    has_applied("kernel", "9999_from_the_future")
    with pytest.raises(CommandError) as refused:
        run("--empty")
    assert "written by a newer version of Gallery Ops" in str(refused.value)
    assert "kernel 9999_from_the_future" in str(refused.value)
    assert "restore the backup made before it" in str(refused.value)


def test_a_step_of_an_app_that_is_not_ours_is_no_newer_version(
    loads: list[str], has_applied: Callable[[str, str], None]
) -> None:
    has_applied("gone_app", "0001_initial")
    run("--empty")
    assert "load_demo" not in loads


def test_the_demo_is_loaded_into_an_empty_database_only_when_wanted(loads: list[str]) -> None:
    assert "There is no showroom yet: the first page makes it" in run("--empty")
    assert "load_demo" not in loads
    said = run()
    assert loads.count("load_demo") == 1
    assert "Loading the demo gallery" in said


def test_a_database_with_a_showroom_is_left_alone(
    loads: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(get_ready, "_has_showroom", lambda: True)
    run()
    assert "load_demo" not in loads


def test_files_are_collected_once_until_one_changes(
    loads: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    run("--empty")
    run("--empty")
    assert loads.count("collectstatic") == 1
    monkeypatch.setattr(get_ready, "_files_hash", lambda: "another")
    run("--empty")
    assert loads.count("collectstatic") == 2
