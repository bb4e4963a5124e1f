"""When is a gas cylinder tested again? Only by a rule that somebody named, or as the stamp says.

There is no default: rules differ by country, by kind of cylinder and by filler, and a date that
nobody stated is a guess about something that can burst. The filler and the local rule decide.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from gallery_ops.kernel.values.limits import OutOfRange


@dataclass(frozen=True, slots=True)
class NamedRule:
    """So many years after the last test, for this kind of cylinder, and where that stands."""

    key: str
    years: int
    name: str
    source: str


TYPED = "typed"
"""The day itself was read off the stamp or a paper and typed."""

RULES: Mapping[str, NamedRule] = {
    rule.key: rule
    for rule in (
        NamedRule(
            "us_3al_co2",
            5,
            "United States, DOT-3AL in CO2 service: 5 years",
            "49 CFR 180.209(a), Table 1 with its footnote 4",
        ),
        NamedRule(
            "us_3a_3aa",
            5,
            "United States, DOT-3A or 3AA: 5 years",
            "49 CFR 180.209(a), Table 1; 10 or 12 years only by its further paragraphs",
        ),
        NamedRule(
            "adr_co2",
            10,
            "ADR countries, CO2: 10 years",
            "ADR P200, from memory and not confirmed: ask the filler",
        ),
    )
}


def next_test(tested_on: date, rule: str) -> date:
    """The day on which the next test is due by a named rule.

    Raises OutOfRange for a rule that is none; a test of 29 February counts to 28 February.

    >>> next_test(date(2021, 5, 1), "adr_co2")
    datetime.date(2031, 5, 1)
    """
    if rule not in RULES:
        names = ", ".join(row.name for row in RULES.values())
        raise OutOfRange("Rule", names, rule, "Or type the day that the stamp says.")
    year = tested_on.year + RULES[rule].years
    try:
        return tested_on.replace(year=year)
    except ValueError:
        return tested_on.replace(year=year, day=28)
