"""What stands around every staff page: whose gallery, who is signed in, how many alerts."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.urls import reverse
from django.utils.functional import SimpleLazyObject
from django.utils.translation import gettext as _

from gallery_ops.kernel.queries.alerts import open_count_by_class
from gallery_ops.kernel.queries.health import health
from gallery_ops.kernel.rights import may
from gallery_ops.overview.who import Who


def frame(request: HttpRequest) -> dict[str, Any]:
    """Context processor; asks the database only when the page shows the frame."""
    return {"frame": SimpleLazyObject(lambda: _frame(request))}


def _frame(request: HttpRequest) -> dict[str, Any]:
    who: Who = getattr(request, "who", Who())
    if who.membership is None or who.showroom is None:
        showroom = who.showroom
        return {
            "showroom": showroom.name if showroom else "",
            "place": showroom.place if showroom else "",
        }
    state = health(at=request.at)  # type: ignore[attr-defined]
    return {
        "showroom": who.showroom.name,
        "place": who.showroom.place,
        "person": who.membership.person.name,
        "reads": may(who.membership, "read"),
        "role": str(who.membership.get_role_display()),
        "open_alerts": sum(open_count_by_class(who.showroom).values()),
        "watch": [pulse.sentence for pulse in state.pulses if pulse.sentence],
        "jobs": _("Times are gallery time"),
        "house": [
            (reverse(name), words)
            for name, words, right in (
                ("calculator_list", _("Sums"), "read"),
                ("people_list", _("People"), "person.change"),
                ("device_list", _("Tablets"), "device.enrol"),
                ("token_list", _("Programs"), "token.make"),
                ("fleet_import", _("Bring a spreadsheet"), "import"),
            )
            if may(who.membership, right)
        ],
    }
