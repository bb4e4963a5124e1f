"""What does a tablet need for one round? The pack of the room, with drawings and cards added.

``maintenance.queries.round_pack`` knows tasks, doses and last values; drawings, emergency cards and
the state of tanks on other people's walks come from across the rooms.
"""

from __future__ import annotations

import hashlib
import json
from datetime import datetime
from typing import Any

from django.conf import settings

from gallery_ops.drawing import Detail, State
from gallery_ops.kernel.models import Device, Membership, Showroom
from gallery_ops.kernel.queries.people import current_epoch, name_tiles
from gallery_ops.kernel.services.pins import pin_verifier
from gallery_ops.overview.drawings import address
from gallery_ops.overview.emergency_pack import emergency_part
from gallery_ops.overview.first_minute import pack_cards
from gallery_ops.overview.walk_state import walk_state
from maintenance.models import Round
from maintenance.queries.round_pack import round_pack

Json = dict[str, Any]

PLAIN = {State.HEARD: State.TO_DO}
"""States of a drawn walk that a pack has no word for."""


def whole_pack(
    showroom: Showroom,
    round_: Round,
    you: Membership,
    at: datetime,
    device: Device | None = None,
) -> Json:
    """The pack of one round for one person; ``round_pack.schema.json`` says what stands in it.

    device : the enrolled tablet that asks; it gets what it needs to know people by their PIN
    """
    pack = round_pack(showroom, round_, you, at)
    walk = walk_state(showroom, at)
    now = {tank.now.code: tank for tank in walk.tanks}
    for tank in pack["tanks"]:
        known = now.get(tank["code"])
        if known is None:
            continue
        tank["state"] = str(PLAIN.get(known.state, known.state))
        tank["drawing"] = address(known.shape, Detail.PAGE)
        tank["drawing_small"] = address(known.shape, Detail.WALK)
    pack["epoch"] = str(current_epoch() or "0")
    pack["cards"] = pack_cards(showroom, you.person.language or showroom.language)
    pack["emergency"] = emergency_part(showroom, at, [tank.now for tank in walk.tanks])
    if device is not None and device.revoked_at is None:
        _add_pins(pack, showroom, device, at)
    return pack


def _add_pins(pack: Json, showroom: Showroom, device: Device, at: datetime) -> None:
    """What fits this tablet alone: the person's salt, and an HMAC of the PIN's base under its own.

    The base itself never leaves the gallery.
    """
    pack["tablet"] = {"pin_salt": bytes(device.pin_salt).hex()}
    known = {str(row.person.uid): row for row in name_tiles(showroom, at)}
    for person in pack["people"]:
        row = known.get(person["id"])
        verifier = pin_verifier(row, device) if row is not None else None
        if row is not None and row.pin_salt and verifier is not None:
            person["pin"] = {
                "salt": bytes(row.pin_salt).hex(),
                "iterations": settings.PIN_ITERATIONS,
                "verifier": verifier.hex(),
            }


def fingerprint(pack: Json) -> str:
    """The same for packs that say the same, whenever they were made."""
    said = {key: value for key, value in pack.items() if key != "made_at"}
    text = json.dumps(said, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()[:32]
