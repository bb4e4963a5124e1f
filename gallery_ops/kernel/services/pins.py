"""Is it really this person at the tablet? PINs: set, tried, and rested after five wrong ones.

What is kept is PBKDF2-SHA-256 of the PIN with the person's salt (RFC 8018, section 5.2). A tablet
gets, for work without a network, the salt and an HMAC-SHA-256 (RFC 2104) of that under its own
salt, so that a verifier taken from one tablet fits no other. Six digits are few: the lock, and that
a PIN works on an enrolled device only, are what protects them.
"""

from __future__ import annotations

import hashlib
import hmac
import math
import re
import secrets
from datetime import datetime, timedelta
from itertools import pairwise

from django.conf import settings
from django.db import transaction
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.kernel.models import Device, Membership, Role, SignInTry
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services.audit import record_audit

SALT_BYTES = 16
PIN_DIGITS = 6
MOST_WRONG = 5
LOCKED_FOR = timedelta(minutes=5)


def set_pin(*, membership: Membership, pin: str, by: Membership, at: datetime) -> None:
    """Set somebody's PIN: one's own, or that of somebody who works here.

    Raises Refused unless it has six digits that are not all alike or in a row.
    """
    if by.pk != membership.pk:
        require(by, "person.change", in_=membership.showroom, at=at)
        if membership.role == Role.OWNER and by.role != Role.OWNER:
            raise Refused("owner_only", _("Only an owner may set the PIN of an owner."))
    _check_new(pin)
    salt = secrets.token_bytes(SALT_BYTES)
    base = pin_base(pin, salt)
    with transaction.atomic():
        changed = (
            Membership.objects.of(membership.showroom)
            .still()
            .filter(pk=membership.pk)
            .update(pin_salt=salt, pin_base=base)
        )
        if not changed:
            raise Unknown(_("person"))
        membership.pin_salt, membership.pin_base = salt, base
        record_audit(
            showroom=membership.showroom,
            by=by,
            at=at,
            deed="person.pin",
            subject_kind="person",
            subject_key=membership.person.login,
        )


def verify_pin(*, membership: Membership, device: Device, pin: str, at: datetime) -> None:
    """Return if the PIN is right; each try is kept. Must not run inside another transaction.

    Raises Refused ``pin_wrong`` (with the tries left), ``pin_locked`` (with the minutes left) or
    ``pin_not_set``; Unknown when person or device do not (any more) belong to this showroom.
    """
    person = _current(membership, device, at)
    _refuse_locked(person, device, at)
    if not person.pin_base or not person.pin_salt:
        raise Refused(
            "pin_not_set", _("There is no PIN for this name yet."), {}, _("A manager can set one.")
        )
    # a tenth of a second of arithmetic, outside the transaction that makes others wait
    right = hmac.compare_digest(pin_base(pin, bytes(person.pin_salt)), bytes(person.pin_base))
    with transaction.atomic(durable=True):
        Membership.objects.select_for_update().filter(pk=person.pk).first()
        _refuse_locked(person, device, at)
        SignInTry.objects.create(
            showroom=person.showroom, person=person.person, device=device, at=at, right=right
        )
        wrong = 0 if right else _wrong_tries(person, device)[0]
    if right:
        return
    if wrong % MOST_WRONG == 0:
        raise _locked(LOCKED_FOR)
    left = MOST_WRONG - wrong % MOST_WRONG
    sentence = _("This PIN is not right.")
    raise Refused(
        "pin_wrong",
        sentence,
        {"pin": sentence},
        _("Tries left before it rests for five minutes: %(left)d.") % {"left": left},
    )


def locked_until(*, membership: Membership, device: Device, at: datetime) -> datetime | None:
    """Until when this name rests on this device; None when it does not."""
    wrong, last_at = _wrong_tries(membership, device)
    if not wrong or wrong % MOST_WRONG or last_at is None:
        return None
    until = last_at + LOCKED_FOR
    return until if at < until else None


def pin_base(pin: str, salt: bytes) -> bytes:
    """What is kept of a PIN: 32 bytes of PBKDF2-SHA-256."""
    return hashlib.pbkdf2_hmac("sha256", pin.encode(), salt, settings.PIN_ITERATIONS)


def pin_verifier(membership: Membership, device: Device) -> bytes | None:
    """What a tablet gets to check this person's PIN by itself; None without a PIN."""
    if not membership.pin_base:
        return None
    return hmac.digest(bytes(device.pin_salt), bytes(membership.pin_base), "sha256")


def _current(membership: Membership, device: Device, at: datetime) -> Membership:
    found: Membership | None = (
        Membership.objects.of(device.showroom_id)
        .at(at)
        .select_related("person", "showroom")
        .filter(pk=membership.pk, person__is_active=True)
        .first()
    )
    enrolled = Device.objects.of(device.showroom_id).filter(pk=device.pk, revoked_at=None).exists()
    if found is None or not enrolled:
        raise Unknown(_("person"))
    return found


def _wrong_tries(membership: Membership, device: Device) -> tuple[int, datetime | None]:
    """Wrong tries since the last right one, and when the latest of them was.

    Only what the gallery checked itself: a tablet's word neither frees a name nor lets it rest.
    """
    tries = SignInTry.objects.of(membership.showroom_id).filter(
        person=membership.person_id, device=device, told_by_tablet=False
    )
    last_right = tries.filter(right=True).order_by("-pk").values_list("pk", flat=True).first()
    wrong = tries.filter(right=False, pk__gt=last_right or 0)
    newest = wrong.order_by("-pk").values_list("at", flat=True).first()
    return wrong.count(), newest


def _refuse_locked(membership: Membership, device: Device, at: datetime) -> None:
    until = locked_until(membership=membership, device=device, at=at)
    if until is not None:
        raise _locked(until - at)


def _locked(left: timedelta) -> Refused:
    minutes = max(1, math.ceil(left / timedelta(minutes=1)))
    sentence = _("Five wrong tries: this name rests on this device.")
    return Refused(
        "pin_locked",
        sentence,
        {"pin": sentence},
        _("Try again in %(minutes)d min, or use another device.") % {"minutes": minutes},
    )


def _check_new(pin: str) -> None:
    sentence = ""
    if not re.fullmatch(rf"[0-9]{{{PIN_DIGITS}}}", pin):
        sentence = _("A PIN has six digits.")
    else:
        steps = {(int(b) - int(a)) % 10 for a, b in pairwise(pin)}
        if steps in ({0}, {1}, {9}):
            sentence = _("The digits of a PIN may not be all alike or in a row.")
    if sentence:
        raise Refused("bad_pin", sentence, {"pin": sentence}, _("Choose another one."))
