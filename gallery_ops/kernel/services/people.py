"""Who works here? Makes showrooms, takes people on, changes their role and signs off their
skills."""

from __future__ import annotations

from datetime import date, datetime, time
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Forbidden, Refused, Unknown
from gallery_ops.kernel.models import (
    ApiToken,
    Epoch,
    Membership,
    Person,
    Role,
    Showroom,
    Skill,
    SkillGrant,
    SkillRevocation,
)
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services.audit import record_audit
from gallery_ops.kernel.services.checking import check_row, write_row
from gallery_ops.kernel.services.passwords import keep_password
from gallery_ops.kernel.values.day import zone_named
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.text import clean_text
from gallery_ops.kernel.values.uuid7 import uuid7


def make_showroom(
    *,
    code: str,
    name: str,
    zone: str,
    currency: str,
    country: str,
    at: datetime,
    language: str = "en",
    decimal_mark: str = ".",
    cut_off_hour: int = 4,
    opens_at: time = time(10),
    closes_at: time = time(18),
    round_from_at: time = time(8),
    place: str = "",
    address: str = "",
    telephones: list[dict[str, str]] | None = None,
    by: Person | None = None,
) -> Showroom:
    """Open the books of a new gallery; its first person is added with ``add_person`` as owner.

    Raises Refused with a sentence per field.
    """
    try:
        zone_named(zone)
    except OutOfRange as error:
        raise Refused.from_range(error, field="zone") from None
    with transaction.atomic():
        showroom = Showroom(
            code=code,
            name=_clean(name, "name", 120),
            place=_clean(place, "place", 120),
            zone=zone,
            language=language,
            decimal_mark=decimal_mark,
            currency=currency,
            country=country,
            cut_off_hour=cut_off_hour,
            opens_at=opens_at,
            closes_at=closes_at,
            round_from_at=round_from_at,
            address=_clean(address, "address", 300),
            telephones=telephones or [],
        )
        write_row(showroom)
        ensure_epoch(at=at)
        record_audit(
            showroom=showroom,
            by=by,
            at=at,
            deed="showroom.make",
            subject_kind="showroom",
            subject_key=showroom.code,
            after={"name": showroom.name, "zone": zone, "currency": currency},
        )
    return showroom


def ensure_epoch(*, at: datetime) -> Epoch:
    """The identity of this database, made when it has none."""
    return Epoch.objects.order_by("-pk").first() or renew_epoch(at=at)


def renew_epoch(*, at: datetime) -> Epoch:
    """Give this database a new identity, after a restore: tablets then offer everything again."""
    return Epoch.objects.create(token=uuid7(at), since_at=at)


def add_person(
    *,
    showroom: Showroom,
    login: str,
    name: str,
    role: str,
    by: Membership | None,
    at: datetime,
    password: str | None = None,
    email: str | None = None,
    language: str = "",
) -> Membership:
    """Take on somebody new.

    Parameters
    ----------
    login : small letters, digits, points and hyphens; unique in the whole house
    role : one of the five; only an owner makes an owner
    by : who does it; None only for the first person of a showroom, who must be its owner
    password : for a desk; without one the person signs in with a PIN on an enrolled tablet only

    Raises Forbidden, or Refused with a sentence per field.
    """
    with transaction.atomic():
        _may_take_on(showroom, role, by, at)
        person = Person(
            login=login.strip().lower(),
            name=_clean(name, "name", 120),
            email=email or None,
            language=language,
        )
        check_row(person, exclude=["password"])
        keep_password(person, password)
        person.save()
        return _open_membership(showroom, person, role, by, at)


def add_membership(
    *, showroom: Showroom, person: Person, role: str, by: Membership | None, at: datetime
) -> Membership:
    """Let somebody who is known to the house work in this showroom too."""
    with transaction.atomic():
        _may_take_on(showroom, role, by, at)
        return _open_membership(showroom, person, role, by, at)


def change_role(*, membership: Membership, role: str, by: Membership, at: datetime) -> Membership:
    """Close the membership and open one with the new role: the old one stays in the books."""
    showroom = membership.showroom
    require(by, "person.change", in_=showroom, at=at)
    with transaction.atomic():
        current = _locked(membership)
        if current.role == role:
            return current
        _owner_only(by, Role.OWNER in {role, current.role})
        _keep_an_owner(current, role)
        current.to_at = at
        current.save(update_fields=["to_at"])
        opened = Membership(
            showroom=showroom,
            person=current.person,
            role=role,
            from_at=at,
            pin_salt=current.pin_salt,
            pin_base=current.pin_base,
        )
        write_row(opened)
        # a token asks for what one membership may; its person has another one now
        ApiToken.objects.of(showroom).filter(membership=current, revoked_at=None).update(
            revoked_at=at
        )
        _audit(opened, by, at, "person.role", {"role": current.role}, {"role": role})
    return opened


