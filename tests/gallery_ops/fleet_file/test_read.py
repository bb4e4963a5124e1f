"""Does an owner's list arrive as it was meant, however it was kept?"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from gallery_ops.fleet_file.read import NotReadable, read_fleet

from .workbooks import nasty_workbook, workbook_of

FILES = Path(__file__).parent / "files"
OUTSIDE = Path(__file__).parents[2] / "outside"


def test_reference_fleet_gives_its_published_totals() -> None:
    # Source: demo_fleet.csv, the reference fleet of twenty tanks; its totals were added up
    # by hand from the columns: 196 mL a day, 211 when all are full, 127 g CO2 a day.
    file = read_fleet((OUTSIDE / "demo_fleet.csv").read_bytes())
    assert len(file.rows) == 20
    assert not file.problems
    assert not file.questions  # typed litres agree with the measures within a hundredth
    assert sum(row.dose_ul_day or 0 for row in file.rows) == 196_000
    assert sum(row.full_dose_ul or 0 for row in file.rows) == 211_000
    assert sum(row.co2_mg_day or 0 for row in file.rows) == 127_000
    assert [column.heading for column in file.unknown_columns] == ["size"]


def test_reference_stages_become_states_of_life() -> None:
    rows = {r.code: r for r in read_fleet((OUTSIDE / "demo_fleet.csv").read_bytes()).rows}
    assert (rows["T01"].stage, rows["T01"].has_co2) == ("show", True)
    assert (rows["T04"].stage, rows["T04"].has_co2) == ("show", False)
    assert (rows["T14"].stage, rows["T14"].start_up_week) == ("start_up", 1)
    assert (rows["T08"].stage, rows["T08"].start_up_week) == ("start_up", 2)
    assert rows["T03"].stage == "grow_in"
    assert rows["T10"].stage == "decline"
    assert rows["T09"].stage == "vacant"


def test_german_list_with_title_total_and_millimetres() -> None:
    file = read_fleet((FILES / "becken_cp1252.csv").read_bytes())
    assert file.told == "semicolon separated, Windows-1252, decimal comma"
    assert file.heading_row == 4
    rows = {row.row: row for row in file.rows}
    ferry = rows[5]
    assert (ferry.code, ferry.title, ferry.room) == ("B01", "Fährtreppe", "Nordsaal")
    assert (ferry.length_mm, ferry.width_mm, ferry.height_mm) == (600, 300, 360)
    # The same glass, its cells in centimetres and kilograms, comes out the same.
    road = rows[6]
    assert (road.length_mm, road.height_mm, road.cylinder_mg) == (600, 360, 500_000)
    assert (road.dose_ul_day, road.food_mg_day) == (3_000, 60)
    assert rows[8].food_mg_day == 1_125
    assert (rows[9].title, rows[9].food_mg_day) == (None, None)
    assert (rows[14].stage, rows[14].has_co2) == ("show", False)


def test_lines_that_are_no_tanks_are_named() -> None:
    file = read_fleet((FILES / "becken_cp1252.csv").read_bytes())
    assert [(line.row, line.why) for line in file.skipped] == [
        (11, "a total"),
        (13, "the headings again"),
        (17, "a note, not a tank"),
    ]


def test_each_wrong_cell_says_where_what_is_allowed_and_an_example() -> None:
    file = read_fleet((FILES / "becken_cp1252.csv").read_bytes())
    assert [problem.sentence for problem in file.problems] == [
        "Row 15, column B “Becken-Nr.”: it says “B03”. Row 8 has that code already; "
        "each code once.",
        "Row 16, column D “Höhe”: it says “hoch”. Write a number, 100 to 2000 mm. Write the "
        "number first, then the unit. For example: 36 cm.",
        "Row 16, column I “Dünger ml/Tag”: it says “1.000”. Write a number, 0 to 1000 mL. It "
        "could mean 1000 or 1: write the one that you mean. For example: 3 mL.",
    ]
    assert file.problems[0].other_row == 8


def test_utf16_text_with_inches_in_the_heading() -> None:
    file = read_fleet((FILES / "cellar_utf16.txt").read_bytes())
    assert file.told.startswith("tab separated, UTF-16")
    sill = file.rows[0]
    # 24, 12 and 14 in are 609.6, 304.8 and 355.6 mm. Source: the inch is 25.4 mm exactly.
    assert (sill.length_mm, sill.width_mm, sill.height_mm) == (610, 305, 356)
    assert (sill.glass_mm, sill.dose_ul_day, sill.food_mg_day) == (6, 3_000, 60)
    assert (sill.place, sill.order) == ("K-1", 1)


def test_workbook_with_units_in_headings_cells_and_formats() -> None:
    file = read_fleet(nasty_workbook())
    assert "Tanks 2026" in file.told
    assert file.notes == ("Not read: sheet “Cover”, “Prices”.",)
    rows = {row.code: row for row in file.rows}
    assert list(rows) == ["1", "2", "3", "4"]
    assert (rows["1"].length_mm, rows["1"].width_mm, rows["1"].height_mm) == (600, 300, 360)
    assert (rows["2"].length_mm, rows["2"].height_mm) == (600, 360)
    assert (rows["3"].length_mm, rows["3"].width_mm) == (1800, 600)
    assert rows["3"].dose_ul_day == 300  # 0.1 + 0.2 as a spreadsheet stores it
    assert rows["4"].glass_mm == 8  # 0.8 with " cm" in its number format
    assert rows["1"].cylinder_mg == 500_000
    assert [(s.row, s.why) for s in file.skipped] == [
        (6, "the units of the headings"),
        (10, "the headings again"),
        (13, "a total"),
    ]
    assert [c.heading for c in file.unknown_columns] == ["Owner's nickname", "Insured for"]


def test_typed_litres_are_held_against_the_measures_and_never_kept() -> None:
    file = read_fleet(nasty_workbook())
    litres = [question for question in file.questions if question.code == "litres"]
    assert [question.row for question in litres] == [12]
    assert "the list says 250 L, but 90 × 45 × 45 cm gives 182.25 L outside" in litres[0].sentence
    assert not any("litre" in name or name.endswith("_l") for name in file.rows[0].__slots__)


@pytest.mark.parametrize("litres", ["60", "64", "64.8", "65", "70"])
def test_round_numbers_under_which_glass_is_sold_raise_no_question(litres: str) -> None:
    text = f"code;length cm;width cm;height cm;litres\nT05;60;30;36;{litres}\n"
    assert not read_fleet(text.encode()).questions


def test_text_like_a_formula_stays_text_and_is_said() -> None:
    file = read_fleet((FILES / "cellar_utf16.txt").read_bytes())
    assert file.rows[2].title == "=Ebb+Flow"
    assert [q.row for q in file.questions if q.code == "formula_text"] == [4]


def test_a_formula_where_a_number_belongs_is_refused() -> None:
    content = workbook_of([["code", "length cm", "width cm", "height cm"], ["T1", "=2*30", 30, 36]])
    (problem,) = read_fleet(content).problems
    assert problem.sentence.startswith("Row 2, column B “length cm”: it says “=2*30”.")
    assert "It is a formula: write the number that it shows." in problem.sentence


def test_a_number_that_became_a_date_is_refused() -> None:
    content = workbook_of([["code", "dose ml"], ["T1", dt.datetime(2026, 5, 3)]])  # noqa: DTZ001
    (problem,) = read_fleet(content).problems
    assert "made a date of it" in problem.sentence


@pytest.mark.parametrize(
    ("heading", "cell", "millimetres"),
    [
        ("length (mm)", "600", 600),
        ("Length, cm", "60", 600),
        ("Länge in cm", "60,5", 605),
        ("Laenge [m]", "0.6", 600),
        ("length_mm", "60 cm", 600),
        ("Outer length / inches", "24", 610),
        ("L (cm)", "60", 600),
        ("Außenlänge cm", "60 cm", 600),
        ('length "', "24", 610),
    ],
)
def test_unit_in_heading_or_cell(heading: str, cell: str, millimetres: int) -> None:
    text = f'code\t"{heading.replace(chr(34), chr(34) * 2)}"\nT1\t{cell}\n'
    (row,) = read_fleet(text.encode()).rows
    assert row.length_mm == millimetres


@pytest.mark.parametrize(
    "cell",
    [
        "60x30x36",
        "60 × 30 × 36 cm",
        "600x300x360 mm",
        "60cm x 30cm x 36cm",
        "60*30*36 cm",
        "60/30/36",
        "60,0 X 30,0 X 36,0 cm",
        "0.6 x 0.3 x 0.36 m",
    ],
)
def test_three_measures_in_one_cell(cell: str) -> None:
    (row,) = read_fleet(f"code;Maße\nT1;{cell}\n".encode()).rows
    assert (row.length_mm, row.width_mm, row.height_mm) == (600, 300, 360)


@pytest.mark.parametrize("cell", ["2026-03-07", "7.3.2026", "07.03.2026", "7. 3. 2026"])
def test_the_day_of_flooding(cell: str) -> None:
    (row,) = read_fleet(f"code;geflutet am\nT1;{cell}\n".encode()).rows
    assert row.flooded_on == dt.date(2026, 3, 7)


@pytest.mark.parametrize("cell", ["3/7/2026", "31.2.2026", "March", "07.03.26", "1890-01-01"])
def test_a_day_that_could_be_another_is_refused(cell: str) -> None:
    (problem,) = read_fleet(f"code;flooded\nT1;{cell}\n".encode()).problems
    assert problem.code == "date"


def test_a_day_as_a_workbook_keeps_it() -> None:
    content = workbook_of([["code", "Flooded on"], ["T1", dt.datetime(2026, 3, 7)]])  # noqa: DTZ001
    assert read_fleet(content).rows[0].flooded_on == dt.date(2026, 3, 7)


def test_a_column_without_a_unit_is_decided_as_a_whole_and_said() -> None:
    file = read_fleet(b"code;length;width;height\nT1;60;30;36\nT2;120;45;45\n")
    assert [row.length_mm for row in file.rows] == [600, 1200]
    assert "Read as centimetres" in file.questions[0].sentence
    file = read_fleet(b"code;length;width;height\nT1;600;300;360\nT2;1200;450;450\n")
    assert [row.length_mm for row in file.rows] == [600, 1200]
    assert "Read as millimetres" in file.questions[0].sentence


def test_a_column_that_could_be_either_unit_is_asked() -> None:
    content = b"code;length;width;height\nT1;200;100;100\n"
    with pytest.raises(NotReadable, match="could be centimetres or millimetres") as caught:
        read_fleet(content)
    assert caught.value.code == "ask_unit"
    assert read_fleet(content, length_unit="mm").rows[0].length_mm == 200
    assert read_fleet(content, length_unit="cm").rows[0].length_mm == 2000


def test_inner_measures_are_not_taken_for_outer_ones() -> None:
    file = read_fleet("Becken;Länge innen cm;Höhe cm\nT1;58,8;36\n".encode())
    assert file.rows[0].length_mm is None
    assert [column.heading for column in file.unknown_columns] == ["Länge innen cm"]


def test_two_columns_of_one_meaning_are_said_and_a_difference_is_named() -> None:
    file = read_fleet(b"code;length cm;dims cm\nT1;60;60x30x36\nT2;60;90x45x45\n")
    assert file.rows[0].is_good
    assert "says otherwise" in file.rows[1].problems[0].sentence


def test_two_tanks_at_one_place_are_named_with_both_rows() -> None:
    file = read_fleet(b"code;room;place\nT1;North;N1\nT2;North;N1\nT3;South;N1\n")
    (problem,) = file.problems
    assert (problem.row, problem.other_row, problem.code) == (3, 2, "double_place")


def test_a_plan_per_week_is_left_out_with_its_reason() -> None:
    file = read_fleet(b"code;dose ml per week;room\nT1;21;North\n")
    assert file.rows[0].dose_ul_day is None
    assert file.unknown_columns[0].left_out == (
        "it is per week, and a plan wants an amount per day"
    )


def test_an_unknown_column_can_be_given_a_meaning() -> None:
    content = b"code;nickname;room\nT1;Heron, Absent;North\n"
    assert read_fleet(content).rows[0].title is None
    assert read_fleet(content, meanings={"B": "title"}).rows[0].title == "Heron, Absent"


def test_glass_too_thin_for_its_height_is_asked_not_refused() -> None:
    file = read_fleet(b"code;dims cm;glass mm\nT20;200x70x70;10\n")
    assert file.rows[0].glass_mm == 10
    assert "glass 10 mm at 70 cm high. Usual is 12 to 19 mm" in file.questions[0].sentence
