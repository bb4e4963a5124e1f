"""Who works when: a manager plans and takes back shifts."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.kernel.models import Membership, Person, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services.audit import record_audit
from maintenance.models import Shift
from tanks.models import Zone

LONGEST_SHIFT_HOURS = 16


def plan_shift(
    *,
    showroom: Showroom,
    person: Person,
    from_at: datetime,
    to_at: datetime,
    by: Membership,
    at: datetime,
    zone: Zone | None = None,
) -> Shift:
    """This person is here from, to (aware), and takes this zone on rounds; None = all zones.

    Raises
    ------
    Refused
        without the right, when the shift is no 16 hours' stretch, or overlaps another of theirs.
    Unknown
        when person or zone is not of this showroom.
    """
    require(by, "plan.change", in_=showroom, at=at)
    if not Membership.objects.of(showroom).filter(person=person).exists():
        raise Unknown("person")
    if zone is not None and zone.showroom_id != showroom.pk:
        raise Unknown("zone")
    hours = (to_at - from_at).total_seconds() / 3600
    if not 0 < hours <= LONGEST_SHIFT_HOURS:
        raise Refused(
            "out_of_range",
            f"A shift lasts more than 0 and at most {LONGEST_SHIFT_HOURS} hours.",
            {"to_at": f"Ends {hours:.1f} hours after it begins."},
            "Correct beginning or end.",
        )
    with transaction.atomic():
        Person.objects.select_for_update().get(pk=person.pk)
        others = Shift.objects.of(showroom).filter(person=person, voided_at=None)
        if others.filter(from_at__lt=to_at, to_at__gt=from_at).exists():
            raise Refused(
                "overlap",
                f"{person.name} already works then.",
                {"from_at": "Overlaps another shift."},
                "Take the other shift back first.",
            )
        shift: Shift = Shift.objects.create(
            showroom=showroom, person=person, from_at=from_at, to_at=to_at, zone=zone
        )
        record_audit(
            showroom=showroom,
            by=by,
            at=at,
            deed="shift.plan",
            subject_kind="person",
            subject_key=person.login,
            after={"from_at": from_at, "to_at": to_at, "zone": zone.code if zone else ""},
        )
    return shift


def take_back_shift(*, showroom: Showroom, shift: Shift, by: Membership, at: datetime) -> None:
    """The shift was planned wrongly, or the person is ill: it is not worked."""
    require(by, "plan.change", in_=showroom, at=at)
    with transaction.atomic():
        taken = Shift.objects.of(showroom).filter(pk=shift.pk, voided_at=None).update(voided_at=at)
        if not taken:
            raise Unknown("shift")
        record_audit(
            showroom=showroom,
            by=by,
            at=at,
            deed="shift.take_back",
            subject_kind="person",
            subject_key=shift.person.login,
            before={"from_at": shift.from_at, "to_at": shift.to_at},
        )
