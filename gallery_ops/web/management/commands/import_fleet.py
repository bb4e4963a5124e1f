"""Bring an owner's list of tanks in, or say what it would do."""

from __future__ import annotations

from argparse import ArgumentParser
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from gallery_ops.fleet_file.apply import bring_in
from gallery_ops.fleet_file.dry_run import DryRun, Wishes, dry_run, file_hash
from gallery_ops.fleet_file.plan import FleetPlan
from gallery_ops.fleet_file.read import NotReadable
from gallery_ops.fleet_file.read.bounds import FILE_BYTES
from gallery_ops.fleet_file.undo import undo_import
from gallery_ops.kernel import clock
from gallery_ops.kernel.errors import GalleryError
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.queries import people
from gallery_ops.kernel.rights import Role, may
from maintenance.queries.imports import import_of

SHOWN = 20


class Command(BaseCommand):
    help = (
        "Bring in the tanks of a spreadsheet (.xlsx, .csv or tab separated text). "
        "All rows or none; the same file twice makes no doubles."
    )
    requires_system_checks: list[str] = []  # get_ready asks for each version

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, help="the list of tanks")
        parser.add_argument("--dry-run", action="store_true", help="say what it would do, no more")
        parser.add_argument("--showroom", default="", help="code of the showroom, if several")
        parser.add_argument("--by", default="", help="sign-in name of the person who does it")
        parser.add_argument("--sheet", default="", help="sheet of a workbook")
        parser.add_argument("--separator", default="", help="; , | or tab, if read wrongly")
        parser.add_argument("--unit", default="", help="mm or cm, for measures without a unit")
        parser.add_argument(
            "--leave-out", action="store_true", help="bring the good rows in, leave the others out"
        )
        parser.add_argument(
            "--undo", action="store_true", help="take back the import of this very file"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            self._run(options)
        except NotReadable as refused:
            raise CommandError(refused.sentence) from None
        except GalleryError as error:
            raise CommandError(str(error)) from None

    def _run(self, options: dict[str, Any]) -> None:
        content = _content(options["file"])
        at = clock.now()
        showroom = _showroom(options["showroom"])
        separator = "\t" if options["separator"] == "tab" else options["separator"]
        if options["undo"]:
            self._undo(showroom, content, options["by"])
            return
        wishes = Wishes(options["sheet"], separator, options["unit"])
        found = dry_run(showroom, content, at, wishes)
        self._say(found.plan)
        if options["dry_run"]:
            self.stdout.write("Nothing has been written: this is a dry run.")
            return
        self._bring(showroom, found, options)

    def _bring(self, showroom: Showroom, found: DryRun, options: dict[str, Any]) -> None:
        plan = found.plan
        if plan.already is not None:
            when = plan.already.at.astimezone(showroom.tz)
            self.stdout.write(
                f"This very file was brought in on {when:%d %B %Y at %H:%M} by "
                f"{plan.already.person}. Nothing was written."
            )
            return
        person = _person(showroom, options["by"])
        run = bring_in(
            showroom=showroom,
            plan=plan,
            now=found.now,
            file_name=options["file"].name,
            by=person,
            at=found.now.at,
            leave_out=options["leave_out"],
        )
        if run is None:
            self.stdout.write("Everything stands as the list says. Nothing was written.")
        else:
            self.stdout.write(
                f"{len(plan.of('new'))} tanks brought in, {len(plan.of('changed'))} changed. "
                f"Written in the name of {person.person}; it can be taken back for 24 hours "
                "with --undo."
            )

    def _undo(self, showroom: Showroom, content: bytes, login: str) -> None:
        run = import_of(showroom, file_hash(content))
        result = undo_import(run=run, by=_person(showroom, login), at=clock.now())
        self.stdout.write(
            f"Taken back: {len(result.voided)} tanks count as never written, "
            f"{result.restored} changes restored."
        )
        for line in result.kept:
            self.stdout.write(f"Kept: {line}.")

    def _say(self, plan: FleetPlan) -> None:
        file = plan.file
        self.stdout.write(
            f"Read as {file.told}. Headings in row {file.heading_row}, {len(file.rows)} tanks."
        )
        for line in (*_rows(plan), *_problems(plan), *_left_out(plan)):
            self.stdout.write(f"  {line}")


def _rows(plan: FleetPlan) -> Iterator[str]:
    for row in plan.of("new"):
        yield f"row {row.row.row}  {row.row.code}: new"
    for row in plan.of("changed"):
        for change in row.changes:
            what = f"{change.word} {change.before} -> {change.after}"
            yield f"row {row.row.row}  {row.row.code}: {what}"
    if same := [row.row.code for row in plan.of("same")]:
        yield f"as they stand: {', '.join(same)}"


def _problems(plan: FleetPlan) -> Iterator[str]:
    problems = plan.problems
    if problems:
        yield f"To put right ({len(problems)}):"
    for problem in problems[:SHOWN]:
        yield problem.sentence
    if len(problems) > SHOWN:
        yield f"and {len(problems) - SHOWN} more."
    for question in plan.questions[:SHOWN]:
        yield f"Asked: {question.sentence}"


def _left_out(plan: FleetPlan) -> Iterator[str]:
    for line in plan.file.skipped:
        yield f"Row {line.row} was left out: {line.why} ({line.text})."
    for column in plan.file.unknown_columns:
        why = column.left_out or "its heading is not known"
        yield f"Column {column.letter} “{column.heading}” is left out: {why}."
    yield from plan.file.notes


def _content(path: Path) -> bytes:
    try:
        with path.open("rb") as stream:
            return stream.read(FILE_BYTES + 1)
    except OSError as error:
        raise CommandError(
            f"{path} cannot be read ({error.strerror}). Name a file that exists."
        ) from None


def _showroom(code: str) -> Showroom:
    if code:
        return people.showroom_by_code(code)
    rows = list(people.showrooms())
    if len(rows) == 1:
        return rows[0]
    if not rows:
        raise CommandError("There is no showroom yet. Open the first page and make it.")
    codes = ", ".join(row.code for row in rows)
    raise CommandError(f"Several showrooms are kept here. Name one with --showroom: {codes}.")


def _person(showroom: Showroom, login: str) -> Membership:
    at = clock.now()
    if login:
        return people.member_by_login(showroom, login, at)
    able = [member for member in people.members(showroom, at) if may(member, "import")]
    owners = [member for member in able if member.role == Role.OWNER]
    if len(owners) == 1 or len(able) == 1:
        return (owners or able)[0]
    names = ", ".join(member.person.login for member in able)
    raise CommandError(f"Who does this? Name the person with --by: {names or 'an owner'}.")
