"""Which PINs were tried on a tablet while it had no network? It tells them when it has one.

They stand in the book beside the tries that the gallery checked itself, marked as told by a tablet:
they prove nothing, free no name and let none rest here; the tablet has rested it there already.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction

from gallery_ops.kernel.models import Device, Membership, SignInTry
from gallery_ops.kernel.services.audit import record_audit
from gallery_ops.kernel.services.pins import MOST_WRONG

MOST_TOLD = 200
OLDEST = timedelta(days=60)
AHEAD = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class ToldTry:
    """One try; ``at`` by the tablet's clock, ``salt`` hexadecimal, with which it was checked."""

    person: UUID
    at: datetime
    right: bool
    salt: str = ""


def keep_told_tries(*, device: Device, tries: Sequence[ToldTry], at: datetime) -> int:
    """Write them down once, however often they are told; gives how many were new.

    People who do not work in this showroom, and times that cannot be, are left out. A PIN that was
    right by a salt of before was changed since: that, and five wrong ones, leave an audit line.
    """
    told = [one for one in tries[:MOST_TOLD] if at - OLDEST < one.at <= at + AHEAD]
    members = {
        row.person.uid: row
        for row in Membership.objects.of(device.showroom_id)
        .filter(person__uid__in={one.person for one in told})
        .select_related("person", "showroom")
        .order_by("from_at")
    }
    new: list[tuple[Membership, ToldTry]] = []
    with transaction.atomic():
        Device.objects.select_for_update().get(pk=device.pk)
        for one in told:
            member = members.get(one.person)
            if member is None:
                continue
            _row, made = SignInTry.objects.get_or_create(
                showroom=device.showroom,
                person=member.person,
                device=device,
                at=one.at,
                right=one.right,
                told_by_tablet=True,
            )
            if made:
                new.append((member, one))
        _tell(device, new, at)
    return len(new)


def _tell(device: Device, new: list[tuple[Membership, ToldTry]], at: datetime) -> None:
    wrong = Counter(member.pk for member, one in new if not one.right)
    old = {
        member.pk
        for member, one in new
        if one.right and member.pin_salt and one.salt != bytes(member.pin_salt).hex()
    }
    for member in {member.pk: member for member, _one in new}.values():
        for deed, holds in (
            ("pin.wrong_on_tablet", wrong[member.pk] >= MOST_WRONG),
            ("pin.old_on_tablet", member.pk in old),
        ):
            if holds:
                record_audit(
                    showroom=device.showroom,
                    by=None,
                    at=at,
                    deed=deed,
                    subject_kind="device",
                    subject_key=str(device.uid),
                    after={"person": member.person.login, "wrong": wrong[member.pk]},
                )
