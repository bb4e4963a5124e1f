"""What was given of an item day by day, as a picture, a sentence and rows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from gallery_ops.drawing.stock import use_days_svg
from gallery_ops.kernel.values.quantity import quantity
from gallery_ops.web import words
from inventory.queries.movements import DayUse


@dataclass(frozen=True, slots=True)
class UseChart:
    """The picture is empty when nothing was given and nothing planned."""

    svg: str
    sentence: str
    days: Sequence[DayUse]


def use_chart(days: Sequence[DayUse]) -> UseChart:
    """The days that came, today last."""
    told = [day for day in days if day.given.base or day.planned.base]
    if not told:
        return UseChart("", _("Nobody has given any of it in four weeks."), [])
    given = quantity(told[0].given.dimension, sum(day.given.base for day in told))
    planned = quantity(told[0].planned.dimension, sum(day.planned.base for day in told))
    sentence = _("%(given)s given on %(n)d days of four weeks; the plan asked for %(planned)s.") % {
        "given": words.amount(given),
        "n": sum(1 for day in told if day.given.base),
        "planned": words.amount(planned),
    }
    picture = use_days_svg(
        [float(day.given.base) for day in days],
        [float(day.planned.base) for day in days],
        sentence=sentence,
    )
    return UseChart(picture, sentence, list(reversed(told)))
