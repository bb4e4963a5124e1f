"""Animals seen, dead, missing, moved. A death that nobody can name is kept until somebody can."""

from __future__ import annotations

from uuid import UUID

from gallery_ops.kernel.errors import Held
from inventory.models import LivestockBatch
from inventory.services import livestock
from maintenance.actions.context import Said
from maintenance.services.observations import observe


def apply(said: Said) -> None:
    """Book it where the batch is known, keep the words in any case."""
    body = said.body
    observe(
        showroom=said.showroom,
        tank=said.tank(),
        round_=said.round_or_none(),
        kind="animal",
        key=body["what"],
        text=body["text"] or "",
        data={
            "batch": body["batch"],
            "count": body["count"],
            "species_unsure": body["species_unsure"],
        },
        **said.moments(),
    )
    if body["what"] in {"dead", "missing"} and body["batch"] and body["count"]:
        deed = livestock.die if body["what"] == "dead" else livestock.miss
        deed(batch=_batch(said), tank=said.tank(), count=body["count"], **said.moments())


def _batch(said: Said) -> LivestockBatch:
    try:
        uid = UUID(said.body["batch"])
    except ValueError:
        uid = None
    batch = LivestockBatch.objects.of(said.showroom).filter(uid=uid, voided_at=None).first()
    if uid is None or batch is None:
        raise Held("unknown", "There are no such animals here.", remedy="Choose 'species unsure'.")
    return batch
