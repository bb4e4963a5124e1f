"""Does a list come in whole or not at all, once and not twice?"""

from __future__ import annotations

import pytest

from gallery_ops.fleet_file.undo import undo_import
from gallery_ops.kernel.errors import Forbidden, Refused
from gallery_ops.kernel.models import AuditEntry
from gallery_ops.kernel.services.people import add_person
from gallery_ops.overview.figures import figures
from inventory.models import UsePlan
from inventory.queries.plans import planned_for_day
from maintenance.models import ImportRun
from tanks.models import Layout, Position, Room, Tank
from tanks.queries.tanks import fleet

from .a_gallery import AT, FILES, OUTSIDE, Gallery, a_gallery

pytestmark = pytest.mark.django_db

FLEET = (OUTSIDE / "demo_fleet.csv").read_bytes()
HEAD = b"code;title;room;place;length cm;width cm;height cm;glass mm;stage;dose ml\n"
ONE = HEAD + b"T11;Ferry;North;N1;90;45;45;8;show;9\n"


def fates(gallery: Gallery, content: bytes) -> dict[str, str]:
    return {row.row.code: row.fate for row in gallery.dry(content).plan.rows}


def changes(gallery: Gallery, content: bytes) -> list[tuple[str, str, str]]:
    (row,) = gallery.dry(content).plan.rows
    return [(change.what, change.before, change.after) for change in row.changes]


def test_a_dry_run_writes_nothing() -> None:
    gallery = a_gallery()
    before = AuditEntry.objects.count()
    assert set(fates(gallery, FLEET).values()) == {"new"}
    assert Tank.objects.count() == Room.objects.count() == ImportRun.objects.count() == 0
    assert AuditEntry.objects.count() == before


def test_the_reference_fleet_stands_as_its_list_says() -> None:
    # Source: demo_fleet.csv, whose totals by hand are 196 mL, 127 g CO2 and 5.795 g food a day.
    gallery = a_gallery()
    run = gallery.bring(FLEET)
    assert run is not None
    assert run.rows == 20
    tanks = gallery.tanks
    assert list(tanks) == [f"T{number:02}" for number in range(1, 21)]  # walking order
    t05 = tanks["T05"].volumes
    assert (round(t05.outer_l, 2), round(t05.inner_l, 2)) == (64.8, 59.95)
    assert tanks["T09"].layout is None
    assert tanks["T04"].layout.has_co2 is False
    assert {code: tanks[code].stage for code in ("T01", "T03", "T08", "T10", "T14")} == {
        "T01": "show",
        "T03": "grow_in",
        "T08": "start_up",
        "T10": "decline",
        "T14": "start_up",
    }
    planned = planned_for_day(gallery.showroom, AT.date()).values()
    totals = dict.fromkeys(("dose", "gas", "food"), 0)
    for row in planned:
        totals[row.purpose] += row.amount_base
    assert totals == {"dose": 196_000, "gas": 127_000, "food": 5_795}
    assert len([row for row in planned if row.purpose == "dose"]) == 18  # not T09, not T14


def test_the_same_file_twice_makes_no_doubles_and_says_so() -> None:
    gallery = a_gallery()
    gallery.bring(FLEET)
    gallery.later(hours=1)
    plan = gallery.dry(FLEET).plan
    assert {row.fate for row in plan.rows} == {"same"}
    assert plan.already is not None
    assert plan.already.person == gallery.manager.person
    with pytest.raises(Refused, match="brought in before") as caught:
        gallery.bring(FLEET)
    assert caught.value.code == "already_in"
    assert Tank.objects.count() == 20


def test_the_same_content_in_another_file_changes_nothing() -> None:
    gallery = a_gallery()
    gallery.bring(FLEET)
    assert gallery.bring(FLEET + b"\n") is None
    assert ImportRun.objects.count() == 1
    assert (Tank.objects.count(), Layout.objects.count()) == (20, 19)


def test_a_list_says_the_kind_of_glass_changes_it_and_takes_it_back() -> None:
    gallery = a_gallery()
    gallery.bring(ONE)
    assert gallery.tanks["T11"].tank.kind_of_glass == "float"
    head, row = HEAD.strip(), ONE.removeprefix(HEAD).strip()
    same = head + b";Glass type\n" + row + b";Float glass\n"
    assert fates(gallery, same) == {"T11": "same"}
    for heading, cell in ((b"Kind of glass", b"low-iron"), (b"Glasart", "Weißglas".encode())):
        content = head + b";" + heading + b"\n" + row + b";" + cell + b"\n"
        assert changes(gallery, content) == [("kind_of_glass", "float", "low-iron")]
    gallery.later(hours=1)
    run = gallery.bring(content)
    assert run is not None
    assert gallery.tanks["T11"].tank.kind_of_glass == "low_iron"
    gallery.later(hours=1)
    undo_import(run=run, by=gallery.manager, at=gallery.at)
    assert gallery.tanks["T11"].tank.kind_of_glass == "float"
    wrong = head + b";glass type\n" + row + b";crystal\n"
    (refused,) = gallery.dry(wrong).plan.problems
    assert "Write one of: float, low-iron." in refused.sentence


