"""Light, filter, heater, pump: put on a tank, changed, looked after, and taken off again."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Unpack

from django.db import transaction
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.services.checking import write_new
from gallery_ops.kernel.services.facts import Said, columns_of_taking_back, fact_columns
from gallery_ops.kernel.services.work import want_work
from tanks.models import Equipment, EquipmentService, Tank

ALLOWED: dict[str, dict[str, tuple[float, float]]] = {
    "light": {
        "power_w": (0, 3000),
        "on_h": (0, 24),
        "off_h": (0, 24),
        "hours_per_day": (0, 24),
        "ppfd_umol": (0, 2000),
    },
    "filter": {"flow_l_per_h": (1, 20_000), "power_w": (0, 1000)},
    "heater": {"power_w": (1, 3000)},
    "pump": {"flow_l_per_h": (1, 20_000), "power_w": (0, 1000)},
    "gas": {"on_h": (0, 24), "off_h": (0, 24)},
    "lid": {},
}
"""Kind -> its figures and what each may be; units in the names. Common practice, no source."""
NAMES = {
    "power_w": _("Power"),
    "on_h": _("On at"),
    "off_h": _("Off at"),
    "hours_per_day": _("Hours a day"),
    "ppfd_umol": _("Light at the plants"),
    "flow_l_per_h": _("Flow when clean"),
}
MOST_FLOW_L_PER_H = 20_000


@transaction.atomic
def put_on(
    *,
    tank: Tank,
    kind: str,
    name: str,
    figures: Mapping[str, float],
    by: Membership,
    at: datetime,
    from_at: datetime | None = None,
    words: Mapping[str, str] | None = None,
) -> Equipment:
    """Equipment on a tank from ``from_at`` (else ``at``) on.

    figures : of ALLOWED, with their unit in the key (``power_w``)
    words : any of ``serial``, ``socket``, ``circuit``, ``spares``
    """
    require(by, "plan.change", in_=tank.showroom)
    _check(kind, figures)
    row = Equipment(
        showroom=tank.showroom,
        tank=tank,
        kind=kind,
        name=name[:80],
        figures=dict(figures),
        from_at=_not_later(from_at, at),
        **_fitting(words or {}),
    )
    write_new(row)
    audit.record(by=by, at=at, deed="equipment.put_on", subject=tank, after={"kind": kind})
    want_work(tank.showroom, "water", at=at)
    return row


@transaction.atomic
def change(
    *,
    equipment: Equipment,
    name: str,
    figures: Mapping[str, float],
    words: Mapping[str, str],
    by: Membership,
    at: datetime,
    from_at: datetime | None = None,
) -> Equipment:
    """Other figures or another place from a moment on.

    What held before stays to be seen: the row ends, and another begins.
    """
    begins = _not_later(from_at, at)
    if begins <= equipment.from_at:
        raise Refused(
            "before_it_began",
            "It cannot change before it was put on.",
            {"from_at": f"Later than {equipment.from_at:%Y-%m-%d %H:%M}."},
            "Leave it empty for now.",
        )
    take_off(equipment=equipment, by=by, at=at, to_at=begins)
    return put_on(
        tank=equipment.tank,
        kind=equipment.kind,
        name=name,
        figures=figures,
        words=words,
        by=by,
        at=at,
        from_at=begins,
    )


@transaction.atomic
def take_off(
    *, equipment: Equipment, by: Membership, at: datetime, to_at: datetime | None = None
) -> Equipment:
    """It serves this tank no longer."""
    require(by, "plan.change", in_=equipment.showroom)
    equipment.to_at = _not_later(to_at, at)
    equipment.save(update_fields=["to_at"])
    audit.record(by=by, at=at, deed="equipment.taken_off", subject=equipment.tank)
    want_work(equipment.showroom, "water", at=at)
    return equipment


@transaction.atomic
def look_after(
    *,
    equipment: Equipment,
    what: str,
    by: Membership,
    at: datetime,
    flow_l_per_h: float | None = None,
    text: str = "",
    **said: Unpack[Said],
) -> EquipmentService:
    """Somebody cleaned, repaired or measured it; the same action again changes nothing.

    Raises
    ------
    Refused
        ``unknown_word`` for another deed, ``out_of_range`` for a flow that cannot be,
        ``nothing_measured`` for a measurement without its flow.
    """
    require(by, "record", in_=equipment.showroom)
    action_id = said.get("action_id")
    if action_id is not None:
        rows = EquipmentService.objects.of(equipment.showroom).filter(takes_back=False)
        known: EquipmentService | None = rows.filter(
            equipment=equipment, action_id=action_id
        ).first()
        if known is not None:
            return known
    kinds = dict(EquipmentService._meta.get_field("what").choices or [])
    if what not in kinds:
        raise Refused("unknown_word", "Nothing was chosen.", {"what": "Choose what was done."})
    if flow_l_per_h is not None and not 0 <= flow_l_per_h <= MOST_FLOW_L_PER_H:
        raise Refused(
            "out_of_range",
            f"Flow: {flow_l_per_h:g} L/h cannot be.",
            {"flow": f"Allowed: 0 to {MOST_FLOW_L_PER_H} L/h."},
            "Time a bucket, and look at the decimal mark.",
        )
    if what == "measured" and flow_l_per_h is None:
        raise Refused("nothing_measured", "No flow was typed.", {"flow": "A number, in L/h."})
    row: EquipmentService = EquipmentService.objects.create(
        **fact_columns(equipment.showroom, by, at, said),
        equipment=equipment,
        what=what,
        flow_l_per_h=flow_l_per_h,
        text=text.strip()[:300],
    )
    want_work(equipment.showroom, "water", at=at)
    return row


@transaction.atomic
def take_back_service(
    *, service: EquipmentService, by: Membership, at: datetime, **said: Unpack[Said]
) -> EquipmentService:
    """It was a slip: a further fact says that the first does not count. Both stay."""
    require(by, "record", in_=service.showroom)
    known = EquipmentService.objects.filter(corrects=service).first()
    if known is not None:
        return known
    back: EquipmentService = EquipmentService.objects.create(
        **columns_of_taking_back(service, by, at, said),
        equipment=service.equipment,
        what=service.what,
        flow_l_per_h=service.flow_l_per_h,
        text=service.text,
    )
    want_work(service.showroom, "water", at=at)
    return back


def _check(kind: str, figures: Mapping[str, float]) -> None:
    if kind not in ALLOWED:
        raise Refused("unknown_word", "No kind was chosen.", {"kind": "Choose one of these."})
    wrong = {}
    for key, value in figures.items():
        low, high = ALLOWED[kind].get(key, (0, 0))
        if key not in ALLOWED[kind] or not low <= value <= high:
            wrong[key] = f"{NAMES.get(key, key)}: {low:g} to {high:g}."
    if ("on_h" in figures) != ("off_h" in figures):
        wrong["off_h" if "on_h" in figures else "on_h"] = "Both times, or none."
    if wrong:
        raise Refused("figures_refused", "These figures cannot be.", wrong, "Nothing was changed.")


def _not_later(moment: datetime | None, at: datetime) -> datetime:
    if moment is not None and moment > at:
        raise Refused("not_yet", "That moment has not come yet.", {"from_at": "Now or earlier."})
    return moment or at


def _fitting(words: Mapping[str, str]) -> dict[str, str]:
    longest = {"serial": 60, "socket": 40, "circuit": 40, "spares": 200}
    return {key: words.get(key, "").strip()[:most] for key, most in longest.items()}
