"""Which tablets may write here? Enrols them with a short code, and revokes them."""

from __future__ import annotations

import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Q
from django.db.models.functions import Greatest
from django.utils.crypto import salted_hmac
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.kernel.models import Device, EnrolmentCode, EnrolmentTry, Membership, Showroom
from gallery_ops.kernel.queries.devices import secret_hash
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services.audit import record_audit
from gallery_ops.kernel.values import codes
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.text import clean_text
from gallery_ops.kernel.values.uuid7 import uuid7

CODE_LIVES = timedelta(minutes=10)
SEEN_STEP = timedelta(seconds=60)
TRIES_WITHIN = timedelta(minutes=15)
MOST_TRIES_OF_ONE = 10
MOST_TRIES = 100
"""Wrong codes from one address and from all, within that time (common practice, no source)."""
TRIES_KEPT = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Enrolled:
    """A new device and its token, which is shown to it this once and kept only as a hash."""

    device: Device
    token: str


def make_enrolment_code(
    *, showroom: Showroom, by: Membership, at: datetime, lives: timedelta = CODE_LIVES
) -> str:
    """A code of eight characters with which one tablet may enrol itself within ten minutes.

    It is returned as printed (two groups of four), this once; only a hash is kept.
    """
    require(by, "device.enrol", in_=showroom, at=at)
    code = codes.new_code()
    with transaction.atomic():
        EnrolmentCode.objects.create(
            showroom=showroom,
            code_hash=_code_hash(code),
            made_by=by.person,
            made_at=at,
            expires_at=at + lives,
        )
        record_audit(
            showroom=showroom,
            by=by,
            at=at,
            deed="device.code",
            subject_kind="showroom",
            subject_key=showroom.code,
        )
    return codes.printed(code)


def enrol_device(
    *, code: str, name: str, at: datetime, capability: str = "rounds", address: str = ""
) -> Enrolled:
    """Enrol the device that shows this code; the code works once.

    address : from which it is asked; wrong codes are counted by it, and all together

    Raises Refused in the same words for a code that is mistyped, unknown, used or too old;
    ``too_many_tries`` after ten wrong ones from an address or a hundred from all, within a quarter
    of an hour. A wrong code is of no showroom, so none can be counted for one.
    """
    _may_try(address, at)
    try:
        name = clean_text(name, field="Name", longest=80)
    except OutOfRange as error:
        raise Refused.from_range(error, field="name") from None
    if not name:
        sentence = _("Give the device a name, such as: tablet of zone A.")
        raise Refused("no_name", sentence, {"name": sentence})
    try:
        hashed = _code_hash(codes.parse_code(code))
    except OutOfRange as error:
        raise Refused.from_range(error, field="code") from None
    try:
        with transaction.atomic():
            return _enrol(hashed, name, capability, at)
    except _Wrong:
        _count_wrong(address, at)
        sentence = _("This code does not work (any more).")
        raise Refused(
            "code_wrong", sentence, {"code": sentence}, _("Ask a manager for a new one.")
        ) from None


def _enrol(hashed: str, name: str, capability: str, at: datetime) -> Enrolled:
    token = secrets.token_urlsafe(32)
    good = EnrolmentCode.objects.filter(
        code_hash=hashed, used_at=None, expires_at__gt=at, made_at__lte=at
    )
    found = good.select_related("showroom", "made_by").first()
    if found is None or not good.update(used_at=at):
        raise _Wrong
    device = Device.objects.create(
        showroom=found.showroom,
        uid=uuid7(at),
        name=name,
        token_hash=secret_hash(token),
        pin_salt=secrets.token_bytes(16),
        capability=capability,
        enrolled_by=found.made_by,
        enrolled_at=at,
        seen_at=at,
    )
    EnrolmentCode.objects.filter(pk=found.pk).update(device=device)
    record_audit(
        showroom=found.showroom,
        by=found.made_by,
        at=at,
        deed="device.enrol",
        subject_kind="device",
        subject_key=str(device.uid),
        after={"name": name, "capability": capability},
    )
    return Enrolled(device, token)


class _Wrong(Exception):
    """No code of ours, or one that was used or is too old."""


def _may_try(address: str, at: datetime) -> None:
    """Raise when too many wrong codes came lately."""
    lately = EnrolmentTry.objects.filter(at__gt=at - TRIES_WITHIN, at__lte=at)
    mine = lately.filter(address_hash=_address_hash(address))
    if lately.count() < MOST_TRIES and mine.count() < MOST_TRIES_OF_ONE:
        return
    minutes = TRIES_WITHIN // timedelta(minutes=1)
    sentence = _("Too many codes were wrong. Nothing is enrolled for %(n)d minutes.")
    raise Refused(
        "too_many_tries",
        sentence % {"n": minutes},
        {"code": sentence % {"n": minutes}},
        _("Then ask a manager for a new code. If it was not you, tell the manager."),
    )


def _count_wrong(address: str, at: datetime) -> None:
    EnrolmentTry.objects.filter(at__lt=at - TRIES_KEPT).delete()
    EnrolmentTry.objects.create(address_hash=_address_hash(address), at=at)


def _address_hash(address: str) -> str:
    return salted_hmac("enrolment", address, algorithm="sha256").hexdigest()


def revoke_device(*, device: Device, by: Membership, at: datetime) -> None:
    """From now on nothing from this device is taken; revoking it twice changes nothing."""
    require(by, "device.enrol", in_=device.showroom, at=at)
    with transaction.atomic():
        open_one = Device.objects.of(device.showroom).filter(pk=device.pk)
        if not open_one.exists():
            raise Unknown(_("device"))
        if open_one.filter(revoked_at=None).update(revoked_at=at):
            record_audit(
                showroom=device.showroom,
                by=by,
                at=at,
                deed="device.revoke",
                subject_kind="device",
                subject_key=str(device.uid),
                before={"name": device.name},
            )
    device.revoked_at = device.revoked_at or at


def device_seen(
    *, device: Device, at: datetime, clock_offset_ms: int | None = None, last_seq: int | None = None
) -> None:
    """Note that the device spoke: at most once a minute, unless it brought actions.

    Parameters
    ----------
    clock_offset_ms : our clock minus the device's [ms]
    last_seq : highest number of its actions that is stored; never goes back
    """
    values: dict[str, object] = {"seen_at": at}
    rows = Device.objects.filter(pk=device.pk)
    if clock_offset_ms is not None:
        values["clock_offset_ms"] = max(-(2**62), min(2**62, clock_offset_ms))
    if last_seq is not None:
        values["last_seq"] = Greatest("last_seq", last_seq)
    else:
        rows = rows.filter(Q(seen_at=None) | Q(seen_at__lt=at - SEEN_STEP))
    rows.update(**values)


def _code_hash(code: str) -> str:
    return hashlib.sha256(f"enrol {code}".encode()).hexdigest()
