"""What would a list change in the gallery?

Each row is new, changed, the same or refused; a change is said with what stands before and
after it. Nothing is written here.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, replace

from django.utils.translation import gettext as _

from gallery_ops.fleet_file import words
from gallery_ops.fleet_file.full_dose import differing, per_litre
from gallery_ops.fleet_file.read import CellProblem, FleetFile, FleetRow, Question
from gallery_ops.fleet_file.standing import Standing
from gallery_ops.kernel.models import Showroom
from maintenance.models import ImportRun
from maintenance.queries.imports import standing_import
from tanks.models import Layout, Stage
from tanks.queries.tanks import TankNow

SIZES = ("length_mm", "width_mm", "height_mm", "glass_mm")
OF_GLASS = (*SIZES, "kind_of_glass")
NOT_KEPT = ("cylinder", "water_change", "evaporation", "energy")
_COLUMN_OF = {"dose": "dose", "gas": "co2", "food": "food"}
EMPTY_STAGES = ("vacant", "out_of_service")


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that would be otherwise: ``what`` for the program, the rest for people."""

    what: str
    before: str
    after: str

    @property
    def word(self) -> str:
        """What the pages call it."""
        return words.word_of(self.what)


@dataclass(frozen=True, slots=True)
class RowPlan:
    """One row: its fate is ``new``, ``changed``, ``same`` or ``refused``."""

    row: FleetRow
    fate: str
    tank: TankNow | None = None
    changes: tuple[Change, ...] = ()

    @property
    def sizes_mm(self) -> tuple[int, int]:
        """Length and height for the drawing: those of the row, else of the standing tank."""
        glass = self.tank.tank if self.tank else None
        return (
            self.row.length_mm or (glass.length_mm if glass else 0),
            self.row.height_mm or (glass.height_mm if glass else 0),
        )


@dataclass(frozen=True, slots=True)
class FleetPlan:
    """What the whole list would do."""

    file: FleetFile
    sha256: str
    rows: tuple[RowPlan, ...]
    questions: tuple[Question, ...]
    already: ImportRun | None

    def of(self, *fates: str) -> list[RowPlan]:
        """The rows of these fates."""
        return [row for row in self.rows if row.fate in fates]

    @property
    def problems(self) -> list[CellProblem]:
        """Every cell that cannot come in."""
        return [problem for plan in self.rows for problem in plan.row.problems]

    @property
    def digest(self) -> str:
        """Changes when the list or what stands has changed: a button pressed late is noticed."""
        said = [(p.row.row, p.row.code, p.fate, p.changes) for p in self.rows]
        return hashlib.sha256(repr((self.sha256, said)).encode()).hexdigest()[:16]


def make_plan(showroom: Showroom, file: FleetFile, sha256: str, now: Standing) -> FleetPlan:
    """Hold a read file against what stands."""
    rows = tuple(plan_row(row, file, now) for row in file.rows)
    return FleetPlan(
        file=file,
        sha256=sha256,
        rows=rows,
        questions=(*file.questions, *_questions(rows, file, now)),
        already=standing_import(showroom, sha256),
    )


def plan_row(row: FleetRow, file: FleetFile, now: Standing) -> RowPlan:
    """Hold one row against what stands."""
    tank = now.tanks.get(row.code.casefold()) if row.code else None
    row = replace(row, problems=(*row.problems, *_problems(row, tank, file, now)))
    if row.problems:
        return RowPlan(row, "refused", tank)
    if tank is None:
        return RowPlan(row, "new")
    changes = tuple(_changes(row, tank, now))
    return RowPlan(row, "changed" if changes else "same", tank, changes)


def _problems(
    row: FleetRow, tank: TankNow | None, file: FleetFile, now: Standing
) -> Iterator[CellProblem]:
    if tank is None and row.code:
        former = now.former.get(row.code.upper())
        if former:
            allowed = _("That is the old code of %(code)s. Write the new one.") % {"code": former}
            yield _problem(row, file, "code", allowed)
        yield from _missing(row, file)
    yield from _taken(row, tank, file, now)
    if row.flooded_on and row.flooded_on > now.on:
        yield _problem(row, file, "flooded", _("That day has not come yet."))
    for purpose, field in words.PURPOSES.items():
        several = len(now.items.get(purpose, [])) > 1
        if several and getattr(row, field) and now.item_for(tank, purpose) is None:
            allowed = _("Several items could be meant. Plan it on the page of the tank.")
            yield _problem(row, file, _COLUMN_OF[purpose], allowed)


