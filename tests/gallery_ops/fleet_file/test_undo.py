"""Is an import taken back as a whole, without taking away what people wrote since?"""

from __future__ import annotations

import pytest

from gallery_ops.fleet_file.undo import Undone, undo_import
from gallery_ops.kernel.errors import Refused
from inventory.models import Item
from inventory.queries.plans import planned_for_day
from tanks.models import Designer, Position, Room, Tank, Zone
from tanks.services.layouts import change_layout
from tanks.services.stages import advance_stage

from .a_gallery import OUTSIDE, Gallery, a_gallery

pytestmark = pytest.mark.django_db

FLEET = (OUTSIDE / "demo_fleet.csv").read_bytes()
HEAD = b"code;title;room;place;designer;length cm;width cm;height cm;glass mm;stage;dose ml\n"
FERRY = HEAD + b"T11;Ferry;North;N1;Corvin Aldaye;90;45;45;8;show;9\n"
MENDED = HEAD + b"T11;Ferry Steps;North;N2;Hesper Dunning;90;45;50;8;decline;7\n"


def undo(gallery: Gallery, content: bytes) -> Undone:
    import hashlib

    from maintenance.queries.imports import import_of

    run = import_of(gallery.showroom, hashlib.sha256(content).hexdigest())
    return undo_import(run=run, by=gallery.manager, at=gallery.at)


def standing_rows() -> int:
    models = (Tank, Room, Zone, Position, Designer, Item)
    return sum(model.objects.filter(voided_at=None).count() for model in models)


def dose(gallery: Gallery) -> int:
    day = gallery.at.date()
    rows = planned_for_day(gallery.showroom, day, purpose="dose").values()
    return sum(row.amount_base for row in rows)


def test_everything_that_an_import_made_counts_as_never_written() -> None:
    gallery = a_gallery()
    gallery.bring(FLEET)
    gallery.later(hours=23)
    result = undo(gallery, FLEET)
    assert len(result.voided) == 20
    assert result.kept == []
    assert gallery.tanks == {}
    assert standing_rows() == 0
    assert dose(gallery) == 0


def test_after_undo_the_same_file_comes_in_again() -> None:
    gallery = a_gallery()
    gallery.bring(FLEET)
    gallery.later(hours=1)
    undo(gallery, FLEET)
    gallery.later(hours=1)
    assert gallery.bring(FLEET) is not None
    assert len(gallery.tanks) == 20
    assert dose(gallery) == 196_000


def test_changes_go_back_to_what_stood_before() -> None:
    gallery = a_gallery()
    gallery.bring(FERRY)
    gallery.later(days=2)
    gallery.bring(MENDED)
    gallery.later(hours=1)
    assert (gallery.tanks["T11"].title, dose(gallery)) == ("Ferry Steps", 7_000)
    result = undo(gallery, MENDED)
    assert (result.voided, result.kept) == ([], [])
    tank = gallery.tanks["T11"]
    assert (tank.title, tank.stage, tank.tank.height_mm) == ("Ferry", "show", 450)
    assert tank.layout is not None
    assert tank.layout.designer is not None
    assert tank.layout.designer.name == "Corvin Aldaye"
    gallery.later(minutes=1)
    assert tank.position is not None
    assert gallery.tanks["T11"].position.name == "N1"
    assert dose(gallery) == 9_000
    assert not Position.objects.filter(name="N2", voided_at=None).exists()


def test_a_day_of_flooding_goes_back_too() -> None:
    gallery = a_gallery()
    head = b"code;title;stage;dims cm;glass;flooded\n"
    gallery.bring(head + b"T14;Weir;start-up;90x45x45;8;2026-03-07\n")
    assert gallery.tanks["T14"].day == 5
    gallery.later(hours=1)
    changed = head + b"T14;Weir;start-up;90x45x45;8;2026-03-08\n"
    gallery.bring(changed)
    assert gallery.tanks["T14"].day == 4
    undo(gallery, changed)
    assert gallery.tanks["T14"].day == 5
    (row,) = gallery.dry(head + b"T14;Weir;start-up;90x45x45;8;2026-03-13\n").plan.rows
    assert "That day has not come yet." in row.row.problems[0].sentence


def test_a_tank_on_which_something_was_written_is_kept_and_named() -> None:
    gallery = a_gallery()
    gallery.bring(FLEET)
    gallery.later(hours=1)
    layout = gallery.tanks["T03"].layout
    assert layout is not None
    advance_stage(layout=layout, to="show", by=gallery.manager, at=gallery.at)
    gallery.later(hours=1)
    result = undo(gallery, FLEET)
    assert len(result.voided) == 19
    assert result.kept == ["T03: a change of stage"]
    assert list(gallery.tanks) == ["T03"]
    assert gallery.tanks["T03"].position is not None
    assert dose(gallery) == 2_000


def test_a_value_that_somebody_changed_since_is_kept_and_named() -> None:
    gallery = a_gallery()
    gallery.bring(FERRY)
    gallery.later(hours=1)
    gallery.bring(MENDED)
    gallery.later(hours=1)
    layout = gallery.tanks["T11"].layout
    assert layout is not None
    change_layout(layout=layout, title="Ferry at Dusk", by=gallery.manager, at=gallery.at)
    result = undo(gallery, MENDED)
    assert result.kept == ["T11: its title was changed since"]
    assert gallery.tanks["T11"].title == "Ferry at Dusk"
    assert gallery.tanks["T11"].tank.height_mm == 450


def test_after_24_hours_and_a_second_time_it_is_refused() -> None:
    gallery = a_gallery()
    gallery.bring(FLEET)
    gallery.later(hours=24, minutes=1)
    with pytest.raises(Refused, match="for 24 hours") as caught:
        undo(gallery, FLEET)
    assert caught.value.code == "too_late"
    assert len(gallery.tanks) == 20
    gallery.later(hours=-20)
    from maintenance.models import ImportRun

    run = ImportRun.objects.get()
    undo_import(run=run, by=gallery.manager, at=gallery.at)
    run.refresh_from_db()
    with pytest.raises(Refused, match="taken back already"):
        undo_import(run=run, by=gallery.manager, at=gallery.at)
