"""Is it really this person at the desk? Passwords: set, checked for strength, and tried."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth import authenticate
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.http import HttpRequest
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Forbidden, Refused, Unknown
from gallery_ops.kernel.models import Membership, Person, Role
from gallery_ops.kernel.rights import may, require
from gallery_ops.kernel.services.audit import record_audit
from gallery_ops.kernel.services.checking import refused


def set_password(*, person: Person, password: str, by: Membership, at: datetime) -> None:
    """Give somebody a new password: one's own, or that of somebody who works here."""
    own = by.person_id == person.pk
    if not own:
        require(by, "person.change", in_=by.showroom, at=at)
    with transaction.atomic():
        membership = (
            Membership.objects.of(by.showroom).at(at).filter(person=person).select_related("person")
        ).first()
        if membership is None:
            raise Unknown(_("person"))
        if not own and membership.role == Role.OWNER and by.role != Role.OWNER:
            raise Forbidden("owner_only", _("Only an owner may change the password of an owner."))
        if not own and _works_elsewhere(person, by, at):
            raise Forbidden(
                "works_elsewhere",
                _("This person also works in a gallery where you may not change people."),
                {},
                _("They set their password themselves; you may set their PIN for this gallery."),
            )
        keep_password(person, password)
        person.save(update_fields=["password"])
        record_audit(
            showroom=by.showroom,
            by=by,
            at=at,
            deed="person.password",
            subject_kind="person",
            subject_key=person.login,
        )


def _works_elsewhere(person: Person, by: Membership, at: datetime) -> bool:
    """A password opens every gallery of a person, so whoever sets it must have the say in all."""
    others = Membership.objects.at(at).filter(person=person).exclude(showroom=by.showroom)
    for other in others.select_related("showroom"):
        mine = Membership.objects.of(other.showroom).at(at).filter(person=by.person).first()
        outranked = other.role == Role.OWNER and (mine is None or mine.role != Role.OWNER)
        if outranked or not may(mine, "person.change"):
            return True
    return False


def sign_in_by_password(request: HttpRequest, *, login: str, password: str) -> Person:
    """The person with this name and password. Raises Refused, in the same words whatever was wrong.

    Django's ``login()`` is the page's to call. Too many wrong tries rest the name at this address.
    """
    wrong = Refused(
        "sign_in_failed",
        _("The name or the password is not right."),
        {},
        _("Try again. After five wrong tries it rests for a quarter of an hour."),
    )
    try:
        found = authenticate(request, username=login.strip().lower(), password=password)
    except PermissionDenied:
        raise wrong from None
    if not isinstance(found, Person):
        raise wrong
    return found


def keep_password(person: Person, password: str | None) -> None:
    """Put a password on a person who is yet to be saved; None means none. Raises Refused."""
    if password is not None:
        try:
            validate_password(password, person)
        except ValidationError as error:
            words = " ".join(refused(error).fields.values())
            raise Refused("weak_password", words, {"password": words}) from None
    person.set_password(password)
