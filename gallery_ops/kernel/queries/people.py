"""Who works here, in which role, and what are they signed off for?"""

from __future__ import annotations

import uuid
from collections import defaultdict
from datetime import date, datetime

from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Epoch, Membership, Person, Showroom, Skill, SkillGrant

INCLUDED: dict[str, frozenset[str]] = {
    Skill.C1.value: frozenset({"C1"}),
    Skill.C2.value: frozenset({"C1", "C2"}),
    Skill.C3.value: frozenset({"C1", "C2", "C3"}),
    Skill.D.value: frozenset({"D"}),
    Skill.T.value: frozenset({"T"}),
}
"""Skill -> what it includes."""


def showroom_by_code(code: str) -> Showroom:
    """The showroom with this code. Raises Unknown."""
    found = Showroom.objects.filter(code=code).first()
    if found is None:
        raise Unknown(_("showroom"))
    return found


def showrooms() -> QuerySet[Showroom]:
    """All showrooms, for jobs and commands."""
    return Showroom.objects.order_by("pk")


def has_showroom() -> bool:
    """Whether the books are open, or the first-run page must be shown."""
    return Showroom.objects.exists()


def current_epoch() -> uuid.UUID | None:
    """The identity of this database; None before the first showroom."""
    return Epoch.objects.order_by("-pk").values_list("token", flat=True).first()


def members(showroom: Showroom, at: datetime) -> QuerySet[Membership]:
    """Who works here at this instant, by name, with their person."""
    rows: QuerySet[Membership] = (
        Membership.objects.of(showroom)
        .at(at)
        .filter(person__is_active=True)
        .select_related("person", "showroom")
        .order_by("person__name", "pk")
    )
    return rows


def name_tiles(showroom: Showroom, at: datetime) -> QuerySet[Membership]:
    """Who can sign in on a tablet: those who work here and have a PIN."""
    return members(showroom, at).exclude(pin_base=None)


def member_by_login(showroom: Showroom, login: str, at: datetime) -> Membership:
    """Somebody who works here, by sign-in name. Raises Unknown."""
    found = members(showroom, at).filter(person__login=login.strip().lower()).first()
    if found is None:
        raise Unknown(_("person"))
    return found


def membership_of(person: Person, showroom: Showroom, at: datetime) -> Membership:
    """What the person is here. Raises Unknown for somebody who does not work here."""
    found = members(showroom, at).filter(person=person).first()
    if found is None:
        raise Unknown(_("person"))
    return found


def memberships_of(person: Person, at: datetime) -> list[Membership]:
    """Where the person works at this instant, longest first."""
    return list(
        Membership.objects.at(at)
        .filter(person=person, person__is_active=True)
        .select_related("person", "showroom")
        .order_by("from_at", "pk")
    )


def skills_by_person(showroom: Showroom, on: date) -> dict[int, frozenset[str]]:
    """Person key -> skills that hold on this local date, with those they include. One query."""
    grants = (
        SkillGrant.objects.of(showroom)
        .filter(signed_off_on__lte=on)
        .filter(Q(expires_on=None) | Q(expires_on__gt=on))
        .filter(Q(revocation=None) | Q(revocation__revoked_on__gt=on))
        .values_list("person_id", "skill")
    )
    held: defaultdict[int, set[str]] = defaultdict(set)
    for person_id, skill in grants:
        held[person_id] |= INCLUDED[skill]
    return {person_id: frozenset(skills) for person_id, skills in held.items()}


def skills_of(membership: Membership, on: date) -> frozenset[str]:
    """The skills of one person that hold on this local date, with those they include."""
    return skills_by_person(membership.showroom, on).get(membership.person_id, frozenset())
