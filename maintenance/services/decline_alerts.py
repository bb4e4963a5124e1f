"""Which layouts grow old? Kept as open alerts until fewer signs show or somebody has decided.

Signs and their limits are those of gate G8 (``tanks.science.decline``), with this gallery's own
figures. A layout that was put into decline, taken down or replaced asks for nothing any more: what
the alert wanted has been decided.
"""

from __future__ import annotations

from datetime import datetime

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services.alerts import Wanted, sync_alerts
from gallery_ops.kernel.values.day import business_day
from maintenance.queries.ageing import SHOWN, ageing_of
from tanks.models import Layout, Stage, TankCode
from tanks.queries.gates import own_limits
from tanks.science.decline import Sign, is_declining, signs_of_decline
from tanks.science.gate_list import limit_of

KIND = "decline"
HARM_CLASS = "D"
"""No animal suffers of it: it is looks, and a plan for what comes after. Common practice, no
source."""


def review(showroom: Showroom, at: datetime) -> None:
    """Make the open alerts what is on record now; five queries and those of ``sync_alerts``."""
    layouts = list(
        Layout.objects.of(showroom)
        .filter(voided_at=None, stage__in=SHOWN - {Stage.DECLINE}, from_at__lte=at)
        .still()
    )
    codes = dict(
        TankCode.objects.of(showroom).filter(voided_at=None).at(at).values_list("tank_id", "code")
    )
    own = own_limits(showroom)
    on = business_day(at, showroom.tz, showroom.cut_off_hour)
    records = ageing_of(showroom, layouts, on)
    wanted: dict[str, Wanted] = {}
    for layout in layouts:
        signs = signs_of_decline(records[layout.pk], own)
        if layout.tank_id in codes and is_declining(signs, own):
            code = codes[layout.tank_id]
            wanted[str(layout.pk)] = _wanted(code, layout, signs, limit_of("signs", own))
    sync_alerts(showroom=showroom, kind=KIND, wanted=wanted, at=at)


def _wanted(code: str, layout: Layout, signs: tuple[Sign, ...], asked: float) -> Wanted:
    shown = [sign for sign in signs if sign.shows]
    said = ngettext(
        "%(tank)s: %(title)s grows old, %(n)d of %(of)d signs shows.",
        "%(tank)s: %(title)s grows old, %(n)d of %(of)d signs show.",
        len(shown),
    ) % {
        "tank": code,
        "title": layout.title[:120] or _("this layout"),
        "n": len(shown),
        "of": len(signs),
    }
    return Wanted(
        harm_class=HARM_CLASS,
        subject_kind="tank",
        subject_key=code,
        sentence=said,
        because=[
            *({"what": "sign_of_age", "sign": sign.key, **_plain(sign)} for sign in shown),
            {
                "what": "signs_together",
                "n": len(shown),
                "asked": asked,
                "untold": sum(sign.shows is None for sign in signs),
            },
        ],
    )


def _plain(sign: Sign) -> dict[str, object]:
    """Its figures, rounded as they are shown."""
    return {
        key: [round(one, 1) for one in value] if isinstance(value, list) else round(value, 1)
        for key, value in sign.figures.items()
    }