def _missing(row: FleetRow, file: FleetFile) -> Iterator[CellProblem]:
    """A new tank wants its measures and its glass, unless a cell of them is wrong already."""
    if any(problem.code in {"cell", "range", "two_columns"} for problem in row.problems):
        return
    for name in SIZES:
        if getattr(row, name) is None:
            key = name.removesuffix("_mm")
            known = {column.key for column in file.known_columns}
            key = "dims" if key not in known and key != "glass" and "dims" in known else key
            allowed = _("A new tank wants its %(measure)s.") % {"measure": words.word_of(name)}
            yield _problem(row, file, key, allowed)
            if key == "dims":
                return


def _taken(
    row: FleetRow, tank: TankNow | None, file: FleetFile, now: Standing
) -> Iterator[CellProblem]:
    room, place = place_names(row, tank, now)
    found = now.rooms.get(room.casefold())
    position = now.positions.get((found.pk, place.casefold())) if found else None
    holder = now.holder_of(position) if position is not None else None
    if holder is not None and holder.code.casefold() != row.code.casefold():
        allowed = _("%(code)s stands at “%(place)s” in %(room)s. Move it first.") % {
            "code": holder.code,
            "place": place,
            "room": room,
        }
        yield _problem(row, file, "place", allowed)


def _problem(row: FleetRow, file: FleetFile, key: str, allowed: str) -> CellProblem:
    column = next((c for c in file.columns if c.key == key), None)
    return CellProblem(
        row=row.row,
        letter=column.letter if column else "",
        heading=column.heading if column else "",
        quoted=row.cells.get(key, ""),
        allowed=allowed,
        code=f"plan_{key}",
    )


def place_names(row: FleetRow, tank: TankNow | None, now: Standing) -> tuple[str, str]:
    """Room and place where the tank of a row would stand.

    What the row does not say stays as it is; a new tank without a room comes into the only
    one, or into one named after the gallery; a place without a name is called like the tank.
    """
    position = tank.position if tank is not None else None
    default = str(next(iter(now.rooms.values()))) if len(now.rooms) == 1 else now.showroom.name
    room = row.room or (position.room.name if position else default)
    same_room = position is not None and room.casefold() == position.room.name.casefold()
    if row.place:
        return room, row.place
    return room, position.name if position is not None and same_room else row.code


def _changes(row: FleetRow, tank: TankNow, now: Standing) -> Iterator[Change]:
    mark = now.showroom.decimal_mark
    for name in SIZES:
        before, after = getattr(tank.tank, name), getattr(row, name)
        if after is not None and before != after:
            if name == "glass_mm":
                yield Change(name, f"{before} mm", f"{after} mm")
            else:
                yield Change(name, words.mm_text(before, mark), words.mm_text(after, mark))
    kind = tank.tank.kind_of_glass
    if row.kind_of_glass and row.kind_of_glass != kind:
        named = words.kind_of_glass_text
        yield Change("kind_of_glass", named(kind), named(row.kind_of_glass))
    yield from _place_changes(row, tank)
    yield from _layout_changes(row, tank)
    for purpose, field in words.PURPOSES.items():
        after, before = getattr(row, field), now.planned_base(tank, purpose)
        if after is None or after == (before or 0) or row.stage in EMPTY_STAGES:
            continue
        yield Change(
            purpose,
            words.amount_text(purpose, before, mark),
            words.amount_text(purpose, after, mark),
        )


def _place_changes(row: FleetRow, tank: TankNow) -> Iterator[Change]:
    position = tank.position
    before = (position.room.name, position.name, position.zone.code) if position else ("", "", "")
    for what, old, new in zip(
        ("room", "place", "zone"), before, (row.room, row.place, row.zone), strict=True
    ):
        if new and new.casefold() != old.casefold():
            yield Change(what, old or _("none"), new)
    if row.order and position is not None and row.order != position.walking_order:
        yield Change("order", str(position.walking_order), str(row.order))


def _layout_changes(row: FleetRow, tank: TankNow) -> Iterator[Change]:
    layout = tank.layout
    if layout is None:
        if is_planted(row):
            yield Change("layout", _("vacant"), _("“%(title)s”") % {"title": title_of(row)})
        return
    designer = layout.designer.name if layout.designer else ""
    if row.title and row.title != layout.title:
        yield Change("title", f"“{layout.title}”", f"“{row.title}”")
    if row.designer and row.designer.casefold() != designer.casefold():
        yield Change("designer", designer or _("none"), row.designer)
    yield from _state_changes(row, layout)


