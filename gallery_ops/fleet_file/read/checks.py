"""Which rows contradict each other, and what is asked of the owner?

A contradiction is a problem and names both rows. What is only unusual is a question: the
row comes in as it stands.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from gallery_ops.fleet_file.read.measures import shown
from gallery_ops.fleet_file.read.rows import ReadRow, measures_of
from gallery_ops.fleet_file.read.types import CellProblem, Column, FleetRow, Question
from gallery_ops.kernel.values.limits import OutOfRange
from tanks.science.geometry import MM3_PER_L, inner_volume_l, outer_volume_l, working_volume_l

# Wide, since glass is sold under round names: 64.8 L as 60, 64 or 65. common practice, no source
SOLD_AS = 0.10
_INNER_OFF = 0.03
_WORKING_LEAST = 0.60

# height up to [mm] -> usual glass [mm]; the trade's rule of thumb. common practice, no source
_USUAL_GLASS = ((320, 4, 8), (400, 5, 10), (480, 6, 12), (560, 8, 15), (750, 12, 19))


def with_contradictions(rows: list[FleetRow], columns: list[Column]) -> list[FleetRow]:
    """Name panes that leave no room, and each second row of a code or a place with the first."""
    rows = [_with_thick_panes(row, columns) for row in rows]
    rows = _doubled(rows, columns, "code", lambda row: row.code.casefold())
    return _doubled(
        rows,
        columns,
        "place",
        lambda row: f"{row.room or ''}\n{row.place}".casefold() if row.place else "",
    )


def _doubled(
    rows: list[FleetRow], columns: list[Column], key: str, of: Callable[[FleetRow], str]
) -> list[FleetRow]:
    column = next((c for c in columns if c.key == key), None)
    if column is None:
        return rows
    seen: dict[str, int] = {}
    done = []
    for row in rows:
        name = of(row)
        if name and name in seen:
            row = replace(row, problems=(*row.problems, _double(row, column, seen[name])))
        elif name:
            seen[name] = row.row
        done.append(row)
    return done


def _with_thick_panes(row: FleetRow, columns: list[Column]) -> FleetRow:
    sides = [side for side in (row.length_mm, row.width_mm) if side is not None]
    if not sides or not row.glass_mm or 2 * row.glass_mm < min(sides):
        return row
    column = next(c for c in columns if c.key == "glass")
    problem = CellProblem(
        row=row.row,
        letter=column.letter,
        heading=column.heading,
        quoted=row.cells.get("glass", ""),
        allowed=f"Two panes must leave room between {min(sides)} mm. Check the unit.",
        example="6 mm",
        code="glass",
    )
    return replace(row, problems=(*row.problems, problem))


def _double(row: FleetRow, column: Column, first: int) -> CellProblem:
    thing = "that code" if column.key == "code" else "a tank at that place"
    each = "each code once" if column.key == "code" else "one tank stands at a place"
    return CellProblem(
        row=row.row,
        letter=column.letter,
        heading=column.heading,
        quoted=row.cells.get(column.key, ""),
        allowed=f"Row {first} has {thing} already; {each}.",
        other_row=first,
        code=f"double_{column.key}",
    )


def questions_of(read: ReadRow) -> list[Question]:
    """What is unusual about one row."""
    row = read.row
    asked = [
        *_glass(row),
        *_shape(row),
        *_litres(read),
        *_plan(row),
    ]
    return [Question(row.row, f"Row {row.row}, {row.code}: {text}", code) for code, text in asked]


def _glass(row: FleetRow) -> list[tuple[str, str]]:
    if row.glass_mm is None or row.height_mm is None:
        return []
    usual = next(((a, b) for top, a, b in _USUAL_GLASS if row.height_mm <= top), (15, 25))
    if usual[0] <= row.glass_mm <= usual[1]:
        return []
    high = shown(row.height_mm, "cm")
    return [
        (
            "glass",
            f"glass {row.glass_mm} mm at {high} cm high. Usual is {usual[0]} to {usual[1]} mm. "
            "Taken as it is; measure the pane.",
        )
    ]


def _shape(row: FleetRow) -> list[tuple[str, str]]:
    if row.length_mm is None or row.width_mm is None or row.height_mm is None:
        return []
    sides = (row.length_mm, row.width_mm, row.height_mm)
    asked = []
    if max(sides) > 8 * min(sides):
        asked.append(("shape", f"{measures_of(row)} cm is an unusual shape. Is one unit wrong?"))
    if row.width_mm > row.length_mm:
        asked.append(
            ("shape", f"wider ({shown(row.width_mm, 'cm')} cm) than long. Are the two exchanged?")
        )
    return asked


def outer_l(row: FleetRow) -> float | None:
    """Volume by outer measures [L], or None where a side is missing."""
    if row.length_mm is None or row.width_mm is None or row.height_mm is None:
        return None
    return outer_volume_l(row.length_mm, row.width_mm, row.height_mm)


def _inner_l(row: FleetRow) -> float | None:
    """Volume inside the glass [L]; None where a measure is missing or the panes are too thick."""
    if row.length_mm is None or row.width_mm is None or row.height_mm is None or not row.glass_mm:
        return None
    try:
        return inner_volume_l(row.length_mm, row.width_mm, row.height_mm, row.glass_mm)
    except OutOfRange:
        return None


def _litres(read: ReadRow) -> list[tuple[str, str]]:
    outer = outer_l(read.row)
    if outer is None:
        return []
    typed = {key: amount / MM3_PER_L for key, amount in read.litres.items()}
    inner = _inner_l(read.row)
    size = measures_of(read.row)
    asked = []
    nominal, internal, working = (typed.get(key) for key in ("nominal", "internal", "working"))
    if nominal and abs(nominal - outer) > outer * SOLD_AS:
        asked.append(_differs(nominal, f"{size} cm gives {outer:.5g} L outside"))
    if internal and inner and abs(internal - inner) > inner * _INNER_OFF:
        asked.append(
            _differs(internal, f"inside {read.row.glass_mm} mm glass {size} cm holds {inner:.4g} L")
        )
    if working and not outer * _WORKING_LEAST <= working <= (inner or outer):
        water = working_volume_l(outer)
        asked.append(_differs(working, f"{size} cm holds about {water:.3g} L of water"))
    return asked


def _differs(typed: float, because: str) -> tuple[str, str]:
    return (
        "litres",
        f"the list says {typed:g} L, but {because}. The measures count; check both.",
    )


def _plan(row: FleetRow) -> list[tuple[str, str]]:
    asked = []
    if row.dose_ul_day and row.full_dose_ul is not None and row.dose_ul_day > row.full_dose_ul:
        asked.append(
            (
                "dose",
                f"dose {shown(row.dose_ul_day, 'mL')} mL is more than the full dose "
                f"{shown(row.full_dose_ul, 'mL')} mL.",
            )
        )
    if row.stage == "vacant" and (row.dose_ul_day or row.co2_mg_day or row.food_mg_day):
        asked.append(("vacant", "vacant, and yet something is given. Nothing is planned for it."))
    if row.co2_mg_day and row.cylinder_mg == 0:
        asked.append(("gas", "CO2 is planned, and there is no cylinder."))
    return asked
