"""Rows of a showroom become drawings, at addresses that may be kept for ever."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from gallery_ops.drawing import Detail, Place, Rock, Stage, standalone
from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Showroom
from gallery_ops.overview import drawings
from tanks.models import Layout
from tanks.services.layouts import add_hardscape, add_plant_group, begin_layout
from tests.builders.gallery import AT, a_showroom, a_tank, an_owner

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _as_after_a_start() -> None:
    drawings.known.forget()


def a_layout(code: str, showroom: Showroom, *pieces: dict[str, Any]) -> Layout:
    """A tank of 90 x 45 x 45 cm with a layout and this hardscape."""
    owner = an_owner(showroom)
    layout = begin_layout(
        tank=a_tank(code, showroom=showroom, size_mm=(900, 450, 450, 8)),
        title=f"Steps of {code}",
        stage="show",
        profile="left",
        by=owner,
        at=AT,
    )
    for piece in pieces:
        add_hardscape(layout=layout, by=owner, at=AT, **piece)
    return layout


def a_built_tank(code: str, showroom: Showroom) -> None:
    """The same with wood, a step and red stems on the left."""
    layout = a_layout(
        code,
        showroom,
        {"kind": "wood", "centre_permille": 250, "length_mm": 300, "height_mm": 330},
        {
            "kind": "stone",
            "name": "upper step",
            "centre_permille": 450,
            "length_mm": 100,
            "height_mm": 80,
        },
    )
    add_plant_group(
        layout=layout,
        species=[],
        number=1,
        place="background",
        centre_permille=200,
        spread_permille=300,
        height_mm=270,
        fixing="planted",
        leaf_colour="red",
        by=an_owner(showroom),
        at=AT,
    )


def test_a_layout_is_drawn_from_its_own_rows() -> None:
    showroom = a_showroom()
    a_built_tank("T11", showroom)
    a_tank("T09", showroom=showroom)
    shapes = drawings.shapes(showroom, AT + timedelta(hours=1))
    built, vacant = shapes["T11"], shapes["T09"]
    assert (built.length_mm, built.height_mm, built.glass_mm) == (900, 450, 8)
    assert (built.stage, built.title) == (Stage.SHOW, "Steps of T11")
    assert [p.place for p in built.plants] == [Place.BACKGROUND]
    assert (round(built.plants[0].start, 3), round(built.plants[0].end, 3)) == (0.05, 0.35)
    assert [h.kind for h in built.hardscape] == [Rock.WOOD, Rock.STEP]
    assert not built.has_animals
    assert vacant.stage is Stage.VACANT
    assert vacant.plants == ()


def test_one_stone_alone_is_a_group_and_several_are_single_stones() -> None:
    showroom = a_showroom()
    stone = {"kind": "stone", "centre_permille": 500, "length_mm": 200, "height_mm": 200}
    a_layout("S1", showroom, stone)
    a_layout("S3", showroom, stone, stone, stone)
    shapes = drawings.shapes(showroom, AT + timedelta(hours=1))
    assert [h.kind for h in shapes["S1"].hardscape] == [Rock.STONES]
    assert [h.kind for h in shapes["S3"].hardscape] == [Rock.STONE] * 3


@pytest.mark.once
def test_no_query_grows_with_the_fleet() -> None:
    counts = []
    for size in (3, 30):
        showroom = a_showroom()
        for i in range(size):
            a_built_tank(f"Q{i:02}", showroom)
        with CaptureQueriesContext(
            connection,
        ) as seen:
            assert len(drawings.shapes(showroom, AT + timedelta(hours=1))) == size
        counts.append(len(seen))
    assert counts[0] == counts[1]


def test_an_address_answers_for_everybody_and_may_be_kept_for_ever(client: Client) -> None:
    showroom = a_showroom()
    a_built_tank("T11", showroom)
    shape = drawings.shapes(showroom, AT + timedelta(hours=1))["T11"]
    answer = client.get(drawings.address(shape))
    assert answer.status_code == 200
    assert answer["Content-Type"] == "image/svg+xml"
    assert answer["Cache-Control"] == "public, max-age=31536000, immutable"
    assert not answer.cookies
    assert answer.content.decode() == standalone(shape)
    assert "unsafe-inline" not in answer["Content-Security-Policy"]
    assert "style-src 'sha256-" in answer["Content-Security-Policy"]


def test_a_process_that_has_just_started_finds_the_drawing_by_looking(client: Client) -> None:
    showroom = a_showroom()
    a_built_tank("T11", showroom)
    shape = drawings.shapes(showroom, AT + timedelta(hours=1))["T11"]
    address = drawings.address(shape, Detail.WALK)
    drawings.known.forget()
    assert client.get(address).status_code == 200


def test_a_name_that_no_tank_has_is_not_found_and_is_not_looked_for_twice(client: Client) -> None:
    a_built_tank("T11", a_showroom())
    assert client.get(f"/drawings/{'0' * 20}.svg").status_code == 404
    with CaptureQueriesContext(connection) as seen, pytest.raises(Unknown):
        drawings.drawing_file("1" * 20, AT)
    assert len(seen) == 0  # within a second of the last look
    assert client.get("/drawings/../settings.svg").status_code == 404
