"""What is typed about a layout, read once: each wrong entry names its field and stays."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal

from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.web.forms.days import a_day
from gallery_ops.web.forms.measuring import typed_decimal
from tanks.models import Designer, Species
from tanks.queries.places import designers
from tanks.services.layouts import add_designer

Typed = Mapping[str, str]


def chosen(typed: Typed, name: str, allowed: Sequence[str], label: str) -> str:
    """One of a list."""
    value = typed.get(name, "")
    if value not in allowed:
        raise Refused(
            "not_chosen",
            _("%(label)s: nothing was chosen.") % {"label": label},
            {name: _("One of the list.")},
        )
    return value


def number(typed: Typed, name: str, label: str, most: int, scale: int = 1) -> int | None:
    """A number as typed, times ``scale``, as a whole one; empty is none.

    most : the largest value as typed
    """
    text = typed.get(name, "").strip()
    if not text:
        return None
    try:
        value = typed_decimal(text, label)
    except OutOfRange as no:
        raise Refused.from_range(no, field=name) from None
    exact = value * scale
    if not Decimal(0) <= value <= most or exact != exact.to_integral_value():
        raise Refused(
            "out_of_range",
            _("%(label)s: “%(text)s” is not allowed.") % {"label": label, "text": text[:20]},
            {name: _("Allowed: 0 to %(most)s.") % {"most": f"{most:,}"}},
            _("Check the number and its unit."),
        )
    return int(exact)


def day(typed: Typed, name: str, label: str) -> date | None:
    """A day; empty is none."""
    return a_day(typed.get(name, ""), name, label)


def text(typed: Typed, name: str, label: str, most: int) -> str:
    """Words, no longer than the field."""
    words = typed.get(name, "").strip()
    if len(words) > most:
        raise Refused(
            "too_long",
            _("%(label)s: %(n)d characters.") % {"label": label, "n": len(words)},
            {name: _("Allowed: up to %(most)d characters.") % {"most": most}},
        )
    return words


def species_named(typed: Typed, name: str, known: Sequence[Species]) -> list[Species]:
    """Plants by their scientific or common names, parted by commas."""
    by_name = {one.scientific_name.casefold(): one for one in known}
    by_name |= {one.vernacular_name.casefold(): one for one in known if one.vernacular_name}
    found = []
    for part in typed.get(name, "").split(","):
        word = " ".join(part.split())
        if not word:
            continue
        one = by_name.get(word.casefold())
        if one is None:
            raise Refused(
                "no_species",
                _("No plant is called “%(name)s” here.") % {"name": word[:60]},
                {name: _("One of the names offered, several parted by commas.")},
                _("Choose it from the list."),
            )
        found.append(one)
    return found


def designer_named(name: str, by: Membership, at: datetime) -> Designer | None:
    """The designer of that name, written down if new; empty is none."""
    wanted = " ".join(name.split())
    if not wanted:
        return None
    for one in designers(by.showroom):
        if one.name.casefold() == wanted.casefold():
            return one
    return add_designer(showroom=by.showroom, name=wanted, by=by, at=at)
