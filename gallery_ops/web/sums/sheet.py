"""What is every sum made of: its fields, what was typed into them, and what it answers."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _

from gallery_ops.kernel.values.limits import BadNumber, Limit, OutOfRange
from gallery_ops.kernel.values.text import parse_with_unit
from gallery_ops.overview.sums_page import Source
from gallery_ops.web import words

Words = str | Promise
Typed = Mapping[str, str]
Values = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Field:
    """A number that somebody writes.

    usual : where the stepper begins on an empty field; never filled in by itself
    known : which value of a tank or room may be taken over
    low_remedy : what to say below the lowest value
    """

    key: str
    label: Words
    unit: str
    limit: Limit
    step: str
    usual: str
    known: str = ""
    more: Words = ""
    is_optional: bool = False
    is_whole: bool = False
    low_remedy: Words = ""

    @property
    def full_label(self) -> str:
        """With its unit, as it stands above the field."""
        name = f"{self.label}, {self.unit}" if self.unit else str(self.label)
        return f"{name} {_('(may stay empty)')}" if self.is_optional else name

    def hint(self) -> str:
        """What is allowed, and the step of the buttons."""
        low, high = (_plain(Decimal(x)) for x in (self.limit.low or 0, self.limit.high or 0))
        said = _("%(low)s to %(high)s, steps of %(step)s") % {
            "low": low,
            "high": high,
            "step": _plain(Decimal(self.step)),
        }
        return f"{said}. {self.more}" if self.more else said

    def read(self, text: str) -> float | None:
        """The number that was meant; None where it may stay empty. Raises OutOfRange."""
        name = str(self.label)
        allowed = self.limit.words()
        if not text.strip():
            if self.is_optional:
                return None
            raise OutOfRange(name, allowed, "", _("Write a number."))
        try:
            number, unit = parse_with_unit(text, field=name, mark=words.mark_in_use())
        except BadNumber as no:
            raise OutOfRange(name, allowed, text, no.remedy) from None
        if unit and _bare(unit) != _bare(self.unit):
            remedy = _("Write it in %(unit)s.") % {"unit": self.unit} if self.unit else ""
            raise OutOfRange(name, allowed, text, remedy)
        if not self.limit.holds(number):
            is_low = self.limit.low is not None and number < self.limit.low
            raise OutOfRange(name, allowed, text, str(self.low_remedy) if is_low else "")
        if self.is_whole and number != int(number):
            raise OutOfRange(name, allowed, text, _("Write a whole number."))
        return float(number)


@dataclass(frozen=True, slots=True)
class Choose:
    """One of a list."""

    key: str
    label: Words
    options: Sequence[tuple[str, Words]]

    def read(self, text: str) -> str:
        """The chosen one; the first where nothing was chosen. Raises OutOfRange."""
        if not text:
            return self.options[0][0]
        if text not in dict(self.options):
            names = ", ".join(str(said) for _key, said in self.options)
            raise OutOfRange(str(self.label), names, text, _("Choose one of the list."))
        return text


@dataclass(frozen=True, slots=True)
class Reason:
    """One line of because."""

    term: str
    text: str
    href: str = ""
    link: str = ""


@dataclass(frozen=True, slots=True)
class Answer:
    """What a sum says.

    big : the figure with "about"
    story : range in words, and what it means
    line : the drawing; line_words : what the words on it mean
    caution : who comes first, and what counts more than the number
    """

    big: str
    story: str
    line: str
    because: Sequence[Reason]
    caution: tuple[str, str]
    line_words: str = ""


@dataclass(frozen=True, slots=True)
class Trouble:
    """Why there is no answer; each sentence leads to its field."""

    title: str
    errors: Sequence[tuple[str, str]]


Reckon = Callable[[Values, Source | None, Source], Answer]
"""Values, the tank or room that was chosen, and the ranges of the house."""


@dataclass(frozen=True, slots=True)
class Sum:
    """One of the sums."""

    key: str
    name: Words
    question: Words
    gist: Words
    fields: Sequence[Field]
    reckon: Reckon
    source: str = "tank"
    chooses: Sequence[Choose] = ()
    takes: Callable[[Values], Mapping[str, str]] = field(default=lambda _values: {})

    def known_for(self, typed: Typed) -> dict[str, str]:
        """Field and the value of a tank that it may take over."""
        chosen: dict[str, str] = {}
        for one in self.chooses:
            try:
                chosen[one.key] = one.read(typed.get(one.key, ""))
            except OutOfRange:
                chosen[one.key] = one.options[0][0]
        return {one.key: one.known for one in self.fields if one.known} | dict(self.takes(chosen))


def answer_of(
    sheet: Sum, typed: Typed, source: Source | None, house: Source
) -> Answer | Trouble | None:
    """The answer, why there is none, or None while nothing was written."""
    if not any(typed.get(one.key, "").strip() for one in sheet.fields):
        return None
    values: dict[str, Any] = {}
    errors: list[tuple[str, str]] = []
    asked: list[Choose | Field] = [*sheet.chooses, *sheet.fields]
    for one in asked:
        try:
            values[one.key] = one.read(typed.get(one.key, ""))
        except OutOfRange as no:
            errors.append((one.key, no.sentence))
    if errors:
        return Trouble(_title(sheet, typed), errors)
    try:
        return sheet.reckon(values, source, house)
    except OutOfRange as no:
        by_label = {str(one.label): one.key for one in sheet.fields}
        return Trouble(_("No answer"), [(by_label.get(no.field, ""), no.sentence)])


def _title(sheet: Sum, typed: Typed) -> str:
    if sheet.key == "co2" and _is_nothing(typed.get("kh", "")):
        return _("No answer: hardness 0 tells nothing about CO2")
    return _("No answer yet")


def _is_nothing(text: str) -> bool:
    try:
        number, _unit = parse_with_unit(text)
    except BadNumber:
        return False
    return number == 0


def two(value: float) -> str:
    """A number in two figures: an estimate deserves no more.

    >>> two(35.9), two(0.0178), two(18_123)
    ('36', '0.018', '18,000')
    """
    if not value:
        return "0"
    exact = Decimal(f"{value:.1e}")
    return words.number(exact, max(0, 1 - exact.adjusted()))


def pair(low: float, high: float) -> dict[str, str]:
    """Both ends of a range in two figures, for a sentence."""
    return {"low": two(low), "high": two(high)}


def tick_words(values: Sequence[float]) -> list[str]:
    """Words for the ticks of a line, all with as many decimals as they need."""
    return [_plain(Decimal(f"{value:.9f}")) for value in values]


def _plain(value: Decimal) -> str:
    places = max(0, -int(value.normalize().as_tuple().exponent)) if value else 0
    return words.number(value, places)


def _bare(unit: str) -> str:
    return unit.casefold().replace("°", "").replace(" ", "").replace("³", "3")
