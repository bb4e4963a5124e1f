"""Is a mistyped code always noticed?"""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gallery_ops.kernel.values.codes import (
    ALPHABET,
    LENGTH,
    is_code,
    new_code,
    parse_code,
    printed,
)
from gallery_ops.kernel.values.limits import OutOfRange
from tests.strategies import codes


def test_alphabet_leaves_out_what_looks_alike() -> None:
    assert not set("0O1IL") & set(ALPHABET)
    assert len(set(ALPHABET)) == len(ALPHABET) == 31


@given(codes())
def test_every_single_wrong_character_is_noticed(code: str) -> None:
    for place in range(LENGTH):
        for other in set(ALPHABET) - {code[place]}:
            assert not is_code(code[:place] + other + code[place + 1 :])


@given(codes(), st.integers(0, LENGTH - 1), st.integers(0, LENGTH - 1))
def test_every_exchange_of_two_characters_is_noticed(code: str, one: int, two: int) -> None:
    swapped = list(code)
    swapped[one], swapped[two] = swapped[two], swapped[one]
    assert is_code("".join(swapped)) == (code[one] == code[two] or one == two)


def test_every_pair_of_neighbours_at_every_place_is_noticed_when_swapped() -> None:
    """All 31 x 30 pairs at all seven places, the check character among them."""
    from gallery_ops.kernel.values.codes import check_character

    tried = 0
    for place in range(LENGTH - 1):
        for left in ALPHABET:
            for right in ALPHABET:
                if left == right:
                    continue
                code = _code_with(place, left, right, check_character)
                if code is None:
                    continue
                swapped = code[:place] + right + left + code[place + 2 :]
                assert is_code(code), code
                assert not is_code(swapped), (code, swapped)
                tried += 1
    assert tried == 7 * 31 * 30


def _code_with(place, left, right, check_character):
    """A code that has these two characters side by side at this place."""
    if place < LENGTH - 2:
        body = "2" * place + left + right + "2" * (LENGTH - 3 - place)
        return body + check_character(body)
    for first in ALPHABET:
        body = first + "2" * (LENGTH - 3) + left
        if check_character(body) == right:
            return body + right
    return None


@given(codes())
def test_typed_with_small_letters_spaces_and_hyphens_it_is_the_same_code(code: str) -> None:
    assert parse_code(printed(code).lower()) == code
    assert parse_code(f"  {code[:2]} {code[2:]}\u00a0") == code
    assert parse_code(f"{code[:4]}\u2013{code[4:]}") == code


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("", "nothing was given"),
        ("2222-222", "7 characters"),
        ("2222-2220", "never holds 0"),
        ("2222-222L", "never holds L"),
        ("2222-2223", "wrong or two are swapped"),
        ("2222-222é", "never holds"),
    ],
)
def test_a_wrong_code_is_refused_with_what_to_do(typed: str, says: str) -> None:
    with pytest.raises(OutOfRange, match=says):
        parse_code(typed)


def test_fresh_codes_are_right_and_differ() -> None:
    made = {new_code() for _ in range(2000)}
    assert len(made) == 2000
    assert all(is_code(code) for code in made)


def test_a_seed_gives_the_same_codes_again() -> None:
    assert new_code(random.Random(7).choice) == new_code(random.Random(7).choice)
