"""Is the unit understood that a person wrote?"""

from fractions import Fraction

import pytest

from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.units import UNITS, Dimension, find, length_mm, unit


def test_every_unit_is_found_by_its_code_and_by_what_is_shown() -> None:
    for one in UNITS:
        assert unit(one.code) is one
        assert find(one.code) is one
        assert find(one.shown) is one


def test_no_spelling_stands_for_two_units() -> None:
    seen: dict[str, str] = {}
    for one in UNITS:
        for word in one.spellings:
            assert seen.setdefault(word.casefold(), one.code) == one.code, word


@pytest.mark.parametrize(
    ("typed", "code"),
    [
        ("ML", "mL"),
        ("µl", "uL"),
        ("\u03bcL", "uL"),
        ("Liter", "L"),
        ("°C", "Cel"),
        ("dKH", "{dKH}"),
        ("ppm", "mg/L"),
        ("Stk.", "{piece}"),
        ("M", "m"),
    ],
)
def test_spellings(typed: str, code: str) -> None:
    assert find(typed).code == code


def test_a_unit_of_another_dimension_is_refused_with_those_allowed() -> None:
    with pytest.raises(OutOfRange, match="mg, g, kg"):
        find("mL", dimension=Dimension.MASS)
    with pytest.raises(OutOfRange):
        find("furlong")
    with pytest.raises(OutOfRange):
        unit("ml")


def test_lengths() -> None:
    assert length_mm(60, "cm") == 600
    assert length_mm(Fraction(3, 2), "m") == 1500
    with pytest.raises(OutOfRange):
        length_mm(1, "in")
