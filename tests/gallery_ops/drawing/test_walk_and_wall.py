"""Walk, wall and outlines: one floor, one scale, and states that shape alone tells apart."""

import re

from gallery_ops.drawing import (
    MARKS,
    Outline,
    Stage,
    State,
    Stop,
    floors,
    hang,
    mark,
    outlines,
    walk,
    wall_piece,
)
from tests.gallery_ops.drawing.pieces import a_shape
from tests.gallery_ops.drawing.test_front_view import SVG, parsed


def test_each_stop_is_a_door_named_by_what_is_printed_under_it() -> None:
    stops = [
        Stop(a_shape("T01", title="Doorstep, Rain"), State.DONE, "/tanks/T01/"),
        Stop(a_shape("T02", title='The "Fen" & more'), State.TO_DO, "/tanks/T02/", is_here=True),
    ]
    root = parsed(walk(stops))
    doors = [e for e in root if e.tag == SVG + "a"]
    assert [d.get("aria-label") for d in doors] == [
        "01, T01 Doorstep, Rain, done",
        '02, T02 The "Fen" & more, to do, you are here',
    ]
    assert [d.get("href") for d in doors] == ["/tanks/T01/", "/tanks/T02/"]
    assert doors[1].get("aria-current") == "step"
    for door in doors:
        printed = [e.text for e in door if e.tag == SVG + "text"]
        assert (door.get("aria-label") or "").startswith(f"{printed[0]},")


def test_every_state_has_a_shape_of_its_own() -> None:
    shapes = {}
    for state in State:
        text = walk([Stop(a_shape(), state)])
        inner = re.sub(r'(class="s-[^"]*"|aria-label="[^"]*")', "", text)
        shapes[state] = inner
    assert len(set(shapes.values())) == len(State)
    assert 'class="bare gone"' in shapes[State.EMPTY]
    assert 'class="skip"' in shapes[State.SKIPPED]
    assert 'class="half"' in shapes[State.HALF]


def test_all_tanks_of_a_walk_stand_on_one_floor_to_one_scale() -> None:
    sizes = {"T01": (300, 300, 350), "T11": (900, 450, 450), "T20": (2000, 700, 700)}
    stops = [Stop(a_shape(code, size=size), State.TO_DO) for code, size in sizes.items()]
    outline = re.findall(r'class="bare" d="M([\d.]+) ([\d.]+)V([\d.]+)H([\d.]+)', walk(stops))
    assert {floor for _, _, floor, _ in outline} == {"72"}
    drawn = [(float(r) - float(x), float(f) - float(y)) for x, y, f, r in outline]
    assert drawn == [(30, 35), (90, 45), (200, 70)]


def test_a_pin_says_where_you_are_and_is_not_cut_off() -> None:
    for size in ((300, 300, 350), (2000, 700, 700)):
        text = walk([Stop(a_shape(size=size), State.TO_DO, is_here=True)])
        top = float(re.findall(r'viewBox="-4 (-?[\d.]+)', text)[0])
        pin = float(re.findall(r'class="pin" d="M[\d.]+ (-?[\d.]+)', text)[0])
        assert pin > top


def test_a_vacant_tank_is_dashed_whatever_the_round_says() -> None:
    text = walk([Stop(a_shape(stage=Stage.VACANT), State.DONE)])
    assert 'class="bare gone"' in text


def test_a_long_walk_breaks_into_floors_and_loses_no_stop() -> None:
    stops = [Stop(a_shape(f"T{i:03}"), State.TO_DO) for i in range(200)]
    rows = floors(stops)
    assert [s for row in rows for s in row] == stops
    assert 5 <= len(rows) <= 12
    assert floors([]) == []


def test_a_room_breaks_into_rows_that_fit() -> None:
    tanks = [a_shape(f"W{i:03}", size=(1200, 450, 450)) for i in range(23)]
    rows = hang(tanks)
    assert [t for row in rows for t in row] == tanks
    for row in rows:
        assert sum(wall_piece(t).width_px + 12 for t in row) <= 1216 + 12


def test_outlines_tell_new_changed_same_and_refused_apart() -> None:
    fates = ("new", "changed", "same", "refused")
    texts = [outlines([Outline("T07", 600, 360, fate)], label="one") for fate in fates]
    assert len(set(texts)) == 4
    assert all(parsed(t).tag == SVG + "svg" for t in texts)
    assert parsed(outlines([Outline("T07", 0, 0, "refused")], label="no size")) is not None
    assert parsed(outlines([], label="nothing")) is not None


def test_marks_differ_in_shape_and_are_silent() -> None:
    assert len(set(MARKS.values())) == len(MARKS)
    for name in MARKS:
        assert parsed(mark(name)).get("aria-hidden") == "true"
