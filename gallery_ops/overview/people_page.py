"""Who works here, with which role and skills, and how does somebody new begin?"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import ApiToken, Membership, Showroom
from gallery_ops.kernel.queries.devices import tokens
from gallery_ops.kernel.queries.people import members, skills_by_person
from gallery_ops.kernel.services.people import add_person, end_membership, grant_skill
from gallery_ops.kernel.services.pins import set_pin
from gallery_ops.kernel.services.tokens import MadeToken, make_token, revoke_token
from gallery_ops.kernel.values.day import business_day


@dataclass(frozen=True, slots=True)
class PersonRow:
    """One person of the house."""

    membership: Membership
    skills: tuple[str, ...]
    has_pin: bool


def people(showroom: Showroom, at: datetime) -> list[PersonRow]:
    """Everybody who works here now; two queries."""
    on = business_day(at, showroom.tz, showroom.cut_off_hour)
    skills = skills_by_person(showroom, on)
    return [
        PersonRow(row, tuple(sorted(skills.get(row.person_id, ()))), row.pin_base is not None)
        for row in members(showroom, at)
    ]


def member(showroom: Showroom, uid: UUID, at: datetime) -> Membership:
    """Somebody who works here. Raises Unknown."""
    found: Membership | None = members(showroom, at).filter(person__uid=uid).first()
    if found is None:
        raise Unknown("person")
    return found


@transaction.atomic
def take_on(
    *,
    showroom: Showroom,
    name: str,
    login: str,
    role: str,
    pin: str,
    password: str,
    skills: list[str],
    by: Membership,
    at: datetime,
) -> Membership:
    """A new person with role, PIN and signed-off skills, all or nothing. Raises Refused."""
    membership = add_person(
        showroom=showroom,
        login=login,
        name=name,
        role=role,
        password=password or None,
        by=by,
        at=at,
    )
    if pin:
        set_pin(membership=membership, pin=pin, by=by, at=at)
    on = business_day(at, showroom.tz, showroom.cut_off_hour)
    for skill in skills:
        grant_skill(membership=membership, skill=skill, by=by, at=at, signed_off_on=on)
    return membership


def new_pin(*, membership: Membership, pin: str, by: Membership, at: datetime) -> None:
    """Another PIN for somebody."""
    set_pin(membership=membership, pin=pin, by=by, at=at)


def part_with(*, membership: Membership, by: Membership, at: datetime) -> None:
    """They work here no longer; what they wrote down stays under their name."""
    end_membership(membership=membership, by=by, at=at)


def programs(showroom: Showroom) -> list[ApiToken]:
    """Tokens of this showroom, those in use first."""
    return list(tokens(showroom))


def let_in(*, name: str, scopes: list[str], by: Membership, at: datetime) -> MadeToken:
    """A token for a program that may do, of what ``by`` may, what its scopes name."""
    return make_token(showroom=by.showroom, membership=by, name=name, scopes=scopes, by=by, at=at)


def shut_out(*, name: str, by: Membership, at: datetime) -> None:
    """A program's token works no longer. Raises Unknown."""
    for token in programs(by.showroom):
        if token.name == name and token.revoked_at is None:
            revoke_token(token=token, by=by, at=at)
            return
    raise Unknown("token")
