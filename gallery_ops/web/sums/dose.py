"""What does a dose do to the water, and where does it settle?"""

from __future__ import annotations

from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from gallery_ops.drawing.scale import Mark, Scale, scale_svg, ticks, top_of
from gallery_ops.kernel.values.limits import Limit
from gallery_ops.overview.sums_page import VOLUME, Source
from gallery_ops.web.sums.sheet import (
    Answer,
    Choose,
    Field,
    Reason,
    Sum,
    Values,
    pair,
    tick_words,
    two,
)
from gallery_ops.web.sums.used import band_reason, house_band, tank_used
from gallery_ops.web.words import number
from tanks.science.dosing import Stock, dose_rise_mg_per_l
from tanks.science.water_change import Cycle, steady_after_change, steady_before_change

VOLUME_OFF = 0.10
"""By how much a net volume is usually wrong, as a part (common practice, no source)."""

WATER = Field(
    "volume",
    gettext_lazy("Water in the tank"),
    "L",
    Limit(Decimal("0.1"), 20_000, "L"),
    "1",
    "50",
    known=VOLUME,
)

NUTRIENTS = (
    ("nitrate", gettext_lazy("nitrate, as NO3")),
    ("phosphate", gettext_lazy("phosphate, as PO4")),
    ("potassium", gettext_lazy("potassium, K")),
    ("iron", gettext_lazy("iron, Fe")),
    ("other", gettext_lazy("something else")),
)


def _reckon(values: Values, source: Source | None, house: Source) -> Answer:
    what = str(dict(NUTRIENTS)[values["of"]])
    volume, doses, change = values["volume"], int(values["doses"]), values["change"] / 100
    stock = Stock(values["content"], 1_000, 1.0)
    rise = dose_rise_mg_per_l(stock, values["ml"], volume)
    low, high = rise / (1 + VOLUME_OFF), rise / (1 - VOLUME_OFF)
    cycle = Cycle(change, dose=rise * doses)
    before, after = steady_before_change(cycle), steady_after_change(cycle)
    band = house_band(source, house, values["of"])
    top = top_of([before, band.high if band and band.high < 4 * before else 0.0])
    swing = {"n": doses, "change": number(change * 100, 0), **pair(after, before)}
    story = _("Between %(low)s and %(high)s.") % pair(low, high)
    story += (
        " "
        + ngettext(
            "If nothing is used, %(n)d dose and a change of %(change)s %% let it swing between "
            "%(low)s and %(high)s in the end.",
            "If nothing is used, %(n)d doses and a change of %(change)s %% let it swing between "
            "%(low)s and %(high)s in the end.",
            doses,
        )
        % swing
    )
    sentence = _(
        "After many weeks without any use: %(low)s just after each change, %(high)s just before it"
    ) % pair(after, before)
    return Answer(
        big=_("about %(mg)s mg/L a dose") % {"mg": two(rise)},
        story=story,
        line=scale_svg(
            Scale(
                top=top,
                unit="mg/L",
                low=after,
                high=before,
                target=band,
                likely=Mark(before, _("at most %(mg)s") % {"mg": two(before)}),
                beads=(),
            ),
            sentence,
            tick_words(ticks(top)),
        ),
        line_words=_(
            "The line: after many weeks, just after a change and just before it, plants using "
            "nothing. They do use some: it is the most there can be."
        ),
        because=[
            Reason(
                _("The sum"),
                _("%(ml)s mL × %(content)s g/L ÷ %(volume)s L = %(mg)s mg/L")
                % {
                    "ml": number(values["ml"]),
                    "content": number(values["content"]),
                    "volume": number(volume),
                    "mg": number(rise),
                },
            ),
            Reason(
                _("Why a range"),
                _("the water in a tank is rarely known better than to 10\u00a0%; ground and stone"),
            ),
            Reason(
                _("Where it settles"),
                _("doses between two changes ÷ part changed; with half of it: twice those doses"),
            ),
            band_reason(band, what),
            Reason(
                _("What was assumed"),
                _(
                    "%(what)s as the label gives it; new water brings none; one press gives what "
                    "was measured, not what the pump says"
                )
                % {"what": what},
            ),
            tank_used(source, _("what the tank gets, and how long a bottle lasts")),
        ],
        caution=(
            _("Animals first:"),
            _(
                "shrimps feel metals before fish do. Too much was given? Do not balance it with "
                "something else: change water, air on, look after one hour and after four. "
                "Medicines go by whoever prescribed them, never by this page."
            ),
        ),
    )


DOSE = Sum(
    key="dose",
    name=gettext_lazy("a dose"),
    question=gettext_lazy("What does a dose do to the water?"),
    gist=gettext_lazy("by one dose, and after many weeks of them"),
    chooses=(Choose("of", gettext_lazy("What counts"), NUTRIENTS),),
    fields=(
        WATER,
        Field(
            "content",
            gettext_lazy("In the bottle"),
            "g/L",
            Limit(Decimal("0.001"), 500, "g/L"),
            "1",
            "50",
            more=gettext_lazy("As its label says; mg/mL is the same"),
        ),
        Field("ml", gettext_lazy("One dose"), "mL", Limit(Decimal("0.01"), 1_000, "mL"), "1", "3"),
        Field(
            "doses",
            gettext_lazy("Doses between two changes"),
            "",
            Limit(1, 60),
            "1",
            "7",
            is_whole=True,
        ),
        Field(
            "change",
            gettext_lazy("Water changed each time"),
            "%",
            Limit(1, 100, "%"),
            "5",
            "50",
        ),
    ),
    reckon=_reckon,
)
