"""Which code stands on the label, and was it typed right?

A code has eight characters, the last of them a check. The alphabet leaves out 0 O 1 I L and so has
31 characters, a prime. The check is a weighted sum modulo that prime with a different weight per
place: a changed character moves the sum by weight x difference, two exchanged ones by difference of
weights x difference of characters, and neither can be a multiple of a prime that is larger than
both factors. So every single wrong character and every exchange of two is caught (the argument of
ISBN-10, ISO 2108:2005; the number itself is ours).

The codes are random, not counted: 31 to the power 7 are 27.5 thousand million.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable

from .limits import OutOfRange

ALPHABET = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
LENGTH = 8
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 1)
_VALUE = {character: value for value, character in enumerate(ALPHABET)}
_SKIPPED = str.maketrans("", "", " \t\r\n\u00a0\u202f-\u2010\u2011\u2012\u2013\u2014\u2212")
_ALLOWED = "eight characters without 0, O, 1, I and L, such as those printed under the square"


def check_character(body: str) -> str:
    """The eighth character for the first seven.

    >>> check_character("2222222")
    '2'
    """
    if len(body) != LENGTH - 1 or any(c not in _VALUE for c in body):
        raise OutOfRange("Code", "seven characters of the alphabet", body)
    total = sum(weight * _VALUE[c] for weight, c in zip(_WEIGHTS, body, strict=False))
    return ALPHABET[-total % len(ALPHABET)]


def new_code(choose: Callable[[str], str] = secrets.choice) -> str:
    """A fresh random code. ``choose`` picks one character, for a seeded demo."""
    body = "".join(choose(ALPHABET) for _ in range(LENGTH - 1))
    return body + check_character(body)


def is_code(text: str) -> bool:
    """Whether the text is a code in its stored form, with the right check."""
    if len(text) != LENGTH or any(c not in _VALUE for c in text):
        return False
    return check_character(text[:-1]) == text[-1]


def parse_code(text: str, *, field: str = "Code") -> str:
    """The stored form of a code as typed: small letters, spaces and hyphens do not matter.

    Raises OutOfRange when a character is wrong or missing.

    >>> parse_code("2222-2222"), parse_code(" 2222 2222 ")
    ('22222222', '22222222')
    """
    bare = text.translate(_SKIPPED).upper()
    if len(bare) != LENGTH:
        raise OutOfRange(field, _ALLOWED, text, f"It has {len(bare)} characters; type all eight.")
    strange = sorted({c for c in bare if c not in _VALUE})
    if strange:
        raise OutOfRange(
            field, _ALLOWED, text, f"A code never holds {' '.join(strange)}; look again."
        )
    if not is_code(bare):
        raise OutOfRange(
            field, _ALLOWED, text, "One character is wrong or two are swapped; look again."
        )
    return bare


def printed(code: str) -> str:
    """The code as printed, in two groups of four.

    >>> printed("22222222")
    '2222-2222'
    """
    return f"{code[:4]}-{code[4:]}"
