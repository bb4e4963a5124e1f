"""What would a cylinder do to the air of its room?"""

from __future__ import annotations

from decimal import Decimal

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gallery_ops.drawing.cylinder import room_line_svg
from gallery_ops.kernel.values.limits import Limit
from gallery_ops.overview.sums_page import GAS, ROOM, Source
from gallery_ops.web import room_words
from gallery_ops.web.sums.sheet import Answer, Field, Reason, Sum, Values, pair, two
from gallery_ops.web.words import number
from tanks.science.room_air import (
    EIGHT_HOURS_PPM,
    OUTDOOR_PPM,
    added_ppm,
    hours_until,
    mg_per_m3,
    peak_ppm,
    step_of,
)

ROOM_OFF = 0.10
"""By how much a measured room is usually wrong, as a part (common practice, no source)."""


def _reckon(values: Values, source: Source | None, _house: Source) -> Answer:
    gas_g, room = values["gas"] * 1_000, values["air"]
    ppm = added_ppm(gas_g, room)
    low, high = added_ppm(gas_g, room * (1 + ROOM_OFF)), added_ppm(gas_g, room * (1 - ROOM_OFF))
    step = step_of(ppm)
    strong, rest = room_words.step_words(step)
    said = two(ppm)
    return Answer(
        big=_("about %(ppm)s ppm more") % {"ppm": said},
        story=_("Between %(low)s and %(high)s, if the gas mixes evenly.") % pair(low, high)
        + f" {strong} {rest} "
        + _("Near the floor it is more, and no sum says how much."),
        line=room_line_svg(
            round(ppm),
            step,
            room_words.posts(),
            sentence=_(
                "%(ppm)s ppm on a line from 1,000 to 100,000 with the limits 5,000 and 15,000"
            )
            % {"ppm": said},
            number=said,
        ),
        because=[
            Reason(
                _("The sum"),
                _("%(gas)s g ÷ 1.84 g/L ÷ %(room)s m³, the whole fill at once")
                % {"gas": number(gas_g, 0), "room": number(room)},
            ),
            Reason(_("Why a range"), _("a room is rarely measured better than to 10\u00a0%")),
            Reason(
                _("With air pushed out meanwhile"),
                _("about %(ppm)s ppm in all, with the 420 of outdoor air in it")
                % {"ppm": two(peak_ppm(gas_g, room))},
            ),
            Reason(
                _("By mass"),
                _("%(mg)s g in each cubic metre") % {"mg": two(mg_per_m3(ppm) / 1_000)},
            ),
            _airing(values, ppm),
            Reason(
                _("Limits"),
                _(
                    "5,000 ppm for 8 hours, 15,000 ppm for 15 minutes: EH40/2005 as quoted by "
                    "others. Your local limits may be lower"
                ),
            ),
            Reason(
                _("What it leaves out"),
                _("layers near the floor, stairs and pits, a slow leak over a night"),
            ),
            _used(source),
        ],
        caution=(
            _("People first:"),
            _(
                "a hissing cylinder, a ringing alarm, a headache: out, everybody, and First "
                "minute. Nobody goes in to help. This is a sum, not a clearance; a competent "
                "person and the local rules decide."
            ),
        ),
    )


def _airing(values: Values, ppm: float) -> Reason:
    changes = values["changes"]
    if changes is None:
        return Reason(_("Airing"), _("not asked; write how often the air changes in an hour"))
    if changes == 0 and ppm + OUTDOOR_PPM > EIGHT_HOURS_PPM:
        return Reason(_("Airing"), _("none: then it stays above 5,000"))
    hours = hours_until(EIGHT_HOURS_PPM, ppm + OUTDOOR_PPM, changes)
    if not hours:
        return Reason(_("Airing"), _("below 5,000 from the start, if it mixes evenly"))
    return Reason(
        _("Airing"),
        _(
            "about %(h)s h until 5,000, if air changes %(n)s times an hour and mixes. For planning "
            "an airing, never for going in"
        )
        % {"h": two(hours), "n": number(changes)},
    )


def _used(source: Source | None) -> Reason:
    what = _("the number of the room, the rule of two people at a change")
    if source is None:
        return Reason(_("Used in"), what, reverse("cylinder_list"), _("the cylinders"))
    return Reason(_("Used in"), what, reverse("room_gas", args=[source.key]), source.name)


ROOM_SUM = Sum(
    key="room",
    name=gettext_lazy("gas in a room"),
    question=gettext_lazy("What would a cylinder do to the air of a room?"),
    gist=gettext_lazy("if all of it let go at once"),
    source="room",
    fields=(
        Field(
            "gas",
            gettext_lazy("Gas in the cylinder"),
            "kg",
            Limit(Decimal("0.01"), 100, "kg"),
            "0.5",
            "2",
            known=GAS,
            more=gettext_lazy("All of a full one"),
        ),
        Field(
            "air",
            gettext_lazy("Air of the room"),
            "m³",
            Limit(1, 100_000, "m³"),
            "5",
            "60",
            known=ROOM,
            more=gettext_lazy("Length × width × height, less what stands in it"),
            low_remedy=gettext_lazy("Measure the room first."),
        ),
        Field(
            "changes",
            gettext_lazy("Air changes an hour"),
            "",
            Limit(0, 60),
            "0.5",
            "0.5",
            more=gettext_lazy("A closed room has 0.2 to 0.5"),
            is_optional=True,
        ),
    ),
    reckon=_reckon,
)
