"""What does a salt add to the water?"""

from __future__ import annotations

from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gallery_ops.drawing.scale import Mark, Scale, scale_svg, ticks, top_of
from gallery_ops.kernel.values.limits import Limit, OutOfRange
from gallery_ops.overview.sums_page import Source
from gallery_ops.web.sums.dose import VOLUME_OFF, WATER
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
from tanks.science.dosing import rise_mg_per_l
from tanks.science.remineral import mg_per_l_per_dgh, mg_per_l_per_dkh
from tanks.science.salts import mass_part, molar_mass_g

SALTS = (
    ("KNO3", gettext_lazy("potassium nitrate, KNO3")),
    ("KH2PO4", gettext_lazy("potassium phosphate, KH2PO4")),
    ("K2SO4", gettext_lazy("potassium sulphate, K2SO4")),
    ("MgSO4.7H2O", gettext_lazy("magnesium sulphate with its water, MgSO4·7H2O")),
    ("Ca(NO3)2.4H2O", gettext_lazy("calcium nitrate with its water, Ca(NO3)2·4H2O")),
    ("CaCl2.2H2O", gettext_lazy("calcium chloride with its water, CaCl2·2H2O")),
    ("CaSO4.2H2O", gettext_lazy("gypsum, CaSO4·2H2O")),
    ("NaHCO3", gettext_lazy("sodium bicarbonate, NaHCO3")),
    ("KHCO3", gettext_lazy("potassium bicarbonate, KHCO3")),
)
FORMS = {
    "NO3": ("nitrate", gettext_lazy("nitrate")),
    "PO4": ("phosphate", gettext_lazy("phosphate")),
    "Mg": ("", gettext_lazy("magnesium")),
    "Ca": ("", gettext_lazy("calcium")),
    "HCO3": ("", gettext_lazy("bicarbonate")),
    "K": ("", gettext_lazy("potassium")),
    "Na": ("", gettext_lazy("sodium")),
    "Cl": ("", gettext_lazy("chloride")),
    "SO4": ("", gettext_lazy("sulphate")),
}
"""What is told of a salt, the first of these first; parameter of the house and word."""


def parts(salt: str) -> list[tuple[str, float]]:
    """What a salt holds of what is told, and its part by mass [g/g]."""
    found = []
    for form in FORMS:
        try:
            found.append((form, mass_part(salt, form)))
        except OutOfRange:
            continue
    return found


def _reckon(values: Values, source: Source | None, house: Source) -> Answer:
    salt, grams, volume = values["salt"], values["grams"], values["volume"]
    held = parts(salt)
    form, part = held[0]
    parameter, word = FORMS[form]
    rise = rise_mg_per_l(grams, part, volume)
    low, high = rise / (1 + VOLUME_OFF), rise / (1 - VOLUME_OFF)
    was = values["now"] or 0.0
    band = house_band(source, house, parameter) if parameter else None
    top = top_of([was + high, band.high if band and band.high < 4 * (was + high) else 0.0])
    rest = ", ".join(
        _("%(mg)s mg/L of %(what)s")
        % {"mg": two(rise_mg_per_l(grams, more, volume)), "what": FORMS[name][1]}
        for name, more in held[1:]
    )
    story = _("Between %(low)s and %(high)s.") % pair(low, high)
    if rest:
        story += " " + _("And %(rest)s.") % {"rest": rest}
    hardness = _hardness(salt, grams * 1_000 / volume)
    after = was + rise
    return Answer(
        big=_("about %(mg)s mg/L of %(what)s") % {"mg": two(rise), "what": word},
        story=f"{story} {hardness}".strip(),
        line=scale_svg(
            Scale(
                top=top,
                unit="mg/L",
                likely=Mark(after, _("then %(mg)s") % {"mg": two(after)}),
                low=was + low,
                high=was + high,
                target=band,
                beads=[Mark(was, _("now"))] if was else [],
            ),
            _("Then likely %(mg)s, between %(low)s and %(high)s milligrams a litre")
            % {"mg": two(after), **pair(was + low, was + high)},
            tick_words(ticks(top)),
        ),
        because=[
            Reason(
                _("The sum"),
                _("%(g)s g × %(part)s g in a gram ÷ %(volume)s L")
                % {"g": number(grams), "part": number(part, 3), "volume": number(volume)},
            ),
            Reason(
                _("The salt"),
                (
                    _("%(salt)s, %(mass)s g a mole; the water in its crystals counts")
                    if "." in salt
                    else _("%(salt)s, %(mass)s g a mole")
                )
                % {"salt": salt.replace(".", "·"), "mass": number(molar_mass_g(salt), 2)},
            ),
            Reason(
                _("Why a range"),
                _("the water in a tank is rarely known better than to 10\u00a0%; ground and stone"),
            ),
            band_reason(band, str(word)),
            Reason(
                _("What was assumed"),
                _(
                    "the salt is dry and pure, and all of it dissolves. A label that says P2O5 or "
                    "K2O counts something else"
                ),
            ),
            tank_used(source, _("what is mixed for the tank, and its readings")),
        ],
        caution=(
            _("Animals first:"),
            _(
                "dissolve it in a cup first, give it in parts over days, look at the animals in "
                "between. And people: gloves, no dust, off the flame; the sheet of the maker and "
                "local rules say more."
            ),
        ),
    )


def _hardness(salt: str, mg_per_l: float) -> str:
    said = []
    for per_degree, words in (
        (mg_per_l_per_dgh, _("%(n)s dGH of general hardness")),
        (mg_per_l_per_dkh, _("%(n)s dKH of carbonate hardness")),
    ):
        try:
            said.append(words % {"n": two(mg_per_l / per_degree(salt))})
        except OutOfRange:
            continue
    return _("That is %(what)s.") % {"what": ", ".join(said)} if said else ""


SALTS_SUM = Sum(
    key="salts",
    name=gettext_lazy("salts"),
    question=gettext_lazy("What does a salt add to the water?"),
    gist=gettext_lazy("by its grams, and as hardness where it is one"),
    chooses=(Choose("salt", gettext_lazy("Salt"), SALTS),),
    fields=(
        Field(
            "grams", gettext_lazy("Salt given"), "g", Limit(Decimal("0.001"), 5_000, "g"), "1", "1"
        ),
        WATER,
        Field(
            "now",
            gettext_lazy("In the water now"),
            "mg/L",
            Limit(0, 2_000, "mg/L"),
            "1",
            "10",
            is_optional=True,
        ),
    ),
    takes=lambda chosen: (
        {"now": FORMS[parts(str(chosen["salt"]))[0][0]][0]}
        if FORMS[parts(str(chosen["salt"]))[0][0]][0]
        else {}
    ),
    reckon=_reckon,
)
