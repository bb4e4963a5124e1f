"""What was done about a projection that was wrong, and what could not be scored, in words."""

from __future__ import annotations

from datetime import datetime

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gallery_ops.overview.report_page import ReportPage
from gallery_ops.web import words
from inventory.queries.report_card import CardLine
from inventory.queries.report_counts import NotScored

NAMED = 4
WEIGHED = {
    "pump_weighed": "Presses of its pump weighed by %(who)s, %(when)s",
    "feeder_weighed": "Portions of its feeder weighed by %(who)s, %(when)s",
}
ASKED = {
    "pump_asked": "Its pump is asked about since %(when)s",
    "why_asked": "“Why?” is asked since %(when)s",
    "count_asked": "A count is asked for since %(when)s",
}
WHY_NOT = {
    "spilled": "spilled",
    "tank_emptied": "tank emptied",
    "thrown_away": "thrown away",
    "changed_early": "changed before it was empty",
    "not_measured": "nobody measured when it ended",
}


def done_words(line: CardLine, now: datetime) -> tuple[str, ...]:
    """How ranges are drawn since, who weighed what, and what is asked for."""
    out = []
    drawn = line.redrawn
    if drawn is not None:
        said = (
            _("Drawn %(times)s times as wide since %(day)s")
            if drawn.times > 1
            else _("Drawn narrower since %(day)s, %(times)s times as wide")
        )
        times = words.number(drawn.times, 1 if drawn.times > 1 else 2)
        out.append(said % {"times": times, "day": words.when(drawn.since, now)})
    for one in line.done:
        said = _((WEIGHED | ASKED)[one.what])
        out.append(said % {"who": one.who, "when": words.when(words.local(one.at).date(), now)})
    return tuple(out)


def why_not(key: str) -> str:
    """Why one could not be scored."""
    return _(WHY_NOT[key]) if key in WHY_NOT else key.replace("_", " ")


def left_out(page: ReportPage) -> str:
    """What could not be scored, counted and named."""
    said = _(
        "A projection is kept as it was made and scored when the truth came. None is left out."
    )
    if page.unscored:
        named = "; ".join(_named(one) for one in page.card.not_scored)
        said += " " + ngettext(
            "%(n)d could not be scored: %(named)s.", "%(n)d could not be scored: %(named)s.",
            page.unscored,
        ) % {"n": page.unscored, "named": named}  # fmt: skip
    if page.card.waiting:
        said += " " + ngettext(
            "%(n)d waits for its truth.", "%(n)d wait for their truth.", page.card.waiting
        ) % {"n": page.card.waiting}
    return said


def _named(one: NotScored) -> str:
    names, more = ", ".join(one.of[:NAMED]), len(one.of) - NAMED
    if more > 0:
        names += " " + ngettext("and %(n)d more", "and %(n)d more", more) % {"n": more}
    return _("%(n)d %(why)s (%(names)s)") % {"n": one.n, "why": why_not(one.why), "names": names}
