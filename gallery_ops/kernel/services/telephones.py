"""The numbers to ring of one gallery: read by everybody who works there, changed by a manager."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Final

from django.db import transaction
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services.audit import record_audit
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.text import clean_text

MOST: Final = 30
LONGEST: Final = 60
NUMBER: Final = re.compile(r"\+?[0-9][0-9 ()/.\-]{1,28}[0-9]")


@dataclass(frozen=True, slots=True)
class Number:
    """Whom one rings. what : what for, such as "gas supplier, nights too"."""

    name: str
    number: str
    what: str = ""


@transaction.atomic
def change_telephones(
    *, showroom: Showroom, numbers: Sequence[Number], by: Membership, at: datetime
) -> None:
    """The whole list in its order; a row without name and number is left out.

    Raises Refused with a sentence per row that cannot be dialled.
    """
    require(by, "person.change", in_=showroom, at=at)
    locked: Showroom = Showroom.objects.select_for_update().get(pk=showroom.pk)
    fields: dict[str, str] = {}
    kept: list[Number] = []
    for place, row in enumerate(numbers):
        try:
            clean = _clean(row)
        except Refused as no:
            fields |= {f"{name}-{place}": words for name, words in no.fields.items()}
            continue
        if clean.name or clean.number or clean.what:
            kept.append(clean)
    if fields:
        sentence = _("The list is not kept yet: correct the rows that are marked.")
        raise Refused("bad_number", sentence, fields)
    if len(kept) > MOST:
        raise Refused("too_many", _("At most %(n)d numbers fit the list.") % {"n": MOST})
    before = locked.telephones
    locked.telephones = [asdict(row) for row in kept]
    locked.save(update_fields=["telephones"])
    showroom.telephones = locked.telephones
    record_audit(
        showroom=locked,
        by=by,
        at=at,
        deed="showroom.telephones",
        subject_kind="showroom",
        subject_key=locked.code,
        before=before,
        after=locked.telephones,
    )


def _clean(row: Number) -> Number:
    fields: dict[str, str] = {}
    words: dict[str, str] = {}
    for name, label in (("name", _("Name")), ("number", _("Number")), ("what", _("What for"))):
        try:
            words[name] = clean_text(getattr(row, name), field=label, longest=LONGEST)
        except OutOfRange as error:
            fields[name] = error.sentence
    if fields:
        raise Refused("bad_number", _("This row cannot be kept."), fields)
    if (words["name"] or words["what"]) and not words["number"]:
        fields["number"] = _("Number: write it, or empty the row.")
    elif words["number"] and not words["name"]:
        fields["name"] = _("Name: write whose number this is.")
    if words["number"] and not NUMBER.fullmatch(words["number"]):
        fields["number"] = _("Number: digits with spaces, 3 to 30 of them, as +44 1632 960104.")
    if fields:
        raise Refused("bad_number", _("This row cannot be kept."), fields)
    return Number(**words)
