"""What somebody does at a desk goes through the same door as a tap on a tablet.

The envelope is made and applied in :mod:`maintenance.actions.desk`; what was held there comes back
as the refusal that a form shows.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Held, Refused
from gallery_ops.kernel.models import Membership
from maintenance.actions.desk import say_at_desk
from tanks.queries.tanks import tank_by_code

KEPT = frozenset({"overfilled", "program_fault", "differs"})
"""What waits for a person although it was said at a desk. Any other entry that is not accepted is a
form to be put right, and leaves nothing behind."""


def act(
    *, by: Membership, kind: str, body: dict[str, Any], at: datetime, corrects: str | None = None
) -> str:
    """Apply one action of a person at a desk; gives its id.

    corrects : id of the entry that this one puts right.

    Raises
    ------
    Refused
        with the words of the verdict when it was not accepted.
    """
    try:
        return say_at_desk(kind=kind, body=body, by=by, at=at, keep=KEPT, corrects=corrects)
    except Held as held:
        sentence = held.sentence or _("This could not be written down.")
        raise Refused(held.code, sentence, held.fields, held.remedy) from held


def write_note(*, by: Membership, code: str, text: str, at: datetime) -> None:
    """A note about a tank."""
    words = text.strip()
    if not words or len(words) > 500:
        raise Refused(
            "note_length",
            _("Note: write 1 to 500 characters."),
            {"text": _("Allowed: 1 to 500 characters.")},
        )
    now = tank_by_code(by.showroom, code, at)
    act(by=by, kind="note", body={"text": words, "tank": now.code}, at=at)
