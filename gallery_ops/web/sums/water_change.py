"""How many changes of water, until what is too much is little enough?"""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from gallery_ops.drawing.scale import Mark, Scale, scale_svg, ticks, top_of
from gallery_ops.kernel.values.limits import Limit, OutOfRange
from gallery_ops.overview.sums_page import VOLUME, Source
from gallery_ops.web.sums.sheet import (
    Answer,
    Choose,
    Field,
    Reason,
    Sum,
    Values,
    tick_words,
    two,
)
from gallery_ops.web.sums.used import band_reason, house_band, tank_used
from gallery_ops.web.words import number
from tanks.science.water_change import (
    Cycle,
    after_changes,
    changes_for_target,
    part_for_target,
)

KIT_OFF = 0.15
"""By how much a drop kit is usually wrong, as a part (common practice, no source)."""

MOST = 40
WHAT = (
    ("nitrate", gettext_lazy("nitrate")),
    ("phosphate", gettext_lazy("phosphate")),
    ("other", gettext_lazy("something else")),
)


def _reckon(values: Values, source: Source | None, house: Source) -> Answer:
    start, target, fresh = values["now"], values["target"], values["fresh"]
    change = values["change"] / 100
    n = changes_for_target(start, target, change, fresh)
    if n > MOST:
        raise OutOfRange(
            str(WATER_CHANGE.fields[3].label),
            _("enough for %(n)d changes or fewer") % {"n": MOST},
            f"{number(values['change'])} %",
            _("Change more at a time."),
        )
    series = [float(value) for value in after_changes(start, Cycle(change, fresh), n)]
    band = house_band(source, house, values["of"])
    top = top_of([start, fresh, band.high if band and band.high < 2 * start else 0.0])
    big = ngettext("about %(n)d change", "about %(n)d changes", n) % {"n": n}
    shown = series[1:7]
    steps = ", ".join(two(value) for value in shown) + (" …" if len(series) > 7 else "")
    return Answer(
        big=big if n else _("no change"),
        story=_story(values, n, steps, fresh),
        line=scale_svg(
            Scale(
                top=top,
                unit="mg/L",
                target=band,
                limit=Mark(target, _("wanted, %(mg)s") % {"mg": number(target)}),
                likely=Mark(start, _("now %(mg)s") % {"mg": number(start)}),
                beads=[Mark(value, str(i)) for i, value in enumerate(shown[:4], 1)],
            ),
            _("From %(start)s to %(end)s milligrams a litre in %(n)d changes")
            % {"start": number(start), "end": two(series[-1]), "n": n},
            tick_words(ticks(top)),
        ),
        line_words=_("Open beads: after the first change, the second, and so on."),
        because=[
            Reason(
                _("The sum"),
                _("each change leaves %(left)s %% of the distance to the new water")
                % {"left": number(100 - change * 100, 0)},
            ),
            Reason(_("After each"), _("%(steps)s mg/L") % {"steps": steps or number(start)}),
            Reason(_("All at once"), _at_once(values)),
            _litres(values, source),
            Reason(
                _("Why a range"),
                _("a drop kit is rarely better than to 15\u00a0%; compare two readings of one kit"),
            ),
            band_reason(band, str(dict(WHAT)[values["of"]])),
            Reason(
                _("What was assumed"),
                _("all water is mixed; nothing is fed, dosed or used in between"),
            ),
            tank_used(source, _("the water changes of the tank and what they take")),
        ],
        caution=(
            _("Animals first:"),
            _(
                "new water as warm as the old, conditioned for the whole tank. More than half at "
                "once shifts pH and hardness too: in parts, with a day between, and look at the "
                "animals in each."
            ),
        ),
    )


def _story(values: Values, n: int, steps: str, fresh: float) -> str:
    if not n:
        return _("It is there already.")
    likely = []
    for off in (1 - KIT_OFF, 1 + KIT_OFF):
        shifted = max(values["target"], values["now"] * off) if values["now"] > fresh else None
        if shifted is None:
            return _("After each: %(steps)s.") % {"steps": steps}
        likely.append(changes_for_target(shifted, values["target"], values["change"] / 100, fresh))
    said = _("Between %(low)d and %(high)d, as wrong as a kit may be.") % {
        "low": likely[0],
        "high": likely[1],
    }
    if likely[0] == likely[1]:
        said = _("Also if the kit is wrong by 15 %.")
    return said + " " + _("After each: %(steps)s\u00a0mg/L.") % {"steps": steps}


def _at_once(values: Values) -> str:
    part = part_for_target(values["now"], values["target"], values["fresh"])
    said = _("%(part)s %% in one change would do the same") % {"part": number(part * 100, 0)}
    return said + (_("; that is too much at once for animals") if part > 0.5 else "")


def _litres(values: Values, source: Source | None) -> Reason:
    known = source.known.get(VOLUME) if source else None
    if known is None or source is None:
        return Reason(_("In litres"), _("choose a tank to see them"))
    litres = known.value * values["change"] / 100
    return Reason(
        _("In litres"),
        _("%(litres)s L each time in %(tank)s, working volume %(volume)s L")
        % {"litres": two(litres), "tank": source.name, "volume": number(known.value)},
    )


MG = Limit(0, 2_000, "mg/L")
WATER_CHANGE = Sum(
    key="water-change",
    name=gettext_lazy("water changes"),
    question=gettext_lazy("How many water changes does it take?"),
    gist=gettext_lazy("from what is there to what is wanted"),
    chooses=(Choose("of", gettext_lazy("Of what"), WHAT),),
    fields=(
        Field("now", gettext_lazy("In the tank now"), "mg/L", MG, "1", "40"),
        Field("target", gettext_lazy("Target"), "mg/L", MG, "1", "20"),
        Field(
            "fresh",
            gettext_lazy("New water"),
            "mg/L",
            MG,
            "1",
            "0",
            more=gettext_lazy("What the tap, or the mix, brings along"),
        ),
        Field(
            "change", gettext_lazy("Water changed each time"), "%", Limit(1, 100, "%"), "5", "40"
        ),
    ),
    takes=lambda chosen: {"now": str(chosen["of"])} if chosen["of"] != "other" else {},
    reckon=_reckon,
)
