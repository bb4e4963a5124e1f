"""A showroom and the people who work in it, made as a gallery makes them: by the services."""

from datetime import UTC, datetime
from typing import Any

from gallery_ops.kernel.models import Device, Membership, Role, Showroom
from gallery_ops.kernel.services.devices import enrol_device, make_enrolment_code
from gallery_ops.kernel.services.people import add_person, make_showroom

AT = datetime(2026, 3, 12, 8, 0, tzinfo=UTC)
"""Eight in the morning on the day of all pictures and tests."""


def a_showroom(code: str = "undershore", *, at: datetime = AT, **more: Any) -> Showroom:
    """A gallery in Marrowick, without anybody."""
    values: dict[str, Any] = {
        "name": code.title(),
        "zone": "Europe/London",
        "currency": "GBP",
        "country": "GB",
        **more,
    }
    return make_showroom(code=code, at=at, **values)


def an_owner(showroom: Showroom, *, at: datetime = AT, **more: Any) -> Membership:
    """The first person of a showroom."""
    login = more.pop("login", f"owner.{showroom.code}")
    name = more.pop("name", "Odile Marsh")
    return add_person(
        showroom=showroom, login=login, name=name, role=Role.OWNER, by=None, at=at, **more
    )


def a_member(
    owner: Membership,
    role: str = Role.CARER,
    *,
    login: str | None = None,
    at: datetime = AT,
    **more: Any,
) -> Membership:
    """Somebody whom the owner took on."""
    name = more.pop("name", f"Iskra {role.title()}")
    return add_person(
        showroom=owner.showroom,
        login=login or f"{role.replace('_', '.')}.{owner.showroom.code}",
        name=name,
        role=role,
        by=owner,
        at=at,
        **more,
    )


def a_device(owner: Membership, name: str = "tablet of zone A", *, at: datetime = AT) -> Device:
    """An enrolled tablet."""
    code = make_enrolment_code(showroom=owner.showroom, by=owner, at=at)
    return enrol_device(code=code, name=name, at=at).device
