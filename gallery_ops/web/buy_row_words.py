"""One row of the buy list in words: how long it lasts, what it hurts, why this amount."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gallery_ops.drawing.vessel import vessel_svg
from gallery_ops.kernel.values.money import Money
from gallery_ops.kernel.values.quantity import quantity
from gallery_ops.overview.buy_page import key_of
from gallery_ops.web import words
from inventory.queries.buy_types import BuyLine, BuySection
from inventory.queries.packs import pack_words

NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


@dataclass(frozen=True, slots=True)
class Why:
    """One reason: a number of packs, and what would come of it."""

    term: str
    text: str


@dataclass(frozen=True, slots=True)
class Row:
    """A row as its template shows it."""

    line: BuyLine
    field: str
    picture: SafeString
    name: str
    lasts: str
    harm: str
    packs: str
    value: str
    cash: str
    why: list[Why]


def number(n: int) -> str:
    """One, two, .. nine, 10."""
    return _(NUMBERS[n]) if n < len(NUMBERS) else words.number(n)


def start(text: str) -> str:
    """With a capital."""
    return text[:1].upper() + text[1:]


def money(cents: int, currency: str) -> str:
    """A sum."""
    return words.money(Money(cents, currency))


def listed(names: list[str]) -> str:
    """A, b and c."""
    if len(names) < 2:
        return "".join(names)
    return _("%(some)s and %(last)s") % {"some": ", ".join(names[:-1]), "last": names[-1]}


# --- one row ------------------------------------------------------------------------------------
def row(line: BuyLine, section: BuySection, typed: dict[str, str]) -> Row:
    """One row in words."""
    currency = section.supplier.showroom.currency
    field = "packs-{}-{}".format(*key_of(line))
    left = line.need.left + line.need.coming if line.need else 0.0
    return Row(
        line=line,
        field=field,
        picture=mark_safe(vessel_svg(left, line.packs * line.offer.pack_base, _cap(line, left))),
        name=line.item.name,
        lasts=_lasts(line, left),
        harm=_harm(line, currency),
        packs=_of(line, section, max(2, line.packs)) if line.packs != 1 else _of(line, section, 1),
        value=typed.get(field, str(line.packs)),
        cash="" if line.cents is None else money(line.cents, currency),
        why=_why(line, section),
    )


NEAR = 1.6
"""A cap is drawn when it lies within so many times what the shelf will hold."""


def _cap(line: BuyLine, left: float) -> float | None:
    cap, holds = line.amount.cap_base, left + line.amount.base
    return float(cap) if cap is not None and 0 < cap <= NEAR * holds else None


def _amount(line: BuyLine, base: float) -> str:
    return words.amount(quantity(line.item.dimension, round(base)))


def _lasts(line: BuyLine, left: float) -> str:
    if line.cylinders:
        n = len(line.cylinders)
        return ngettext(
            "%(names)s has no full one to follow it", "%(names)s have no full one to follow them", n
        ) % {"names": listed(list(line.cylinders))}
    if line.need is None:
        wanted = sum(one.amount_base for one in line.spoken_for)
        if not wanted:
            return ""
        return _("%(need)s needed, %(bought)s bought") % {
            "need": _amount(line, wanted),
            "bought": _amount(line, line.packs * line.offer.pack_base),
        }
    said = _("%(left)s then, %(all)s with it") % {
        "left": _amount(line, left),
        "all": _amount(line, left + line.packs * line.offer.pack_base),
    }
    if line.lasts_to is None or line.packs != line.amount.packs:
        return said
    return _("%(said)s: to about %(day)s") % {"said": said, "day": words.day(line.lasts_to)[4:]}


CLASSES = {
    "A": "Class A: animals depend on it",
    "B": "Class B: plants suffer within days",
    "C": "Class C: can be missing for a week",
    "D": "Class D: nothing suffers",
}


def _harm(line: BuyLine, currency: str) -> str:
    """What to know of it, and what its absence hurts."""
    known = [*_cautions(line), *_goes_back(line, currency), *_also_for(line)]
    return " ".join([*known, _(CLASSES[line.item.harm_class])])


def _cautions(line: BuyLine) -> Iterator[str]:
    if line.waits:
        yield _("Waits: the cash set aside does not reach.")
    if line.is_late:
        yield _("Cannot be here in time for sure: ask them.")
    if line.too_old:
        said = _("%(amount)s of what is there will be too old before then.")
        yield said % {"amount": _amount(line, line.too_old)}
    if line.amount.goes_off:
        yield _("No pack is small enough: part of it will go off.")
    if line.amount.is_short:
        yield _("%(n)d would be needed.") % {"n": line.amount.enough}


def _goes_back(line: BuyLine, currency: str) -> Iterator[str]:
    if line.offer.how == "exchange" or (line.cylinders and line.offer.supplier.is_exchange):
        yield _("An empty one goes back, its deposit stays.")
    elif line.offer.deposit_cents:
        yield _("Deposit %(sum)s each.") % {"sum": money(line.offer.deposit_cents, currency)}


def _also_for(line: BuyLine) -> Iterator[str]:
    if line.spoken_for and line.group != "build":
        kept = sum(one.amount_base for one in line.spoken_for)
        yield _("%(amount)s of it for %(what)s.") % {
            "amount": _amount(line, kept),
            "what": line.spoken_for[0].for_what,
        }


def _of(line: BuyLine, section: BuySection, n: int) -> str:
    """Cans of 5 L, without the number."""
    return _packs(line, section, n).partition(" ")[2]


def _packs(line: BuyLine, section: BuySection, n: int) -> str:
    kind = section.kinds[line.item.pk, line.offer.pack_base].kind
    return pack_words(line.item, line.offer.pack_base, n, kind, words.mark_in_use())


def _why(line: BuyLine, section: BuySection) -> list[Why]:
    if line.cylinders:
        return [Why(_("This many"), _("one full cylinder for each that nobody follows"))]
    if line.need is None:
        return _why_build(line, section)
    said = [_fewer(line, section), _this(line, section), _more(line)]
    return [one for one in said if one is not None]


def _why_build(line: BuyLine, section: BuySection) -> list[Why]:
    kept = [
        Why(
            _("For %(what)s") % {"what": one.for_what},
            _("%(amount)s, needed %(day)s")
            % {"amount": _amount(line, one.amount_base), "day": words.day(one.needed_on)},
        )
        for one in line.spoken_for
    ]
    whole = _("%(amount)s a pack, and packs are whole") % {
        "amount": _amount(line, line.offer.pack_base)
    }
    return [*kept, Why(_packs(line, section, line.amount.packs), whole)] if kept else []


def _fewer(line: BuyLine, section: BuySection) -> Why | None:
    need, n = line.need, line.amount.packs
    if need is None or not n:
        return None
    until = words.day(line.next_on)[4:] if line.next_on else ""
    if n == 1 or line.fewer_to is None:
        return Why(
            _("None"),
            _(
                "leaves %(left)s when the van comes; until the order after it can come, likely "
                "%(day)s, %(target)s are enough in 19 of 20 cases"
            )
            % {
                "left": _amount(line, need.left + need.coming),
                "day": until,
                "target": _amount(line, need.target),
            },
        )
    return Why(
        _packs(line, section, n - 1),
        _("may be gone by %(day)s; the order after this one comes likely %(next)s")
        % {"day": words.day(line.fewer_to)[4:], "next": until},
    )


def _this(line: BuyLine, section: BuySection) -> Why | None:
    n, currency = line.amount.packs, section.supplier.showroom.currency
    if not n:
        return None
    price = line.offer.price_cents
    parts = []
    if line.lasts_to is not None:
        parts.append(_("last to about %(day)s") % {"day": words.day(line.lasts_to)[4:]})
    if price is not None:
        parts.append(_("%(sum)s each") % {"sum": money(price, currency)})
    return Why(_packs(line, section, n), _(", and cost ").join(parts)) if parts else None


def _more(line: BuyLine) -> Why:
    item, amount = line.item, line.amount
    n = amount.packs + 1
    because = {
        "storage": _("%(shelf)s holds %(most)s")
        % {
            "shelf": item.storage or _("its shelf"),
            "most": _amount(line, item.storage_max_base or 0),
        },
        "printed_life": _("it would not be used up before its printed day"),
        "cash": _("the cash set aside does not reach"),
    }
    if amount.capped_by in because:
        return Why(_("Not %(n)s") % {"n": number(n)}, because[amount.capped_by])
    if amount.capped_by == "opened_life":
        return Why(
            _("Not a larger one"),
            _("opened it keeps %(n)d days, and would not be used up in 9 of 10 cases")
            % {"n": item.opened_life_days or 0},
        )
    return Why(
        _("Not %(n)s") % {"n": number(n)},
        _("more would only stand until the order after this one"),
    )


def because_words(line: BuyLine, section: BuySection) -> str:
    """The reasons in one line, to be kept with the order."""
    return ". ".join(f"{one.term}: {one.text}" for one in _why(line, section))
