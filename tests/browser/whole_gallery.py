"""A whole gallery for the browser: web, worker and beat as real processes on a data folder.

    python -m tests.browser.whole_gallery stock | used SINCE | sign_ins | enrolment_code

``stock`` adds what an import does not bring: people with PINs, bottles with pumps, food, a public
code. ``used`` prints as JSON what was used of the fertiliser since a moment [uL].
"""

from __future__ import annotations

import json
import os
import socket
import sys
import time
from pathlib import Path

import django

PINS = {"Bram Tolliver": "428193", "Odile Marsh": "719264"}


def free_port() -> int:
    """A port of this machine that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def wait_for(port: int, within_s: float = 40) -> None:
    """Until somebody listens there: gunicorn does so before it has loaded, and lets wait."""
    end = time.monotonic() + within_s
    while True:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=5).close()
        except OSError:
            assert time.monotonic() < end, f"nobody listens on port {port}"
            time.sleep(0.2)
        else:
            return


def web_command(port: int, server_file: Path) -> list[str]:
    """The words that start the web server as deploy/start --lan does."""
    words = ["-m", "gunicorn", "gallery_ops.wsgi:application", "--bind", f"127.0.0.1:{port}"]
    words += ["--worker-class", "gthread", "--workers", "1", "--threads", "4"]
    words += ["--certfile", str(server_file), "--keyfile", str(server_file)]
    return [*words, "--no-control-socket", "--log-level", "warning"]


def stock() -> None:
    """People with PINs, a full bottle with an uncalibrated pump for the zone, a tub, a code."""
    from gallery_ops.kernel import clock
    from gallery_ops.kernel.models import Membership
    from gallery_ops.kernel.services.people import add_person
    from gallery_ops.kernel.services.pins import set_pin
    from gallery_ops.kernel.values.quantity import Mass, Volume
    from inventory.models import Item
    from inventory.services import containers, items, supplies
    from tanks.models import Layout, Tank, Zone
    from tanks.services.publishing import give_public_code, publish_layout

    at = clock.now()
    owner = Membership.objects.get(role="owner")
    showroom = owner.showroom
    for name, pin in PINS.items():
        member = add_person(
            showroom=showroom,
            login=name.lower().replace(" ", "."),
            name=name,
            role="carer",
            by=owner,
            at=at,
        )
        set_pin(membership=member, pin=pin, by=owner, at=at)
    fertiliser = Item.objects.get(showroom=showroom, kind="fertiliser")
    food = Item.objects.get(showroom=showroom, kind="food")
    supplier = items.add_supplier(
        showroom=showroom,
        name="Brackwater Trade",
        delivery_weekdays="0100100",
        stated_lead_days=7,
        by=owner,
        at=at,
    )
    items.add_supplier_item(
        supplier=supplier, item=fertiliser, pack=Volume.ml(500), price_cents=900, by=owner, at=at
    )
    bottle, *_ = containers.receive(
        item=fertiliser,
        containers=[
            containers.NewContainer(
                kind="bottle",
                capacity=Volume.ml(500),
                tare=Mass.g(65),
                name=f"Bottle {n}",
                press_nominal_ul=1_000,
            )
            for n in range(1, 4)
        ],
        supplier=supplier,
        by=owner,
        at=at,
    )
    (tub,) = containers.receive(
        item=food,
        containers=[containers.NewContainer(kind="tub", capacity=Mass.g(500), tare=Mass.g(30))],
        by=owner,
        at=at,
    )
    for zone in Zone.objects.of(showroom):
        for container, purpose in ((bottle, "dose"), (tub, "food")):
            supplies.connect_supply(
                container=container, purpose=purpose, zone=zone, by=owner, at=at
            )
    tank = Tank.objects.get(codes__code="T11")
    give_public_code(tank=tank, by=owner, at=at)
    publish_layout(layout=Layout.objects.get(tank=tank), by=owner, at=at, approved_on=at.date())


def used(since: str) -> None:
    """How much fertiliser was used from that moment on [uL], and by which taps."""
    from gallery_ops.kernel import clock
    from inventory.models import Movement
    from maintenance.models import Action

    rows = Movement.objects.filter(
        kind="use", item__kind="fertiliser", entered_at__gte=clock.begin(since)
    )
    taps = Action.objects.filter(entered_at__gte=clock.begin(since))
    said = {
        "used_ul": -sum(rows.values_list("amount_base", flat=True)),
        "doses": rows.count(),
        "kinds": sorted(taps.values_list("kind", flat=True)),
    }
    print(json.dumps(said))


def sign_ins() -> None:
    """Who signs in by which digits, of the demo gallery."""
    from gallery_ops.demo.house import gallery

    print(json.dumps({row["name"]: row["pin"] for row in gallery()["person"]}))


def enrolment_code() -> None:
    """A code for a tablet, made by the owner."""
    from gallery_ops.kernel import clock
    from gallery_ops.kernel.models import Membership
    from gallery_ops.kernel.services.devices import make_enrolment_code

    owner = Membership.objects.get(role="owner")
    code = make_enrolment_code(showroom=owner.showroom, by=owner, at=clock.now())
    print(json.dumps({"code": code}))


if __name__ == "__main__":
    os.environ["DJANGO_SETTINGS_MODULE"] = "gallery_ops.settings"
    django.setup()
    deeds = {"stock": stock, "used": used, "sign_ins": sign_ins, "enrolment_code": enrolment_code}
    deeds[sys.argv[1]](*sys.argv[2:])
