"""Which programs may ask? Tokens that stand for one membership and some of its rights."""

from __future__ import annotations

import secrets
from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Forbidden, Refused, Unknown
from gallery_ops.kernel.models import ApiToken, Membership, Role, Showroom
from gallery_ops.kernel.queries.devices import secret_hash
from gallery_ops.kernel.rights import MATRIX, missing_rights, require
from gallery_ops.kernel.services.audit import record_audit
from gallery_ops.kernel.services.checking import write_row

USED_STEP = timedelta(seconds=60)


@dataclass(frozen=True, slots=True)
class MadeToken:
    """A new token and its secret, which is shown this once and kept only as a hash."""

    token: ApiToken
    secret: str


def make_token(
    *,
    showroom: Showroom,
    membership: Membership,
    name: str,
    scopes: Collection[str],
    by: Membership,
    at: datetime,
    expires_at: datetime | None = None,
) -> MadeToken:
    """Make a token that may do, of what the membership may, only what its scopes name.

    Parameters
    ----------
    scopes : rights of the matrix, such as ``read`` and ``record``; all must be the membership's
    expires_at : the instant (aware) from which it no longer works; None for never

    Raises Forbidden, Unknown for a membership of another showroom, Refused with a sentence per
    field.
    """
    require(by, "token.make", in_=showroom, at=at)
    if not Membership.objects.of(showroom).at(at).filter(pk=membership.pk).exists():
        raise Unknown(_("person"))
    if membership.role == Role.OWNER and by.role != Role.OWNER:
        raise Forbidden("owner_only", _("Only an owner may make a token for an owner."))
    _check_scopes(membership, scopes)
    if expires_at is not None and expires_at <= at:
        sentence = _("The token would have ended already.")
        raise Refused(
            "ends_too_early", sentence, {"expires_at": sentence}, _("Choose a later time.")
        )
    secret = secrets.token_urlsafe(32)
    token = ApiToken(
        showroom=showroom,
        name=name.strip(),
        membership=membership,
        scopes=sorted(set(scopes)),
        token_hash=secret_hash(secret),
        made_by=by.person,
        made_at=at,
        expires_at=expires_at,
    )
    with transaction.atomic():
        write_row(token)
        record_audit(
            showroom=showroom,
            by=by,
            at=at,
            deed="token.make",
            subject_kind="token",
            subject_key=token.name[:60],
            after={
                "for": membership.person.login,
                "scopes": token.scopes,
                "expires_at": expires_at,
            },
        )
    return MadeToken(token, secret)


def revoke_token(*, token: ApiToken, by: Membership, at: datetime) -> None:
    """From now on the token does not work; revoking it twice changes nothing."""
    require(by, "token.make", in_=token.showroom, at=at)
    with transaction.atomic():
        open_one = ApiToken.objects.of(token.showroom).filter(pk=token.pk, revoked_at=None)
        if open_one.update(revoked_at=at):
            record_audit(
                showroom=token.showroom,
                by=by,
                at=at,
                deed="token.revoke",
                subject_kind="token",
                subject_key=token.name[:60],
            )


def token_used(*, token: ApiToken, at: datetime) -> None:
    """Note that the token was used, at most once a minute."""
    ApiToken.objects.filter(pk=token.pk).filter(
        Q(used_at=None) | Q(used_at__lt=at - USED_STEP)
    ).update(used_at=at)


def _check_scopes(membership: Membership, scopes: Collection[str]) -> None:
    allowed = ", ".join(sorted(MATRIX.get(membership.role, frozenset())))
    if not scopes:
        sentence = _("A token needs at least one scope of: %(allowed)s.") % {"allowed": allowed}
        raise Refused("no_scope", sentence, {"scopes": sentence})
    missing = missing_rights(membership, scopes)
    if missing:
        sentence = _("%(missing)s: this person does not have it. Allowed: %(allowed)s.") % {
            "missing": ", ".join(sorted(missing)),
            "allowed": allowed,
        }
        raise Refused("scope_too_wide", sentence, {"scopes": sentence})
