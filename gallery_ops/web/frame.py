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
from gallery_ops.web.middleware import BY_ITSELF


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
            "tablet": _tablet(who),
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
        "tablet": _tablet(who),
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


def _tablet(who: Who) -> dict[str, str] | None:
    """What a page must know to send what waits on an enrolled tablet."""
    if who.device is None:
        return None
    sees_held = who.membership is not None and may(who.membership, "read")
    return {
        "device": str(who.device.uid),
        "outbox": reverse("api_outbox") + f"?{BY_ITSELF}=1",
        "zone": who.device.showroom.zone,
        "held": reverse("held_list") if sees_held else "",
    }
