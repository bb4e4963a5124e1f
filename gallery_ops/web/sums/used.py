"""Where is the number of a sum used? A link to the tank that was chosen, or to all of them."""

from __future__ import annotations

from django.urls import reverse
from django.utils.translation import gettext as _

from gallery_ops.drawing.scale import Band
from gallery_ops.overview.sums_page import Source
from gallery_ops.web.sums.sheet import Reason
from gallery_ops.web.words import number


def tank_used(source: Source | None, what: str) -> Reason:
    """What uses it, and the tank's page, or the wall where no tank was chosen."""
    if source is None:
        return Reason(_("Used in"), what, reverse("tank_wall"), _("the tanks"))
    return Reason(_("Used in"), what, reverse("tank_detail", args=[source.key]), source.name)


def house_band(source: Source | None, house: Source, parameter: str) -> Band | None:
    """The range beyond which somebody is told, of that tank or of the house; None without one."""
    ranges = (source or house).ranges.get(parameter)
    if ranges is None or ranges.alarm_low is None or ranges.alarm_high is None:
        return None
    whose = source.name if source else _("the house")
    said = _("range of %(whose)s, %(low)s to %(high)s") % {
        "whose": whose,
        "low": number(ranges.alarm_low),
        "high": number(ranges.alarm_high),
    }
    return Band(ranges.alarm_low, ranges.alarm_high, said)


def band_reason(band: Band | None, what: str) -> Reason:
    """Whether the house keeps a range for it."""
    if band is None:
        return Reason(_("Range"), _("the house keeps none for %(what)s") % {"what": what})
    return Reason(
        _("Range"), band.words + ". " + _("Beyond it somebody is told (common practice, no source)")
    )