def test_wrong_rows_stop_the_whole_list_unless_they_are_left_out() -> None:
    gallery = a_gallery()
    content = (FILES / "becken_cp1252.csv").read_bytes()
    with pytest.raises(Refused, match="2 of 8 rows cannot come in, so nothing was written"):
        gallery.bring(content)
    assert Tank.objects.count() == ImportRun.objects.count() == 0
    run = gallery.bring(content, leave_out=True)
    assert run is not None
    assert list(gallery.tanks) == ["B01", "B02", "B03", "B04", "B05", "B06"]
    assert gallery.tanks["B03"].title == "Große Ebbe"
    assert [room.name for room in Room.objects.order_by("walking_order")] == [
        "Nordsaal",
        "Südsaal",
        "Keller",
    ]


def test_a_failure_in_the_last_row_leaves_nothing_behind(monkeypatch: pytest.MonkeyPatch) -> None:
    from gallery_ops.fleet_file import planting

    real = planting.layouts.begin_layout

    def fails_at_t20(**given: object) -> object:
        if given["title"] == "Layout of T20":
            raise Refused("planted_fault", "The tank was replaced.")
        return real(**given)

    monkeypatch.setattr(planting.layouts, "begin_layout", fails_at_t20)
    gallery = a_gallery()
    with pytest.raises(Refused, match=r"Row 21, T20: The tank was replaced\. Nothing"):
        gallery.bring(FLEET)
    assert Tank.objects.count() == Room.objects.count() == ImportRun.objects.count() == 0


def test_changes_are_said_with_before_and_after_and_then_stand() -> None:
    gallery = a_gallery()
    gallery.bring(ONE)
    gallery.later(hours=1)
    mended = HEAD + b"T11;Ferry Steps;North Room;N1;90;45;50;8;decline;7,5\n"
    assert changes(gallery, mended) == [
        ("height_mm", "45 cm", "50 cm"),
        ("room", "North", "North Room"),
        ("title", "“Ferry”", "“Ferry Steps”"),
        ("stage", "show", "decline"),
        ("dose", "9 mL", "7.5 mL"),
    ]
    gallery.bring(mended)
    (tank,) = fleet(gallery.showroom, gallery.at)
    assert (tank.title, tank.stage, tank.room_name) == ("Ferry Steps", "decline", "North Room")
    assert tank.tank.height_mm == 500
    assert changes(gallery, mended) == []


def test_a_changed_amount_opens_a_new_version_of_the_plan() -> None:
    gallery = a_gallery()
    gallery.bring(ONE)
    gallery.later(days=3)
    gallery.bring(ONE.replace(b";9\n", b";8\n"))
    versions = UsePlan.objects.filter(purpose="dose").order_by("version")
    assert [
        (plan.version, plan.from_on.day, plan.to_on and plan.to_on.day) for plan in versions
    ] == [
        (1, 12, 15),
        (2, 15, None),
    ]


def test_what_the_list_does_not_say_stays() -> None:
    gallery = a_gallery()
    gallery.bring(ONE)
    gallery.later(hours=1)
    assert fates(gallery, b"code;title\nT11;Ferry\n") == {"T11": "same"}
    assert fates(gallery, b"code;height cm\nT11;45\n") == {"T11": "same"}


def test_a_new_tank_wants_its_measures_and_its_glass() -> None:
    gallery = a_gallery()
    (row,) = gallery.dry(b"code;title;dims cm\nT1;Heron;\n").plan.rows
    assert [problem.sentence for problem in row.row.problems] == [
        "Row 2, column C “dims cm”: it is empty. A new tank wants its length."
    ]
    (row,) = gallery.dry(b"code;dims cm\nT1;60x30x36\n").plan.rows
    assert [problem.sentence for problem in row.row.problems] == [
        "Row 2: A new tank wants its glass."
    ]


def test_an_old_code_is_not_taken_for_a_new_tank() -> None:
    from tanks.services.placements import rename_tank

    gallery = a_gallery()
    gallery.bring(ONE)
    gallery.later(hours=1)
    tank = gallery.tanks["T11"].tank
    rename_tank(tank=tank, code="N11", by=gallery.manager, at=gallery.at)
    (row,) = gallery.dry(ONE + b"\n").plan.rows
    assert row.fate == "refused"
    assert "That is the old code of N11" in row.row.problems[0].sentence


