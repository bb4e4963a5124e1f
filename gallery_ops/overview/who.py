"""Who is asking, in which showroom, and from which tablet? Asked by pages and endpoints alike.

A session holds the showroom in which somebody signed in and, on an enrolled tablet, the device. A
person signed in by PIN is locked out again after ten minutes without a touch; the outbox on the
tablet is never touched by that.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any, Protocol

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Device, Membership, Person, Showroom
from gallery_ops.kernel.queries.devices import device_by_token
from gallery_ops.kernel.queries.people import memberships_of

DEVICE_COOKIE = "gallery_device"
SHOWROOM_KEY = "showroom"
DEVICE_KEY = "device"
TOUCHED_KEY = "touched"
SIGNED_KEY = "signed"
"""When somebody signed in by PIN: a page of the round tells a new sign-in from the one before."""
LOCK_AFTER = timedelta(minutes=10)


class SessionLike(Protocol):
    """As much of a session as is needed here."""

    def get(self, key: str, default: Any) -> Any:
        """The value, or the default."""


@dataclass(frozen=True, slots=True)
class Who:
    """The answer; everything may be missing for a visitor."""

    membership: Membership | None = None
    device: Device | None = None
    is_locked: bool = False

    @property
    def showroom(self) -> Showroom | None:
        """The showroom of the person, else that of the tablet."""
        if self.membership is not None:
            return self.membership.showroom
        return self.device.showroom if self.device is not None else None

    @property
    def person(self) -> Person | None:
        """Whoever is signed in."""
        return self.membership.person if self.membership is not None else None


def who_asks(user: Any, session: SessionLike, cookies: dict[str, str], at: datetime) -> Who:
    """Who this is.

    Parameters
    ----------
    user : of the request; anything but a signed-in :class:`Person` is nobody
    session, cookies : of the request
    at : now (aware)
    """
    device = _device(cookies.get(DEVICE_COOKIE, ""))
    if not isinstance(user, Person):
        return Who(device=device)
    if session.get(DEVICE_KEY, None) is not None and (
        device is None or device.pk != session.get(DEVICE_KEY, None) or is_idle(session, at)
    ):
        return Who(device=device, is_locked=True)
    wanted = session.get(SHOWROOM_KEY, None)
    found = memberships_of(user, at)
    mine = [row for row in found if wanted is None or row.showroom_id == wanted]
    return Who(membership=mine[0] if mine else None, device=device)


def is_idle(session: SessionLike, at: datetime) -> bool:
    """Has nobody touched this tablet for ten minutes?"""
    touched = session.get(TOUCHED_KEY, None)
    if not isinstance(touched, int | float):
        return True
    return at - datetime.fromtimestamp(touched, UTC) > LOCK_AFTER


def _device(token: str) -> Device | None:
    if not token:
        return None
    try:
        return device_by_token(token)
    except Unknown:
        return None
