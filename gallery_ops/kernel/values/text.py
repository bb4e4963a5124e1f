"""Which number did a person mean by "12,5"? And is a piece of text fit to be stored?

Decimal comma and decimal point are both accepted. Marks between thousands are refused with words,
since "1.250" means two different amounts to two different people.
"""

from __future__ import annotations

import re
import unicodedata
from decimal import Decimal

from .limits import BadNumber, OutOfRange

LONGEST_NUMBER = 40
"""Longest number that is looked at [characters]."""

_SPACES = "\u00a0\u202f\u2009\u2007"
_MINUS = str.maketrans({"\u2212": "-", "\u2013": "-"})
_PLAIN = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)\Z")
_LEADING = re.compile(r"[+-]?[0-9.,'’\s]*")
_THOUSAND = re.compile(r"[+-]?[1-9][0-9]{0,2}([.,])([0-9]{3})\Z")
_ALLOWED = "a number such as 12.5 or 12,5, without marks between thousands"


def parse_decimal(text: str, *, field: str = "Number", mark: str | None = None) -> Decimal:
    """The number that the text means.

    Parameters
    ----------
    text : as typed; comma or point before the decimals, no unit
    field : name for the error
    mark : the decimal mark of the showroom ("," or "."), if known: then a lone other mark before
        exactly three digits is refused too, since it is most likely a thousands mark

    Raises BadNumber when the text is empty, no number, or could mean two numbers.

    >>> parse_decimal("12,5"), parse_decimal(" -0.25 ")
    (Decimal('12.5'), Decimal('-0.25'))
    """
    plain = _trimmed(text)
    if not plain:
        raise BadNumber(field, _ALLOWED, text, "Write a number.")
    if len(plain) > LONGEST_NUMBER:
        raise BadNumber(
            field, f"at most {LONGEST_NUMBER} characters", text, "Write a shorter number."
        )
    if not _PLAIN.match(plain):
        raise BadNumber(field, _ALLOWED, text, _why_not(plain))
    _refuse_thousands(plain, text, field, mark)
    return Decimal(plain.replace(",", "."))


def parse_with_unit(
    text: str, *, field: str = "Amount", mark: str | None = None
) -> tuple[Decimal, str]:
    """The number and the unit written after it; the unit is "" when none was written.

    The unit comes back as typed (trimmed); ``units.find`` says what it means.

    >>> parse_with_unit("12,5 ml"), parse_with_unit("30mL"), parse_with_unit("7")
    ((Decimal('12.5'), 'ml'), (Decimal('30'), 'mL'), (Decimal('7'), ''))
    """
    plain = _trimmed(text)
    found = _LEADING.match(plain)
    number = found.group().strip() if found else ""
    unit = plain[len(number) :].strip() if number else ""
    if not number:
        raise BadNumber(field, _ALLOWED, text, "Write the number first, then the unit.")
    if len(unit) > LONGEST_NUMBER:
        raise BadNumber(field, "a number and a unit", text, "Write one number and one unit.")
    return parse_decimal(number, field=field, mark=mark), unit


def clean_text(text: str, *, field: str, longest: int, lines: bool = False) -> str:
    """Text fit to be stored: trimmed, composed (NFC), without control characters.

    Parameters
    ----------
    longest : most characters allowed after trimming
    lines : whether line breaks may stay (a note) or not (a name)

    Raises OutOfRange when it is too long or holds a control character.

    >>> clean_text("  Anna  ", field="Name", longest=80)
    'Anna'
    """
    whole = unicodedata.normalize("NFC", text.replace("\r\n", "\n").replace("\r", "\n")).strip()
    if len(whole) > longest:
        raise OutOfRange(field, f"at most {longest} characters", whole, "Shorten it.")
    kept = "\n\t" if lines else ""
    if any(unicodedata.category(c) in {"Cc", "Cs"} and c not in kept for c in whole):
        raise OutOfRange(
            field, "text without control characters", whole, "Type it again without them."
        )
    return whole


def folded(text: str) -> str:
    """The text as a search column keeps it: no case, no accents, single spaces.

    >>> folded("  Séiryu   STONE "), folded("Straße")
    ('seiryu stone', 'strasse')
    """
    apart = unicodedata.normalize("NFKD", text.casefold())
    bare = "".join(c for c in apart if not unicodedata.combining(c))
    return " ".join(bare.casefold().split())


def _trimmed(text: str) -> str:
    for space in _SPACES:
        text = text.replace(space, " ")
    return text.strip().translate(_MINUS)


def _why_not(plain: str) -> str:
    marks = [c for c in plain if c in ".,"]
    if re.search(r"[0-9][\s'’_][0-9]", plain):
        return "Leave out the marks between thousands."
    if len(marks) > 1:
        return "Only one decimal mark is allowed; leave out the marks between thousands."
    if plain[-1] in ".,":
        return "A digit is missing after the decimal mark."
    if re.fullmatch(r"[+-]?[0-9.]+[eE][+-]?[0-9]+", plain):
        return "Write it out, without a power of ten."
    return "Write digits, with at most one decimal mark."


def _refuse_thousands(plain: str, text: str, field: str, mark: str | None) -> None:
    found = _THOUSAND.match(plain)
    if not found:
        return
    other = mark is not None and found.group(1) != mark
    if found.group(2) == "000" or other:
        whole = plain.replace(",", "").replace(".", "")
        small = plain.replace(",", ".")
        if mark == ",":
            small = small.replace(".", ",")
        small = small.rstrip("0").rstrip(".,")
        raise BadNumber(
            field, _ALLOWED, text, f"It could mean {whole} or {small}: write the one that you mean."
        )
