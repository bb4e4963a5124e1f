"""What does a tablet need for one round? The pack of the room, with drawings and cards added.

``maintenance.queries.round_pack`` knows tasks, doses and last values; drawings, emergency cards and
the state of tanks on other people's walks come from across the rooms.
"""

from __future__ import annotations

import hashlib
import json
from datetime import datetime
from typing import Any

from gallery_ops.drawing import Detail, State
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.queries.people import current_epoch
from gallery_ops.overview.drawings import address
from gallery_ops.overview.first_minute import pack_cards
from gallery_ops.overview.walk_state import walk_state
from maintenance.models import Round
from maintenance.queries.round_pack import round_pack

Json = dict[str, Any]

PLAIN = {State.HEARD: State.TO_DO}
"""States of a drawn walk that a pack has no word for."""


def whole_pack(showroom: Showroom, round_: Round, you: Membership, at: datetime) -> Json:
    """The pack of one round for one person; ``round_pack.schema.json`` says what stands in it."""
    pack = round_pack(showroom, round_, you, at)
    now = {tank.now.code: tank for tank in walk_state(showroom, at).tanks}
    for tank in pack["tanks"]:
        known = now.get(tank["code"])
        if known is None:
            continue
        tank["state"] = str(PLAIN.get(known.state, known.state))
        tank["drawing"] = address(known.shape, Detail.PAGE)
        tank["drawing_small"] = address(known.shape, Detail.WALK)
    pack["epoch"] = str(current_epoch() or "0")
    pack["cards"] = pack_cards(showroom, you.person.language or showroom.language)
    return pack


def fingerprint(pack: Json) -> str:
    """The same for packs that say the same, whenever they were made."""
    said = {key: value for key, value in pack.items() if key != "made_at"}
    text = json.dumps(said, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()[:32]
