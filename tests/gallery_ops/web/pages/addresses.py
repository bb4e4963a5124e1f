"""Every address of the URL conf, filled with the things of one gallery.

A new page is found by itself; when its address names a thing that is not known here, the tests that
walk over all pages fail until it is added to :func:`named`.
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

from django.test import Client
from django.urls import URLPattern, reverse
from PIL import Image

from gallery_ops.kernel.models import Alert, Membership, Showroom
from gallery_ops.kernel.values.quantity import quantity
from gallery_ops.kernel.values.uuid7 import uuid7
from gallery_ops.overview.who import SHOWROOM_KEY
from gallery_ops.web.urls import urlpatterns
from inventory.models import Container, Item
from maintenance.models import Round
from maintenance.services import action_log
from maintenance.services.incidents import Emergency, open_incident
from tanks.models import Layout, Photo, Room, Tank
from tanks.services.photo_files import keep_photo
from tanks.services.photos import review_photo
from tanks.services.publishing import give_public_code, publish_layout
from tests.builders.orders import a_pack, a_supplier, an_order
from tests.builders.people import a_device

AT = datetime(2026, 3, 12, 8, 0, tzinfo=UTC)
APPROVED_ON = date(2026, 3, 1)
UNKNOWN = {
    "tank": "T9999",
    "container": "ZZZZZZZZ",
    "cylinder": "ZZZZZZZZ",
    "room": "00000000-0000-7000-8000-000000000003",
    "item": "no-such-item",
    "alert": "00000000-0000-7000-8000-000000000000",
    "held": "00000000-0000-7000-8000-000000000004",
    "round": "ZZZZZZZZ",
    "incident": "00000000-0000-7000-8000-000000000008",
    "device": "00000000-0000-7000-8000-000000000001",
    "person": "00000000-0000-7000-8000-000000000002",
    "order": "00000000-0000-7000-8000-000000000004",
    "supplier": "00000000-0000-7000-8000-000000000005",
    "photo": "00000000-0000-7000-8000-000000000006",
    "public": "ZZZZZZZZ",
}
"""A name of each kind of thing that no gallery has."""


@dataclass(frozen=True, slots=True)
class Address:
    """A page by its name, the kind of thing its address holds, and how it is asked."""

    name: str
    kind: str
    pattern: URLPattern

    @property
    def right(self) -> str | None:
        """What is needed to see it; None where nobody has to sign in."""
        found: str | None = getattr(self.pattern.callback, "right", None)
        return found

    def path(self, things: dict[str, str]) -> str:
        """The address with a gallery's thing in it."""
        if not self.kind:
            return reverse(self.name)
        first, *others = self.pattern.pattern.converters or {"name": None}
        further = {parameter: things[f"{self.kind} {parameter}"] for parameter in others}
        return reverse(self.name, kwargs={first: things[self.kind], **further})


KIND_BY_START = {
    "tanks/<": "tank",
    "containers/<": "container",
    "cylinders/<": "cylinder",
    "rooms/<": "room",
    "stock/items/<": "item",
    "alerts/<": "alert",
    "held/<": "held",
    "rounds/<": "round",
    "incidents/<": "incident",
    "tablets/<": "device",
    "people/<": "person",
    "orders/<": "order",
    "suppliers/<": "supplier",
    "photos/<": "photo",
    "sums/<": "sum",
    "v/<": "public",
    "first-minute/<": "card",
    "^drawings/": "drawing",
}
OWN = (
    "tank", "container", "cylinder", "room", "item", "alert", "held", "incident", "round", "device",
    "person", "order", "supplier", "photo",
)  # fmt: skip
"""Things that belong to one gallery."""


def addresses() -> list[Address]:
    """All of the URL conf; raises KeyError for a kind of thing that is not known here."""
    found = []
    for pattern in urlpatterns:
        assert isinstance(pattern, URLPattern)
        assert pattern.name
        route = str(pattern.pattern)
        kind = ""
        if "<" in route:
            kind = KIND_BY_START[next(s for s in [*KIND_BY_START, route] if route.startswith(s))]
        found.append(Address(pattern.name, kind, pattern))
    return found


