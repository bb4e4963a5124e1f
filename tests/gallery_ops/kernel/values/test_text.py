"""Is a number read as it was meant, and refused with words when it could mean two?"""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gallery_ops.kernel.values.limits import BadNumber, Limit, OutOfRange
from gallery_ops.kernel.values.text import clean_text, folded, parse_decimal, parse_with_unit
from tests.strategies import MARKS, decimals


@given(decimals(), MARKS)
def test_a_number_written_with_either_mark_is_read_back(number: Decimal, mark: str) -> None:
    text = f"{number.normalize():f}".replace(".", mark)
    assert parse_decimal(text, mark=mark) == number


@pytest.mark.parametrize(
    ("typed", "number"),
    [
        ("12,5", "12.5"),
        (" 12.5\u00a0", "12.5"),
        ("+3", "3"),
        ("\u22120,25", "-0.25"),
        (",5", "0.5"),
        ("0,250", "0.250"),
        ("2.772", "2.772"),
        ("007", "7"),
        ("12345678901234567890.123", "12345678901234567890.123"),
    ],
)
def test_what_people_type(typed: str, number: str) -> None:
    assert parse_decimal(typed) == Decimal(number)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("", "Write a number"),
        ("   ", "Write a number"),
        ("three", "Write digits"),
        ("1,234.5", "marks between thousands"),
        ("1.234.567", "marks between thousands"),
        ("1 000", "marks between thousands"),
        ("1'000", "marks between thousands"),
        ("1.000", "could mean 1000 or 1"),
        ("12,000", "could mean 12000 or 12"),
        ("1e3", "power of ten"),
        ("12,", "digit is missing"),
        ("٣", "Write digits"),
        ("--3", "Write digits"),
        ("nan", "Write digits"),
        ("9" * 41, "shorter number"),
        ("3\x00", "Write digits"),
    ],
)
def test_what_is_no_clear_number_is_refused_with_what_to_do(typed: str, says: str) -> None:
    with pytest.raises(BadNumber, match=says):
        parse_decimal(typed)


def test_where_the_mark_is_known_the_other_one_before_three_digits_is_refused() -> None:
    assert parse_decimal("1,250", mark=",") == Decimal("1.25")
    assert parse_decimal("1,25", mark=".") == Decimal("1.25")
    with pytest.raises(BadNumber, match="1250 or 1,25"):
        parse_decimal("1.250", mark=",")
    with pytest.raises(BadNumber, match=r"1250 or 1\.25"):
        parse_decimal("1,250", mark=".")


@given(st.text(max_size=60))
def test_any_text_gives_a_number_or_a_sentence(text: str) -> None:
    sentence = ""
    try:
        assert parse_decimal(text, field="Dose").is_finite()
    except OutOfRange as error:
        sentence = error.sentence
    assert sentence == "" or sentence.startswith("Dose: ")
    assert sentence.isprintable()


@pytest.mark.parametrize(
    ("typed", "number", "unit"),
    [
        ("12,5 ml", "12.5", "ml"),
        ("30mL", "30", "mL"),
        ("-3 °C", "-3", "°C"),
        ("7", "7", ""),
        ("450 mg/L", "450", "mg/L"),
    ],
)
def test_number_and_unit_come_apart(typed: str, number: str, unit: str) -> None:
    assert parse_with_unit(typed) == (Decimal(number), unit)


@pytest.mark.parametrize("typed", ["mL 3", "", "1 000 mL", "1,2,3 mL", "3 " + "m" * 50])
def test_number_and_unit_in_disorder_are_refused(typed: str) -> None:
    with pytest.raises(OutOfRange):
        parse_with_unit(typed)


def test_text_is_kept_without_what_no_one_can_see() -> None:
    assert clean_text(" Ana\r\nB ", field="Note", longest=9, lines=True) == "Ana\nB"
    assert clean_text("e\u0301", field="Name", longest=1) == "é"
    with pytest.raises(OutOfRange, match="control characters"):
        clean_text("a\x00b", field="Name", longest=9)
    with pytest.raises(OutOfRange, match="control characters"):
        clean_text("a\nb", field="Name", longest=9)
    with pytest.raises(OutOfRange, match="at most 3"):
        clean_text("abcd", field="Name", longest=3)


@given(st.text(max_size=40))
def test_folding_twice_changes_nothing(text: str) -> None:
    assert folded(folded(text)) == folded(text)


def test_folding_finds_what_case_and_accents_hide() -> None:
    assert folded("ÉTANG") == folded("étang") == "etang"


def test_a_limit_speaks_its_unit() -> None:
    limit = Limit(0, 30, "mL")
    limit.check("Dose", 30)
    with pytest.raises(OutOfRange, match=r'Dose: "31 mL" is not allowed. Allowed: 0 to 30 mL. Why'):
        limit.check("Dose", 31, "Why so much?")
    assert not limit.holds(float("nan"))
    with pytest.raises(ValueError, match="lies above"):
        Limit(2, 1)


def test_an_error_shows_long_or_strange_input_shortened() -> None:
    error = OutOfRange("Name", "less", "x" * 500 + "\x00")
    assert len(error.got) == 60
    assert "\x00" not in OutOfRange("Name", "less", "a\x00b").sentence
