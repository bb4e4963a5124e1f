"""What does the database itself refuse? That a fact changes, and that rows of two showrooms meet.

Triggers, on SQLite and PostgreSQL alike, since no field option can say these:

    fact_never_changes      UPDATE of a table of facts
    fact_never_deleted      DELETE from a table of facts
    showroom_never_changes  UPDATE that moves a row to another showroom
    other_showroom          a foreign key to a row of another showroom

They are installed after every migrate and lifted before it: SQLite drops a table's triggers when
Django rebuilds the table, and refuses to rename a table that a trigger of another one names. After
a migrate that failed they stay lifted until one succeeds.
A table of facts is a model with ``is_fact = True``; a table of a showroom has a foreign key named
``showroom``. Rows without a showroom (shared by all) may be named from everywhere.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from typing import Any

from django.apps import AppConfig, apps
from django.db import DEFAULT_DB_ALIAS, DatabaseError, connections, models
from django.db.backends.base.base import BaseDatabaseWrapper

NAMES = (
    "fact_never_changes",
    "fact_never_deleted",
    "showroom_never_changes",
    "other_showroom",
)
_PREFIX = "guard_"
_LONGEST = 60
_FOUND = re.compile(rf"\b({'|'.join(NAMES)}): ([A-Za-z0-9_.]+)")


@dataclass(frozen=True, slots=True)
class Link:
    """A foreign key from one showroom table to another."""

    column: str
    parent_table: str
    parent_column: str


@dataclass(frozen=True, slots=True)
class Guarded:
    """What is guarded about one table."""

    table: str
    is_fact: bool
    links: tuple[Link, ...]
    has_showroom: bool


def guard_named(error: BaseException) -> tuple[str, str] | None:
    """Which guard refused, and at which table or table.column; None if it was no guard.

    Services and doors make their sentence from the name: the databases word the rest differently.
    """
    if not isinstance(error, DatabaseError):
        return None
    found = _FOUND.search(str(error))
    return (found.group(1), found.group(2)) if found else None


def guarded(app_config: AppConfig | None = None) -> list[Guarded]:
    """Every table with a guard, of one app or of all."""
    found = []
    models_of = app_config.get_models if app_config else apps.get_models
    for model in models_of(include_auto_created=True):
        one = _guarded(model)
        if one is not None:
            found.append(one)
    return found


def install(app_config: AppConfig | None = None, *, using: str = DEFAULT_DB_ALIAS) -> int:
    """Put the guards of an app (or of all) in place, replacing older ones; how many tables."""
    connection = connections[using]
    write = _WRITERS.get(connection.vendor)
    if write is None:
        raise RuntimeError(
            f"Guards are written for SQLite and PostgreSQL, not {connection.vendor}."
        )
    present = set(connection.introspection.table_names())
    tables = [one for one in guarded(app_config) if one.table in present]
    with connection.cursor() as cursor:
        for one in tables:
            for statement in write(one, connection):
                cursor.execute(statement)
    return len(tables)


def lift(*, using: str = DEFAULT_DB_ALIAS) -> int:
    """Take every guard away: before a migration, and before the tables of a test are emptied."""
    connection = connections[using]
    quote = connection.ops.quote_name
    with connection.cursor() as cursor:
        cursor.execute(_LISTS[connection.vendor], [_PREFIX + "%"])
        found = cursor.fetchall()
        for trigger, table in found:
            on = f" ON {quote(table)}" if connection.vendor == "postgresql" else ""
            cursor.execute(f"DROP TRIGGER IF EXISTS {quote(trigger)}{on}")
    return len(found)


def install_after_migrate(sender: AppConfig, using: str, **_: Any) -> None:
    """Receiver of post_migrate; flush sends it too, so guards lifted for it come back."""
    install(sender, using=using)


def lift_before_migrate(using: str, **_: Any) -> None:
    """Receiver of pre_migrate."""
    if connections[using].vendor in _LISTS:
        lift(using=using)


def _guarded(model: type[models.Model]) -> Guarded | None:
    opts = model._meta
    if not opts.managed or opts.proxy or opts.swapped:
        return None
    has_showroom = _has_showroom(model)
    links = []
    if has_showroom:
        links = [
            Link(field.column, parent._meta.db_table, str(field.target_field.column))
            for field in opts.local_fields
            if isinstance(field, models.ForeignKey) and _has_showroom(parent := field.related_model)
        ]
    is_fact = bool(getattr(model, "is_fact", False))
    if not (is_fact or has_showroom):
        return None
    return Guarded(opts.db_table, is_fact, tuple(links), has_showroom)


def _has_showroom(model: Any) -> bool:
    return any(
        field.name == "showroom" and isinstance(field, models.ForeignKey)
        for field in model._meta.local_fields
    )


def _name(table: str, deed: str) -> str:
    name = f"{_PREFIX}{table}_{deed}"
    if len(name) <= _LONGEST:
        return name
    digest = hashlib.sha256(name.encode()).hexdigest()[:8]
    return f"{name[: _LONGEST - 9]}_{digest}"


def _strangers(link: Link, connection: BaseDatabaseWrapper) -> str:
    """The condition that the parent row belongs to another showroom."""
    quote = connection.ops.quote_name
    differs = "IS NOT" if connection.vendor == "sqlite" else "IS DISTINCT FROM"
    return (
        # S608: names of tables and columns come from the models, never from input
        f"EXISTS (SELECT 1 FROM {quote(link.parent_table)} AS parent "  # noqa: S608
        f"WHERE parent.{quote(link.parent_column)} = NEW.{quote(link.column)} "
        f"AND parent.showroom_id IS NOT NULL AND parent.showroom_id {differs} NEW.showroom_id)"
    )


def _sqlite(one: Guarded, connection: BaseDatabaseWrapper) -> list[str]:
    table = connection.ops.quote_name(one.table)
    checks = [
        f"SELECT RAISE(ABORT, 'other_showroom: {one.table}.{link.column}') "
        f"WHERE {_strangers(link, connection)};"
        for link in one.links
    ]
    moved = (
        f"SELECT RAISE(ABORT, 'showroom_never_changes: {one.table}') "
        "WHERE OLD.showroom_id IS NOT NEW.showroom_id;"
    )
    wanted: dict[str, tuple[str, list[str]]] = {}
    if one.is_fact:
        wanted["no_update"] = (
            "BEFORE UPDATE",
            [f"SELECT RAISE(ABORT, 'fact_never_changes: {one.table}');"],
        )
        wanted["no_delete"] = (
            "BEFORE DELETE",
            [f"SELECT RAISE(ABORT, 'fact_never_deleted: {one.table}');"],
        )
    if checks:
        wanted["showroom_in"] = ("BEFORE INSERT", checks)
    if one.has_showroom and not one.is_fact:
        wanted["showroom_up"] = (f"BEFORE UPDATE OF {_columns(one, connection)}", [moved, *checks])
    statements = []
    for deed, (when, body) in wanted.items():
        name = connection.ops.quote_name(_name(one.table, deed))
        statements.append(f"DROP TRIGGER IF EXISTS {name}")
        statements.append(f"CREATE TRIGGER {name} {when} ON {table} BEGIN {' '.join(body)} END")
    return statements


def _postgresql(one: Guarded, connection: BaseDatabaseWrapper) -> list[str]:
    checks = [
        f"IF {_strangers(link, connection)} THEN "
        f"{_raise(f'other_showroom: {one.table}.{link.column}')} END IF;"
        for link in one.links
    ]
    moved = (
        "IF OLD.showroom_id IS DISTINCT FROM NEW.showroom_id THEN "
        f"{_raise(f'showroom_never_changes: {one.table}')} END IF;"
    )
    wanted: dict[str, tuple[str, list[str]]] = {}
    if one.is_fact:
        wanted["no_update"] = ("BEFORE UPDATE", [_raise(f"fact_never_changes: {one.table}")])
        wanted["no_delete"] = ("BEFORE DELETE", [_raise(f"fact_never_deleted: {one.table}")])
    if checks:
        wanted["showroom_in"] = ("BEFORE INSERT", checks)
    if one.has_showroom and not one.is_fact:
        wanted["showroom_up"] = (f"BEFORE UPDATE OF {_columns(one, connection)}", [moved, *checks])
    statements = []
    table = connection.ops.quote_name(one.table)
    for deed, (when, body) in wanted.items():
        name = connection.ops.quote_name(_name(one.table, deed))
        statements += [
            f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS "
            f"$guard$ BEGIN {' '.join(body)} RETURN NEW; END $guard$",
            f"DROP TRIGGER IF EXISTS {name} ON {table}",
            f"CREATE TRIGGER {name} {when} ON {table} FOR EACH ROW EXECUTE FUNCTION {name}()",
        ]
    return statements


def _raise(message: str) -> str:
    return (
        f"RAISE EXCEPTION USING ERRCODE = 'integrity_constraint_violation', MESSAGE = '{message}';"
    )


def _columns(one: Guarded, connection: BaseDatabaseWrapper) -> str:
    names = ["showroom_id", *(link.column for link in one.links)]
    return ", ".join(connection.ops.quote_name(name) for name in names)


_WRITERS = {"sqlite": _sqlite, "postgresql": _postgresql}
_LISTS = {
    "sqlite": r"SELECT name, tbl_name FROM sqlite_master WHERE type = 'trigger' AND name LIKE %s",
    "postgresql": (
        "SELECT t.tgname, c.relname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
        "JOIN pg_namespace n ON n.oid = c.relnamespace "
        "WHERE NOT t.tgisinternal AND n.nspname = current_schema() AND t.tgname LIKE %s"
    ),
}
