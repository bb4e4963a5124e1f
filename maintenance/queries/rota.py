"""Who works on this day, from when to when, in which zone, and what can they do?"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from django.db.models import Q

from gallery_ops.kernel.models import Membership, Showroom, Skill, SkillGrant
from gallery_ops.kernel.values.day import day_bounds
from maintenance.models import Shift

# C1 to C3 include one another; D and T stand alone.
_INCLUDES: Final = {
    Skill.C1: frozenset(["C1"]),
    Skill.C2: frozenset(["C1", "C2"]),
    Skill.C3: frozenset(["C1", "C2", "C3"]),
    Skill.D: frozenset(["D"]),
    Skill.T: frozenset(["T"]),
}


@dataclass(frozen=True, slots=True)
class OnShift:
    """A person at work. zone_code : the zone of the walk they take; empty for all.

    skills : what they were signed off for and what that includes.
    """

    person_id: int
    person_uid: str
    name: str
    role: str
    from_at: datetime
    to_at: datetime
    zone_code: str
    skills: frozenset[str]

    def can(self, skill: str) -> bool:
        """Signed off for work of this skill on that day."""
        return skill in self.skills

    def is_here(self, at: datetime) -> bool:
        """At work at this instant (aware)."""
        return self.from_at <= at < self.to_at


def who_works(showroom: Showroom, day: date) -> list[OnShift]:
    """Shifts that touch this business day, by beginning and name. 3 queries."""
    start, end = day_bounds(day, showroom.tz, showroom.cut_off_hour)
    shifts = list(
        Shift.objects.of(showroom)
        .filter(from_at__lt=end, to_at__gt=start, voided_at=None)
        .select_related("person", "zone")
        .order_by("from_at", "person__name")
    )
    people = {shift.person_id for shift in shifts}
    roles = dict(
        Membership.objects.of(showroom)
        .filter(person_id__in=people)
        .filter(Q(to_at__isnull=True) | Q(to_at__gt=start), from_at__lt=end)
        .values_list("person_id", "role")
    )
    skills = skills_of(showroom, people, day)
    return [
        OnShift(
            person_id=shift.person_id,
            person_uid=str(shift.person.uid),
            name=shift.person.name,
            role=roles.get(shift.person_id, ""),
            from_at=shift.from_at,
            to_at=shift.to_at,
            zone_code=shift.zone.code if shift.zone else "",
            skills=skills.get(shift.person_id, frozenset()),
        )
        for shift in shifts
    ]


def who_is_here(showroom: Showroom, day: date, at: datetime) -> list[OnShift]:
    """People at work at this instant, each once."""
    here = {shift.person_id: shift for shift in who_works(showroom, day) if shift.is_here(at)}
    return list(here.values())


def skills_of(showroom: Showroom, people: set[int], day: date) -> dict[int, frozenset[str]]:
    """Skills by person id that hold on this day: signed off, in date, not taken back."""
    grants = (
        SkillGrant.objects.of(showroom)
        .filter(person_id__in=people, signed_off_on__lte=day)
        .filter(Q(expires_on__isnull=True) | Q(expires_on__gt=day))
        .filter(Q(revocation__isnull=True) | Q(revocation__revoked_on__gt=day))
        .values_list("person_id", "skill")
    )
    found: dict[int, frozenset[str]] = {}
    for person_id, skill in grants:
        found[person_id] = found.get(person_id, frozenset()) | _INCLUDES[Skill(skill)]
    return found


def last_shift_end(showroom: Showroom, person_id: int, at: datetime) -> datetime | None:
    """When this person's last shift was over; None without one on record. One query."""
    ended: datetime | None = (
        Shift.objects.of(showroom)
        .filter(person_id=person_id, voided_at=None, to_at__lte=at)
        .order_by("-to_at")
        .values_list("to_at", flat=True)
        .first()
    )
    return ended