def _state_changes(row: FleetRow, layout: Layout) -> Iterator[Change]:
    if row.stage in Stage.values and row.stage != layout.stage:
        yield Change("stage", words.stage_text(layout.stage), words.stage_text(row.stage or ""))
    if row.style and row.style != layout.style:
        yield Change("style", words.style_text(layout.style), words.style_text(row.style))
    if row.flooded_on and row.flooded_on != layout.flooded_on:
        before = layout.flooded_on.isoformat() if layout.flooded_on else _("none")
        yield Change("flooded_on", before, row.flooded_on.isoformat())
    if row.has_co2 is not None and row.has_co2 != layout.has_co2:
        with_or_not = (_("without"), _("with"))
        yield Change("has_co2", with_or_not[layout.has_co2], with_or_not[row.has_co2])


def is_planted(row: FleetRow) -> bool:
    """Does the row describe a glass with a layout in it?"""
    if row.stage is not None:
        return row.stage not in EMPTY_STAGES
    return bool(row.title or row.dose_ul_day or row.co2_mg_day or row.food_mg_day)


def title_of(row: FleetRow) -> str:
    """The title of the layout, or a working title from the code."""
    return row.title or _("Layout of %(code)s") % {"code": row.code}


def _questions(rows: tuple[RowPlan, ...], file: FleetFile, now: Standing) -> Iterator[Question]:
    """What was taken for granted, for many rows at once."""
    new = [plan for plan in rows if plan.fate == "new"]
    planted = [plan for plan in new if is_planted(plan.row)]
    room = place_names(FleetRow(0, ""), None, now)[0]
    granted = (
        (
            "no_room",
            [p for p in new if not p.row.room],
            _("no room named. They come into “%(room)s”, in the order of the list.")
            % {"room": room},
        ),
        (
            "no_title",
            [p for p in planted if not p.row.title],
            _("no title named. Each is called “Layout of” and its code until it has one."),
        ),
        (
            "no_stage",
            [p for p in planted if not p.row.stage],
            _("no stage named. Taken as show."),
        ),
        (
            "no_flooding",
            [p for p in planted if p.row.stage == Stage.START_UP and not p.row.flooded_on],
            _("in start-up, and no day of flooding named. Its day is not counted until it is."),
        ),
        (
            "layout_stands",
            [p for p in rows if p.tank and p.tank.layout and p.row.stage in EMPTY_STAGES],
            _("the list says vacant, and a layout stands there. Close it on the tank's page."),
        ),
    )
    for code, found, sentence in granted:
        if found:
            which = words.numbered([p.row.row for p in found], _("Row"), _("Rows"))
            yield Question(found[0].row.row, f"{which}: {sentence}", code)
    yield from _full_doses(rows, now)
    kept = [c for c in file.known_columns if c.key in NOT_KEPT]
    if kept:
        named = ", ".join(f"{c.letter} “{c.heading}”" for c in kept)
        sentence = _("Read for comparison and not kept: columns %(named)s.") % {"named": named}
        yield Question(0, sentence, "not_kept")


def _full_doses(rows: tuple[RowPlan, ...], now: Standing) -> Iterator[Question]:
    """Full doses are the item's rule per litre; a list can only agree with it, or set it."""
    read = [plan.row for plan in rows if plan.row.full_dose_ul]
    if not read:
        return
    items = now.items.get("dose", [])
    rule = items[0].full_dose_ul_per_l if len(items) == 1 else None
    if not items and (rule := per_litre(read)) is not None:
        sentence = _("Full doses follow one rule, %(rule)d µL per litre outside. It is kept.")
        yield Question(0, sentence % {"rule": rule}, "full_dose")
    elif rule is None:
        sentence = _("Full doses follow no rule per litre that is kept here, and are left out.")
        yield Question(0, sentence, "full_dose")
    elif wrong := differing(read, rule):
        which = words.numbered([row.row for row in wrong], _("Row"), _("Rows"))
        sentence = _("full dose is not %(rule)d µL per litre outside, and is left out.")
        yield Question(wrong[0].row, f"{which}: {sentence % {'rule': rule}}", "full_dose")
