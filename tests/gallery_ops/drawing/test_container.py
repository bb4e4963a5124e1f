"""A container is drawn filled to its level, and told apart without colour."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gallery_ops.drawing import container_svg

KINDS = ("bottle", "can", "tub", "bag", "box", "cylinder")


def height_of_content(svg: str) -> float:
    """Of the one rectangle in it; 0 where nothing is drawn."""
    found = re.search(r'<rect class="v-in"[^>]* height="([0-9.]+)"', svg)
    return float(found[1]) if found else 0.0


@pytest.mark.parametrize("kind", KINDS)
def test_twice_as_full_is_twice_as_high(kind: str) -> None:
    full = height_of_content(container_svg(kind, 1.0))
    assert full > 30
    assert height_of_content(container_svg(kind, 0.5)) == pytest.approx(full / 2, abs=0.1)
    assert height_of_content(container_svg(kind, 0.0)) == 0


@given(st.sampled_from(KINDS), st.one_of(st.none(), st.floats(-5, 5)), st.booleans())
def test_any_level_is_a_whole_drawing_inside_its_box(
    kind: str, full: float | None, regulator: bool
) -> None:
    svg = container_svg(kind, full, regulator=regulator)
    ElementTree.fromstring(svg)  # noqa: S314 - our own
    assert height_of_content(svg) <= 90
    assert ("v-un" in svg) == (full is None)


def test_each_kind_has_its_own_outline_and_only_a_cylinder_a_regulator() -> None:
    drawn = {kind: container_svg(kind, None) for kind in KINDS}
    assert len(set(drawn.values())) == len(KINDS)
    for kind in KINDS:
        same = container_svg(kind, None, regulator=True) == drawn[kind]
        assert same == (kind != "cylinder")
    assert 'role="img" aria-label="Half &quot;full&quot;"' in container_svg(
        "tub", 0.5, sentence='Half "full"'
    )
