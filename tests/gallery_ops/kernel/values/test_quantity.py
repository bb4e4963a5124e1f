"""Are amounts exact, and do they keep to their own kind?"""

import pickle
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gallery_ops.kernel.values.limits import BadNumber, OutOfRange
from gallery_ops.kernel.values.quantity import (
    MOST,
    Dimension,
    Mass,
    Pieces,
    Quantity,
    Volume,
    parse_quantity,
    quantity,
    split_whole,
    total_volume,
)
from tests.strategies import BASES, MARKS, amounts


def test_units_are_those_of_the_international_system() -> None:
    """Prefixes milli and micro: SI Brochure, 9th edition, table 7."""
    assert Volume.l(1) == Volume.ml(1000) == Volume(1_000_000)
    assert Mass.kg(1) == Mass.g(1000) == Mass(1_000_000)


@pytest.mark.parametrize("typed", ["12,5", "12.5", Decimal("12.5"), Fraction(25, 2)])
def test_an_amount_is_made_of_text_or_an_exact_number(typed: object) -> None:
    assert Volume.ml(typed) == Volume(12_500)  # type: ignore[arg-type]


@pytest.mark.parametrize("bad", [12.5, True, None])
def test_a_float_never_becomes_an_amount(bad: object) -> None:
    with pytest.raises(TypeError):
        Volume.ml(bad)  # type: ignore[arg-type]
    with pytest.raises(TypeError):
        Volume(bad)  # type: ignore[arg-type]


def test_kinds_do_not_mix() -> None:
    with pytest.raises(TypeError, match="Volume and Mass do not mix"):
        Volume(1) + Mass(1)  # type: ignore[operator]
    with pytest.raises(TypeError):
        Volume(1) < Pieces(1)  # type: ignore[operator]  # noqa: B015
    with pytest.raises(TypeError):
        Volume(1) * 1.5  # type: ignore[operator]
    assert Volume(1) != Mass(1)


def test_less_than_a_base_unit_is_refused_with_words() -> None:
    with pytest.raises(OutOfRange, match="whole µL"):
        Volume.ml("0,0001")
    with pytest.raises(OutOfRange, match="whole pcs"):
        parse_quantity("1,5", "piece")


def test_more_than_a_column_holds_is_refused() -> None:
    with pytest.raises(OutOfRange, match="smaller amount"):
        Volume.l(MOST)
    with pytest.raises(OutOfRange):
        Volume(MOST) + Volume(1)
    with pytest.raises(OutOfRange, match="finite"):
        Volume.ml(Decimal("NaN"))


@given(amounts(), MARKS)
def test_written_and_read_again_it_is_the_same(amount: Quantity, mark: str) -> None:
    assert parse_quantity(amount.text(mark), amount.dimension, mark=mark) == amount


@given(BASES, st.integers(1, 40))
def test_splitting_loses_nothing(base: int, parts: int) -> None:
    pieces = Volume(base).split(parts)
    assert total_volume(pieces) == Volume(base)
    assert max(pieces).ul - min(pieces).ul <= 1


@given(BASES, BASES)
def test_arithmetic_is_that_of_whole_numbers(one: int, two: int) -> None:
    assert (Mass(one) + Mass(two)).mg == one + two
    assert (Mass(one) - Mass(two)).mg == one - two
    assert (Mass(one) < Mass(two)) == (one < two)
    assert (Mass(one) >= Mass(two)) == (one >= two)
    assert abs(-Mass(one)) == Mass(abs(one))


@given(amounts())
def test_a_row_gives_back_what_was_stored(amount: Quantity) -> None:
    assert quantity(amount.dimension, amount.base) == amount
    assert quantity(str(amount.dimension), amount.base) == amount
    assert pickle.loads(pickle.dumps(amount)) == amount  # noqa: S301  our own bytes


@pytest.mark.parametrize(
    ("amount", "exact", "shown"),
    [
        (Volume(2_772), "2,772 mL", "2,8 mL"),
        (Volume(196_000), "196 mL", "196 mL"),
        (Volume(30), "30 µL", "30 µL"),
        (Volume(0), "0 mL", "0 mL"),
        (Volume(-51_844_000), "-51,844 L", "-51,84 L"),
        (Volume(3_720_000), "3,72 L", "3,72 L"),
        (Mass(127_000), "127 g", "127 g"),
        (Mass(2_000_000), "2 kg", "2 kg"),
        (Pieces(12), "12 pcs", "12 pcs"),
    ],
)
def test_shown_exactly_or_rounded_for_a_screen(amount: Quantity, exact: str, shown: str) -> None:
    assert amount.text(",") == exact
    assert amount.short(",") == shown


def test_a_bottle_holds_166_whole_doses_of_three_millilitres() -> None:
    """Plain division: 500 = 166 x 3 + 2."""
    assert Volume.ml(500) // Volume.ml(3) == 166
    assert Volume.ml(500) % Volume.ml(3) == Volume.ml(2)


def test_scaling_goes_to_the_nearest_base_unit() -> None:
    assert Volume(1000).scaled(Fraction(1, 3)) == Volume(333)
    assert Volume.ml(3).scaled(Decimal("0.924")) == Volume(2_772)
    assert Volume(3).ratio(Volume(4)) == Fraction(3, 4)


@pytest.mark.parametrize(
    ("typed", "dimension", "default", "expected"),
    [
        ("12,5 ml", "volume", None, Volume(12_500)),
        ("12.5", "volume", "mL", Volume(12_500)),
        ("0,5L", "volume", "mL", Volume(500_000)),
        ("250 Gramm", "mass", None, Mass(250_000)),
        ("7", "piece", None, Pieces(7)),
        ("7 Stk.", "piece", None, Pieces(7)),
    ],
)
def test_people_write_units_in_their_own_way(typed, dimension, default, expected) -> None:
    assert parse_quantity(typed, dimension, default=default) == expected


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("3", "unit after the number"),
        ("3 g", "µL, mL, cL, L"),
        ("3 mL of it", "Write one of these units"),
        ("mL", "number first"),
        ("1.000 mL", "could mean 1000 or 1"),
    ],
)
def test_an_unclear_amount_is_refused_with_words(typed: str, says: str) -> None:
    with pytest.raises(OutOfRange, match=says):
        parse_quantity(typed, Dimension.VOLUME)


def test_the_error_names_the_field() -> None:
    with pytest.raises(BadNumber, match=r"^Dose: ") as caught:
        parse_quantity("three mL", "volume", field="Dose")
    assert caught.value.field == "Dose"


def test_parts_must_be_counted() -> None:
    with pytest.raises(OutOfRange):
        split_whole(10, 0)


def test_estimates_leave_as_floats() -> None:
    assert Volume(2_772).in_ml == 2.772
    assert Volume(51_840_000).in_l == 51.84
    assert Mass(11_200).in_g == 11.2
    assert Mass(2_000_000).in_kg == 2.0
