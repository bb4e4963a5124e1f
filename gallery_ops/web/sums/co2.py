"""How much CO2 is in the water?"""

from __future__ import annotations

from decimal import Decimal

from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gallery_ops.drawing.scale import Band, Mark, Scale, scale_svg, ticks, top_of
from gallery_ops.kernel.values.limits import Limit
from gallery_ops.overview.sums_page import Source
from gallery_ops.web.sums.sheet import Answer, Field, Reason, Sum, Values, pair, tick_words, two
from gallery_ops.web.sums.used import tank_used
from gallery_ops.web.words import number
from tanks.science.carbonate import (
    BLUE_FROM_PH,
    FISH_AIM_MG_PER_L,
    NO_CARBONATE,
    REFERENCE_DKH,
    SHOW_AIM_MG_PER_L,
    YELLOW_BELOW_PH,
    Co2Range,
    co2_mg_per_l,
    co2_range,
    pk1,
    short_rule_mg_per_l,
)
from tanks.science.hardness import Alkalinity

AIMS = {
    "from": number(SHOW_AIM_MG_PER_L[0], 0),
    "to": number(SHOW_AIM_MG_PER_L[1], 0),
    "fish": number(FISH_AIM_MG_PER_L, 0),
}
FLUID = Alkalinity.of_dkh(REFERENCE_DKH)


def _reckon(values: Values, source: Source | None, _house: Source) -> Answer:
    alkalinity = Alkalinity.of_dkh(values["kh"])
    ph, degc = values["ph"], values["temp"]
    found = co2_range(alkalinity, ph, degc)
    return Answer(
        big=_("about %(mg)s mg/L") % {"mg": two(found.likely)},
        story=_("Between %(low)s and %(high)s.") % pair(found.low, found.high)
        + " "
        + _meaning(found),
        line=_line(found, degc),
        line_words=_(
            "Words under the line: the drop checker with 4 dKH fluid, one to two hours behind."
        ),
        because=[
            Reason(_("The sum"), _formula(degc)),
            Reason(
                _("Why a range"),
                _("pH ± 0.1 alone is −21 to +26 %%; hardness ± 0.5 dKH is %(part)s %%")
                % {"part": number(50 / values["kh"], 0)},
            ),
            Reason(_("The short rule in use"), _short(alkalinity, ph)),
            Reason(
                _("It reads too high if"),
                _(
                    "wood, soil acids or phosphate hold part of the hardness. Then the true value "
                    "is lower, nobody can say how much"
                ),
            ),
            Reason(
                _("What was assumed"),
                _("hardness is carbonate only; fresh water; pH meter set this week"),
            ),
            tank_used(source, _("the readings, and what the look at the drop checker tells")),
        ],
        caution=(
            _("Animals first:"),
            _("gasping, or a yellow checker, counts more than this number. Then gas off, air on."),
        ),
    )


def _meaning(found: Co2Range) -> str:
    if found.likely > FISH_AIM_MG_PER_L:
        return _(
            "That is above what many fish keepers aim for: look at the surface, and give plenty "
            "of air."
        )
    if found.high > FISH_AIM_MG_PER_L:
        return _("It may be above what many fish keepers aim for: look at the animals.")
    return _("That is less than planted shows aim at, and no more than many fish keepers aim for.")


def _formula(degc: float) -> str:
    return format_html(
        "15.7 × dKH × 10<sup>({} − pH)</sup>, {}",
        number(pk1(degc), 2),
        _("equilibrium of 1982 at %(degc)s\u00a0°C") % {"degc": number(degc, 1)},
    )


def _short(alkalinity: Alkalinity, ph: float) -> str:
    return format_html(
        "3 × dKH × 10<sup>(7 − pH)</sup> {}",
        _("says %(mg)s. It reads low, the wrong side for fish")
        % {"mg": two(short_rule_mg_per_l(alkalinity, ph))},
    )


def _line(found: Co2Range, degc: float) -> str:
    top = top_of([found.high, SHOW_AIM_MG_PER_L[1] * 1.4])
    turns = [float(co2_mg_per_l(FLUID, ph, degc)) for ph in (BLUE_FROM_PH, YELLOW_BELOW_PH)]
    under = [
        Mark(turns[0] / 2, _("blue")),
        Mark((turns[0] + min(turns[1], top)) / 2, _("green")),
        Mark((turns[1] + top) / 2 if turns[1] < top else 2 * top, _("yellow")),
    ]
    sentence = _(
        "Likely %(mg)s, between %(low)s and %(high)s milligrams a litre. Planted shows aim at "
        "%(from)s to %(to)s; a common upper aim for fish is %(fish)s"
    ) % {"mg": two(found.likely), **pair(found.low, found.high), **AIMS}
    return scale_svg(
        Scale(
            top=top,
            unit="mg/L",
            likely=Mark(found.likely, _("likely %(mg)s") % {"mg": two(found.likely)}),
            low=found.low,
            high=found.high,
            target=Band(*SHOW_AIM_MG_PER_L, _("planted show, %(from)s to %(to)s") % AIMS),
            limit=Mark(FISH_AIM_MG_PER_L, _("upper aim for fish, %(fish)s") % AIMS),
            under=under,
        ),
        sentence,
        tick_words(ticks(top)),
    )


CO2 = Sum(
    key="co2",
    name=gettext_lazy("dissolved CO2"),
    question=gettext_lazy("How much CO2 is in the water?"),
    gist=gettext_lazy("from carbonate hardness, pH and temperature"),
    fields=(
        Field(
            "kh",
            gettext_lazy("Carbonate hardness"),
            "dKH",
            Limit(Decimal("0.5"), 25, "dKH"),
            "0.5",
            "4",
            known="kh",
            low_remedy=gettext_lazy(NO_CARBONATE),
        ),
        Field(
            "ph",
            gettext_lazy("pH"),
            "",
            Limit(5, Decimal("8.5")),
            "0.05",
            "6.6",
            known="ph",
            more=gettext_lazy("Lights on"),
            low_remedy=gettext_lazy("Set the meter, and measure again."),
        ),
        Field(
            "temp",
            gettext_lazy("Temperature"),
            "°C",
            Limit(5, 35, "°C"),
            "0.5",
            "24",
            known="temperature",
        ),
    ),
    reckon=_reckon,
)