def end_membership(*, membership: Membership, by: Membership, at: datetime) -> None:
    """Somebody leaves: from now on no sign-in and no token of theirs works here."""
    showroom = membership.showroom
    require(by, "person.change", in_=showroom, at=at)
    with transaction.atomic():
        current = _locked(membership)
        _owner_only(by, current.role == Role.OWNER)
        _keep_an_owner(current, "")
        current.to_at = at
        current.pin_salt = current.pin_base = None
        current.save(update_fields=["to_at", "pin_salt", "pin_base"])
        ApiToken.objects.of(showroom).filter(membership=current, revoked_at=None).update(
            revoked_at=at
        )
        _audit(current, by, at, "person.leave", {"role": current.role}, None)


def grant_skill(
    *,
    membership: Membership,
    skill: str,
    by: Membership,
    at: datetime,
    signed_off_on: date,
    expires_on: date | None = None,
) -> SkillGrant:
    """Sign off that somebody can do work of a skill (C1, C2, C3, D, T)."""
    require(by, "person.change", in_=membership.showroom, at=at)
    if skill not in Skill.values:
        raise Refused(
            "unknown_skill", _("Choose one of the skills C1, C2, C3, D and T."), {"skill": skill}
        )
    if expires_on is not None and expires_on <= signed_off_on:
        sentence = _("The sign-off must end after the day on which it begins.")
        raise Refused("ends_too_early", sentence, {"expires_on": sentence})
    with transaction.atomic():
        grant: SkillGrant = SkillGrant.objects.create(
            showroom=membership.showroom,
            person=membership.person,
            skill=skill,
            signed_off_by=by.person,
            signed_off_on=signed_off_on,
            expires_on=expires_on,
        )
        _audit(membership, by, at, "person.skill", None, {"skill": skill, "expires_on": expires_on})
    return grant


def revoke_skill(*, grant: SkillGrant, by: Membership, at: datetime, revoked_on: date) -> None:
    """Say that a sign-off no longer holds; saying it twice changes nothing."""
    require(by, "person.change", in_=grant.showroom, at=at)
    with transaction.atomic():
        SkillRevocation.objects.bulk_create(
            [
                SkillRevocation(
                    showroom=grant.showroom,
                    grant=grant,
                    revoked_by=by.person,
                    revoked_on=revoked_on,
                )
            ],
            ignore_conflicts=True,
        )


def _clean(text: str, field: str, longest: int) -> str:
    try:
        return clean_text(text, field=field.capitalize(), longest=longest)
    except OutOfRange as error:
        raise Refused.from_range(error, field=field) from None


def _may_take_on(showroom: Showroom, role: str, by: Membership | None, at: datetime) -> None:
    if role not in Role.values:
        sentence = _("Choose one of the five roles.")
        raise Refused("unknown_role", sentence, {"role": sentence})
    if by is None:
        if role != Role.OWNER or Membership.objects.of(showroom).exists():
            raise Forbidden(
                "owner_comes_first",
                _("The first person of a showroom is its owner, and is added once."),
            )
        return
    require(by, "person.change", in_=showroom, at=at)
    _owner_only(by, role == Role.OWNER)


def _owner_only(by: Membership, concerns_owner: bool) -> None:
    if concerns_owner and by.role != Role.OWNER:
        raise Forbidden("owner_only", _("Only an owner may change who is an owner."))


def _locked(membership: Membership) -> Membership:
    found: Membership | None = (
        Membership.objects.select_for_update(of=("self",))
        .select_related("person", "showroom")
        .filter(pk=membership.pk, to_at=None)
        .first()
    )
    if found is None:
        raise Unknown(_("person"))
    return found


def _keep_an_owner(membership: Membership, new_role: str) -> None:
    if membership.role != Role.OWNER or new_role == Role.OWNER:
        return
    others = Membership.objects.of(membership.showroom).still().filter(role=Role.OWNER)
    if not others.exclude(pk=membership.pk).exists():
        raise Refused(
            "last_owner",
            _("This is the only owner of the showroom."),
            {},
            _("Make somebody else an owner first."),
        )


def _open_membership(
    showroom: Showroom, person: Person, role: str, by: Membership | None, at: datetime
) -> Membership:
    membership = Membership(showroom=showroom, person=person, role=role, from_at=at)
    write_row(membership)
    _audit(membership, by or person, at, "person.add", None, {"role": role, "name": person.name})
    return membership


def _audit(
    membership: Membership,
    by: Membership | Person,
    at: datetime,
    deed: str,
    before: Any,
    after: Any,
) -> None:
    record_audit(
        showroom=membership.showroom,
        by=by,
        at=at,
        deed=deed,
        subject_kind="person",
        subject_key=membership.person.login,
        before=before,
        after=after,
    )