def test_a_place_that_is_taken_is_named() -> None:
    gallery = a_gallery()
    gallery.bring(ONE)
    gallery.later(hours=1)
    (row,) = gallery.dry(HEAD + b"T12;Other;North;N1;90;45;45;8;show;9\n").plan.rows
    assert row.fate == "refused"
    assert row.row.problems[0].sentence.endswith(
        "it says “N1”. T11 stands at “N1” in North. Move it first."
    )


def test_a_layout_that_stands_is_not_closed_by_a_list() -> None:
    gallery = a_gallery()
    gallery.bring(ONE)
    gallery.later(hours=1)
    content = HEAD + b"T11;Ferry;North;N1;90;45;45;8;vacant;0\n"
    plan = gallery.dry(content).plan
    assert plan.rows[0].fate == "same"
    assert any(question.code == "layout_stands" for question in plan.questions)
    assert gallery.tanks["T11"].layout is not None


def test_tanks_without_a_room_are_placed_in_the_order_of_the_list_and_that_is_said() -> None:
    gallery = a_gallery()
    plan = gallery.dry(FLEET).plan
    said = next(question for question in plan.questions if question.code == "no_room")
    assert said.sentence == (
        "Rows 2 to 21: no room named. They come into “Undershore”, in the order of the list."
    )
    gallery.bring(FLEET)
    orders = list(Position.objects.order_by("walking_order").values_list("name", flat=True))
    assert orders == [f"T{number:02}" for number in range(1, 21)]


def test_columns_that_are_only_compared_are_named() -> None:
    plan = a_gallery().dry(FLEET).plan
    kept = next(question for question in plan.questions if question.code == "not_kept")
    assert "“cyl_g”" in kept.sentence
    assert "“wc_l_week”" in kept.sentence


def test_full_doses_are_kept_as_the_rule_that_they_follow() -> None:
    # Source: demo_fleet.csv, whose full doses add up to 211 mL by hand; 0.05 mL per litre of
    # outer volume to the nearest millilitre (common practice, no source) gives each of them.
    gallery = a_gallery()
    said = [q.sentence for q in gallery.dry(FLEET).plan.questions if q.code == "full_dose"]
    assert said == ["Full doses follow one rule, 50 µL per litre outside. It is kept."]
    gallery.bring(FLEET)
    gallery.later(hours=1)
    assert figures(gallery.showroom, gallery.at).dose_ml_per_day_all_full == 211
    other = FLEET.replace(b"51.84,3,3,2.5", b"51.84,4,3,2.5", 1)
    said = [q.sentence for q in gallery.dry(other).plan.questions if q.code == "full_dose"]
    assert said == ["Row 6: full dose is not 50 µL per litre outside, and is left out."]


def test_full_doses_without_a_rule_are_left_out_and_that_is_said() -> None:
    content = b"code;dims cm;glass;full dose ml\nT1;60x30x36;6;3\nT2;60x30x36;6;9\n"
    questions = a_gallery().dry(content).plan.questions
    assert any("follow no rule per litre" in question.sentence for question in questions)


def test_only_those_with_the_right_bring_a_list_in() -> None:
    gallery = a_gallery()
    carer = add_person(
        showroom=gallery.showroom,
        login="pia",
        name="Pia Sandgrove",
        role="carer",
        by=gallery.owner,
        at=AT,
    )
    with pytest.raises(Forbidden):
        gallery.bring(FLEET, by=carer)
    assert Tank.objects.count() == 0


def test_another_showroom_is_neither_seen_nor_touched() -> None:
    here, there = a_gallery(), a_gallery("farshore")
    there.bring(FLEET)
    assert set(fates(here, FLEET).values()) == {"new"}
    assert here.dry(FLEET).plan.already is None
    here.bring(FLEET)
    assert len(here.tanks) == len(there.tanks) == 20
    assert Tank.objects.count() == 40


@pytest.mark.once
def test_a_dry_run_asks_the_same_number_of_questions_of_20_and_of_200_tanks() -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    gallery = a_gallery()
    counts = []
    for number in (20, 200):
        rows = "".join(f"X{n:03};60x30x36;6;show;3\n" for n in range(number))
        content = f"code;dims cm;glass mm;stage;dose ml\n{rows}".encode()
        gallery.bring(content)
        gallery.later(hours=1)
        with CaptureQueriesContext(connection) as caught:
            gallery.dry(content)
        counts.append(len(caught))
    assert counts[0] == counts[1]
