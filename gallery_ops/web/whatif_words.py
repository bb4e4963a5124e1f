"""What if, in words: what is chosen, and what would move."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gallery_ops.drawing import Axis
from gallery_ops.drawing.two_strips import Range, two_strips_svg
from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.values.quantity import quantity
from gallery_ops.web import words
from gallery_ops.web.buy_row_words import number
from gallery_ops.web.forms.days import a_day
from inventory.forecast.delivery import RISK
from inventory.queries.what_if import Choices, Dates, NewTanks, WhatIf, WhatIfLine

Typed = Mapping[str, str]
DOSE_STEP = 10
GAS = "gas"


@dataclass(frozen=True, slots=True)
class Row:
    """One supply, as it is and if so."""

    name: str
    left: str
    picture: SafeString
    change: str
    has_moved: bool
    more: str


# --- what was chosen ----------------------------------------------------------------------------
def choices_of(typed: Typed) -> Choices:
    """What the address asks for. Raises Refused naming the field."""
    return Choices(
        closed_from=a_day(typed.get("closed_from", ""), "closed_from", _("Closed from")),
        closed_to=a_day(typed.get("closed_to", ""), "closed_to", _("Open again")),
        feeders_when_closed=typed.get("feeders", "yes") != "no",
        tanks=_tanks(typed),
        startups_full=typed.get("full") == "yes",
        dose_percent=_percent(typed),
    )


def _percent(typed: Typed) -> int:
    text = typed.get("dose_percent", "").strip().replace("−", "-").removesuffix("%").strip()
    if not text:
        return 0
    digits = text.removeprefix("+").removeprefix("-")
    if not (digits.isascii() and digits.isdigit() and len(digits) <= 6):
        raise Refused(
            "no_number",
            _("Doses: “%(text)s” is no whole number.") % {"text": text[:20]},
            {"dose_percent": _("Allowed: −90 to 300 %.")},
        )
    return int(text)


def _tanks(typed: Typed) -> NewTanks | None:
    text = typed.get("size", "").strip()
    if not text:
        return None
    sides = text.split("x")
    if len(sides) != 3 or not all(s.isascii() and s.isdigit() and len(s) <= 6 for s in sides):
        raise Refused(
            "no_size",
            _("One more tank: “%(text)s” is no size.") % {"text": text[:20]},
            {"size": _("Choose one from the list.")},
        )
    start = a_day(typed.get("from_on", ""), "from_on", _("New tank from"))
    if start is None:
        raise Refused(
            "no_day",
            _("One more tank: from which day?"),
            {"from_on": _("Give a day, today or later.")},
        )
    length, width, height = (int(side) for side in sides)
    return NewTanks(1, length, width, height, start)


def named_as_here(no: Refused) -> Refused:
    """The same refusal with the names that fields have on the page."""
    here = dict.fromkeys(("length_mm", "width_mm", "height_mm", "count"), "size")
    fields = {here.get(field, field): said for field, said in no.fields.items()}
    return Refused(no.code, no.sentence, fields, no.remedy)


# --- the answer ---------------------------------------------------------------------------------
def lede(answer: WhatIf) -> tuple[str, str]:
    """The change in words, first what must be ordered sooner."""
    if answer.choices.is_nothing:
        return _("Nothing is changed yet."), _("Choose something, and the dates move at once.")
    touched = [line for line in answer.lines if is_touched(line)]
    sooner = [line for line in touched if (line.order_moved_days or 0) < 0]
    if sooner:
        most = min(sooner, key=lambda line: line.order_moved_days or 0)
        n = -(most.order_moved_days or 0)
        first = ngettext(
            "Then %(name)s must be ordered %(n)s day sooner.",
            "Then %(name)s must be ordered %(n)s days sooner.",
            n,
        ) % {"name": _low(most.name), "n": number(n)}
    else:
        first = _moved_only(touched)
    return first, " ".join(part for part in (_alive(touched), _more_of(touched)) if part)


def _low(name: str) -> str:
    return name[:1].lower() + name[1:] if name[1:2].islower() else name


def _moved_only(touched: list[WhatIfLine]) -> str:
    moved = [line for line in touched if _days(line)]
    if not moved:
        return _("Then every date stays as it was.")
    most = max(moved, key=lambda line: abs(_days(line)))
    n = abs(_days(most))
    way = (
        ngettext(
            "Then %(name)s runs out %(n)s day sooner; no order moves forward.",
            "Then %(name)s runs out %(n)s days sooner; no order moves forward.",
            n,
        )
        if _days(most) < 0
        else ngettext(
            "Then %(name)s lasts %(n)s day longer.", "Then %(name)s lasts %(n)s days longer.", n
        )
    )
    return way % {"name": _low(most.name), "n": number(n)}


def _alive(touched: list[WhatIfLine]) -> str:
    risk = RISK["A"]
    short = [
        line.name
        for line in touched
        if line.harm_class == "A" and (line.out_before_next_then or 0) > risk
    ]
    if short:
        names = ", ".join(_low(name) for name in short)
        return _("For the animals, %(names)s may run out before the next delivery.") % {
            "names": names
        }
    return _("Nothing that keeps animals alive runs short.")


def _more_of(touched: list[WhatIfLine]) -> str:
    more = [line for line in touched if line.more_base]
    if not more:
        return ""
    most = max(more, key=lambda line: abs(line.more_base) / max(1, line.level_base))
    said = (
        _("%(amount)s more of %(name)s within eight weeks.")
        if most.more_base > 0
        else _("%(amount)s less of %(name)s within eight weeks.")
    )
    amount = words.amount(quantity(most.dimension, abs(most.more_base)))
    return said % {"amount": amount, "name": _low(most.name)}


def is_touched(line: WhatIfLine) -> bool:
    """Does any of the choices change what is asked of it?"""
    return bool(line.more_base) or line.now != line.then


def _days(line: WhatIfLine) -> int:
    """By how many days the likely day moves, as the two days say it."""
    if line.now.likely is None or line.then.likely is None:
        return 0
    return (line.then.likely - line.now.likely).days


def rows(answer: WhatIf, axis: Axis) -> tuple[list[Row], str]:
    """Every item twice; cylinders that no choice touches in one sentence beside the soonest."""
    shown = [line for line in answer.lines if line.kind != GAS]
    shown.sort(key=lambda line: not is_touched(line))
    gas = [line for line in answer.lines if line.kind == GAS]
    rest = len(gas) - 1
    said = ""
    if rest > 0:
        said = ngettext(
            "%(n)d more cylinder stays as it was: doses, food and closed days do not change gas.",
            "%(n)d more cylinders stay as they were: doses, food and closed days do not change "
            "gas.",
            rest,
        ) % {"n": rest}
    return [_row(line, answer.today, axis) for line in (*shown, *gas[:1])], said


def _row(line: WhatIfLine, today: date, axis: Axis) -> Row:
    change = _change(line)
    return Row(
        name=line.name,
        left=words.amount(quantity(line.dimension, line.level_base)),
        picture=mark_safe(
            two_strips_svg(
                _range(line.now), _range(line.then), axis, sentence=f"{line.name}: {change}"
            )
        ),
        change=change,
        has_moved=bool(_days(line)),
        more=_more(line, today),
    )


def _range(dates: Dates) -> Range:
    return Range(dates.earliest, dates.likely, dates.latest, dates.order_by)


def _change(line: WhatIfLine) -> str:
    days = _days(line)
    if line.moved_days is None:
        return _("not within a year") if line.then.likely is None else _("within a year now")
    if not days:
        return _("as it was")
    if days < 0:
        return ngettext("%(n)d day sooner", "%(n)d days sooner", -days) % {"n": -days}
    return ngettext("%(n)d day later", "%(n)d days later", days) % {"n": days}


def _more(line: WhatIfLine, today: date) -> str:
    if not is_touched(line):
        return _("None of these choices touches it.")
    parts = []
    now, then = line.now, line.then
    if then.likely is not None and now.likely is not None and then.likely != now.likely:
        parts.append(
            _("%(then)s, was %(now)s.")
            % {"then": words.day(then.likely)[4:], "now": words.day(now.likely)[4:]}
        )
    if then.order_by is not None and then.order_by != now.order_by:
        parts.append(_("Order by %(day)s.") % {"day": words.day(then.order_by, today)})
    if line.more_base:
        said = (
            _("%(amount)s more in eight weeks.")
            if line.more_base > 0
            else _("%(amount)s less in eight weeks.")
        )
        parts.append(said % {"amount": words.amount(quantity(line.dimension, abs(line.more_base)))})
    return " ".join(parts)


def rests_on(answer: WhatIf) -> list[tuple[str, str]]:
    """What the answer rests on, and what it leaves out."""
    out = [
        (
            _("What this rests on"),
            _(
                "What is known of content, learned use and deliveries stays; only the plan ahead "
                "is another. How wrong we were holds for plans as they are, less for what-ifs. "
                "Hours are planned minutes by size of every task, each tank in its stage of today."
            ),
        )
    ]
    if answer.choices.tanks is not None:
        said = _(
            "What it gets goes by its litres: the full dose where one is written down, else as the "
            "tanks that get it now; a start-up begins with less, and food comes when animals do. "
            "Its work is that of a start-up for six weeks. Gas that it would use is not in it."
        )
        if answer.new_tanks_without:
            said += " " + _("Nobody can say what it would get of %(names)s.") % {
                "names": ", ".join(answer.new_tanks_without)
            }
        out.append((_("One more tank"), said))
    if answer.choices.closed_from is not None:
        out.append(
            (
                _("Closed days"),
                _(
                    "Nothing is given by hand. Feeders give the food, known less well than a "
                    "hand; the animals are still looked at every day."
                )
                if answer.choices.feeders_when_closed
                else _(
                    "Nothing is given by hand, no food either. The animals are still looked at "
                    "every day."
                ),
            )
        )
    return out
