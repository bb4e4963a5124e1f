"""Who knocks with this token: which tablet, or which program and for whom?"""

from __future__ import annotations

import hashlib
import uuid
from datetime import datetime

from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import ApiToken, Device, Membership, Showroom, SignInTry


def secret_hash(secret: str) -> str:
    """What is kept of a long random secret. A plain hash will do: it cannot be guessed."""
    return hashlib.sha256(secret.encode()).hexdigest()


def device_by_token(token: str) -> Device:
    """The enrolled device with this token, with its showroom. Raises Unknown, also when revoked."""
    found: Device | None = (
        Device.objects.select_related("showroom")
        .filter(token_hash=secret_hash(token), revoked_at=None)
        .first()
    )
    if found is None:
        raise Unknown(_("device"), _("Enrol it again with a code from a manager."))
    return found


def device_ever(token: str) -> Device | None:
    """The device with this token, with its showroom, also after it was revoked; else None.

    For the outbox alone: what a revoked tablet still holds is kept, though nothing follows from it.
    """
    found: Device | None = (
        Device.objects.select_related("showroom").filter(token_hash=secret_hash(token)).first()
    )
    return found


def device_by_uid(showroom: Showroom, uid: uuid.UUID) -> Device:
    """The device of this showroom, revoked or not. Raises Unknown."""
    found: Device | None = Device.objects.of(showroom).filter(uid=uid).first()
    if found is None:
        raise Unknown(_("device"))
    return found


def devices(showroom: Showroom) -> QuerySet[Device]:
    """All devices of the showroom, those in use first."""
    rows: QuerySet[Device] = (
        Device.objects.of(showroom)
        .select_related("enrolled_by")
        .order_by("revoked_at", "name", "pk")
    )
    return rows


def last_signed_in(device: Device, at: datetime) -> SignInTry | None:
    """The last PIN until then that was right on this device and that the gallery itself checked."""
    found: SignInTry | None = (
        SignInTry.objects.of(device.showroom_id)
        .filter(device=device, right=True, told_by_tablet=False, at__lte=at)
        .order_by("-at", "-pk")
        .first()
    )
    return found


def token_by_secret(secret: str, *, at: datetime) -> ApiToken:
    """The open token with this secret, with its membership, person and showroom.

    Its membership carries ``limited_to``, the rights that the token was given, and so may do no
    more. Raises Unknown when it is wrong, revoked, ended, or its person left.
    """
    found: ApiToken | None = (
        ApiToken.objects.select_related("showroom", "membership__person", "membership__showroom")
        .filter(token_hash=secret_hash(secret), revoked_at=None)
        .filter(Q(expires_at=None) | Q(expires_at__gt=at))
        .filter(Q(membership__to_at=None) | Q(membership__to_at__gt=at))
        .filter(membership__person__is_active=True)
        .first()
    )
    if found is None:
        raise Unknown(_("token"), _("Ask a manager for a new one."))
    limit(found.membership, found.scopes)
    return found


def limit(membership: Membership, rights: list[str]) -> Membership:
    """The membership, narrowed to these rights (``rights.may`` looks at it)."""
    membership.limited_to = frozenset(rights)  # type: ignore[attr-defined]
    return membership


def tokens(showroom: Showroom) -> QuerySet[ApiToken]:
    """All tokens of the showroom, open ones first."""
    rows: QuerySet[ApiToken] = (
        ApiToken.objects.of(showroom)
        .select_related("membership__person", "made_by")
        .order_by("revoked_at", "name", "pk")
    )
    return rows
