"""Who may do what? One matrix, asked by the services that refuse and by the pages that hide.

| right | carer | senior carer | manager | owner | guest designer |
|---|---|---|---|---|---|
| read, record, weigh, skip | yes | yes | yes | yes | |
| correct, override_range | | yes | yes | yes | |
| plan.change, import, device.enrol, alert.answer, person.change, token.make | | | yes | yes | |
| target.change, price.change | | | | yes | |
| layout.read_own | | | | | yes |

Ranges have two borders. Beyond the first whoever records is asked, and says "yes, really". An
amount beyond the second, five times its plan, waits and counts once somebody says so who may
``override_range``. A reading that cannot be is refused to everybody.

A visitor has no membership and so no right; what the public sees is an allow-list of its own.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import datetime

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from gallery_ops.kernel.errors import Forbidden, Unknown
from gallery_ops.kernel.models import Membership, Role, Showroom

__all__ = [
    "DEEDS",
    "MATRIX",
    "RIGHTS",
    "Role",
    "may",
    "missing_rights",
    "require",
    "roles_in_words",
    "roles_with",
]

_CARER = frozenset({"read", "record", "weigh", "skip"})
_SENIOR = _CARER | {"correct", "override_range"}
_MANAGER = _SENIOR | {
    "plan.change",
    "import",
    "device.enrol",
    "alert.answer",
    "person.change",
    "token.make",
}
_OWNER = _MANAGER | {"target.change", "price.change"}

MATRIX: Mapping[str, frozenset[str]] = {
    Role.CARER.value: _CARER,
    Role.SENIOR_CARER.value: frozenset(_SENIOR),
    Role.MANAGER.value: frozenset(_MANAGER),
    Role.OWNER.value: frozenset(_OWNER),
    Role.GUEST_DESIGNER.value: frozenset({"layout.read_own"}),
}
"""Role -> rights."""

RIGHTS: frozenset[str] = frozenset().union(*MATRIX.values())

DEEDS: Mapping[str, str] = {
    "read": gettext_noop("read the staff pages"),
    "record": gettext_noop("record what was done"),
    "weigh": gettext_noop("record a weighing"),
    "skip": gettext_noop("skip a task"),
    "correct": gettext_noop("correct a record"),
    "override_range": gettext_noop("let an amount count that is far above its plan"),
    "plan.change": gettext_noop("change a plan"),
    "import": gettext_noop("import a fleet"),
    "device.enrol": gettext_noop("enrol or revoke a device"),
    "alert.answer": gettext_noop("answer an alert"),
    "person.change": gettext_noop("add or change people"),
    "token.make": gettext_noop("make or revoke a token for a program"),
    "target.change": gettext_noop("change a target"),
    "price.change": gettext_noop("change a price"),
    "layout.read_own": gettext_noop("read their own layouts"),
}
"""Right -> the deed in words, after "may"."""


def may(
    membership: Membership | None,
    right: str,
    *,
    in_: Showroom | None = None,
    at: datetime | None = None,
) -> bool:
    """Whether this person has the right here.

    Parameters
    ----------
    membership : the acting person in a showroom; None is a visitor. ``limited_to``, a set of rights
        put on it by a token's check, narrows it further
    right : one of RIGHTS; raises ValueError for a word that is none
    in_ : the showroom of what is acted on; a membership of another one has no rights in it
    at : if given, the membership must be in force at this instant (aware)
    """
    if right not in RIGHTS:
        raise ValueError(f"{right!r} is no right; the matrix has {', '.join(sorted(RIGHTS))}.")
    if membership is None or (in_ is not None and membership.showroom_id != in_.pk):
        return False
    if at is not None and not _in_force(membership, at):
        return False
    limited_to: Collection[str] | None = getattr(membership, "limited_to", None)
    if limited_to is not None and right not in limited_to:
        return False
    return right in MATRIX.get(membership.role, frozenset())


def require(
    membership: Membership | None,
    right: str,
    *,
    in_: Showroom | None = None,
    at: datetime | None = None,
) -> None:
    """Raise unless this person has the right here.

    Raises Unknown when the showroom is another one, as if the thing did not exist; Forbidden
    otherwise.
    """
    if may(membership, right, in_=in_, at=at):
        return
    if membership is not None and in_ is not None and membership.showroom_id != in_.pk:
        raise Unknown(_("entry"))
    if membership is None:
        raise Forbidden(
            "sign_in_first", _("Only people who work here may do this."), {}, _("Sign in first.")
        )
    raise Forbidden(
        "not_your_right",
        _("%(role)s may not %(deed)s.")
        % {"role": str(membership.get_role_display()).capitalize(), "deed": _(DEEDS[right])},
        {},
        _("Ask one of these: %(roles)s.") % {"roles": roles_in_words(right)},
    )


def roles_with(right: str) -> tuple[str, ...]:
    """The roles that have a right, in the order of the matrix."""
    return tuple(role for role, rights in MATRIX.items() if right in rights)


def roles_in_words(right: str) -> str:
    """The roles that have a right, as people call them."""
    return ", ".join(_shown(role) for role in roles_with(right))


def missing_rights(membership: Membership, wanted: Collection[str]) -> frozenset[str]:
    """Which of the wanted rights this person does not have; words that are no rights among them."""
    return frozenset(right for right in wanted if right not in RIGHTS or not may(membership, right))


def _shown(role: str) -> str:
    return str(Role(role).label)


def _in_force(membership: Membership, at: datetime) -> bool:
    ended = membership.to_at is not None and membership.to_at <= at
    return membership.from_at <= at and not ended