def named(owner: Membership, tank: Tank) -> dict[str, str]:
    """One thing of each kind in this gallery; makes the tablet and the public page."""
    showroom = owner.showroom
    public = give_public_code(tank=tank, by=owner, at=AT)
    layout = Layout.objects.get(tank=tank)
    publish_layout(layout=layout, by=owner, at=AT, approved_on=APPROVED_ON)
    code = str(tank.codes.get().code)
    container = str(Container.objects.filter(showroom=showroom).earliest("pk").code)
    things = {
        "tank": code,
        "container": container,
        "item": _item_of(showroom, container),
        "cylinder": Container.objects.filter(showroom=showroom, kind="cylinder")
        .earliest("pk")
        .code,
        "room": str(Room.objects.filter(showroom=showroom).earliest("pk").uid),
        "alert": str(Alert.objects.filter(showroom=showroom).earliest("pk").uid),
        "held": _a_held_entry(owner),
        "round": Round.objects.filter(showroom=showroom).earliest("pk").code,
        "device": str(a_device(owner).uid),
        "person": str(owner.person.uid),
        **_ordered(showroom, container),
        "photo": str(a_photo(owner).uid),
        "public uid": str(a_released_photo(owner, layout).uid),
        "public": public.code,
        "card": "gas",
        "incident": _a_drill(owner),
        "sum": "co2",
    }
    page = Client().get(reverse("public_tank", args=[public.code])).content.decode()
    drawing = re.search(r"/drawings/([0-9a-f]{20})\.svg", page)
    assert drawing
    return {**things, "drawing": drawing[1]}


def a_released_photo(owner: Membership, layout: Layout) -> Photo:
    """A picture of the tank that a person has released for visitors."""
    photo = a_photo(owner, subject="", colour="green")
    Photo.objects.filter(pk=photo.pk).update(tank=layout.tank, layout=layout)
    review_photo(
        showroom=owner.showroom, photo=photo.uid, outcome="public", by=owner, at=AT,
        credit="the gallery", alternative_text="The front of the tank",
    )  # fmt: skip
    return photo


def a_photo(owner: Membership, subject: str = "receipt:1", colour: str = "red") -> Photo:
    """A small picture of something."""
    out = io.BytesIO()
    Image.new("RGB", (8, 6), colour).save(out, "PNG")
    return keep_photo(
        showroom=owner.showroom, data=out.getvalue(), subject=subject, by=owner, at=AT
    )


def _ordered(showroom: Showroom, container: str) -> dict[str, str]:
    """A supplier, and an order of what is in that container that was sent."""
    supplier = a_supplier(showroom, at=AT)
    item = Item.objects.get(containers__code=container, showroom=showroom)
    pack = quantity(item.dimension, 1_000_000)
    a_pack(supplier, item, pack, at=AT)
    order = an_order(supplier, (item, pack, 2), at=AT)
    return {"order": str(order.uid), "supplier": str(supplier.uid)}


def _a_held_entry(owner: Membership) -> str:
    """The id of an entry that waits for a person."""
    action_id = uuid7(AT)
    kept = action_log.keep(
        showroom=owner.showroom,
        action_id=action_id,
        kind="note",
        canonical="{}",
        sha256=action_log.digest("{}"),
        person=owner.person,
        at=AT,
    )
    action_log.say(action=kept.row, outcome="malformed", at=AT, sentence="It has no body.")
    return str(action_id)


def _a_drill(owner: Membership) -> str:
    """A card that was opened as a drill: it stops nothing."""
    uid = uuid7(AT)
    open_incident(showroom=owner.showroom, emergency=Emergency(uid, "power", True), by=owner, at=AT)
    return str(uid)


def _item_of(showroom: Showroom, container: str) -> str:
    """The item of a container, under a name of its own: galleries call theirs alike."""
    item = Item.objects.get(containers__code=container, showroom=showroom)
    item.code = f"{item.code}-{showroom.code}"[:40]
    item.save(update_fields=["code"])
    return str(item.code)


def signed_in(member: Membership) -> Client:
    """The browser of somebody who signed in by password."""
    client = Client()
    client.force_login(member.person, backend="django.contrib.auth.backends.ModelBackend")
    session = client.session
    session[SHOWROOM_KEY] = member.showroom_id
    session.save()
    return client


def ask(client: Client, address: Address, things: dict[str, str], **more: Any) -> Any:
    """Its answer to GET, or to an empty POST where it only takes deeds."""
    path = address.path(things)
    answer = client.get(path, **more)
    return client.post(path, **more) if answer.status_code == 405 else answer
