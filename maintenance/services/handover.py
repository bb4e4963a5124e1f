"""Lines for the next shift, and who has read them: facts, each written once."""

from __future__ import annotations

from datetime import datetime
from typing import Unpack

from django.db import transaction

from gallery_ops.kernel.models import Membership, Person, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services.facts import Said, columns_of_taking_back, fact_columns
from gallery_ops.kernel.services.work import want_work
from maintenance.models import HandoverLine, HandoverRead, Round
from tanks.models import Tank


@transaction.atomic
def hand_over(
    *,
    showroom: Showroom,
    kind: str,
    text: str,
    by: Membership,
    at: datetime,
    tank: Tank | None = None,
    round_: Round | None = None,
    by_at: datetime | None = None,
    source: str = "",
    handed_to: Person | None = None,
    **said: Unpack[Said],
) -> HandoverLine:
    """Leave one line behind.

    Parameters
    ----------
    kind : ``changed``, ``worry`` or ``do``
    by_at : until when it must be done
    source : what it follows from, as "reading 08:12" and the id of that entry
    handed_to : whom it is for; None is the next shift, whoever that is
    """
    require(by, "record", in_=showroom)
    action_id = said.get("action_id")
    if action_id is not None:
        known = HandoverLine.objects.of(showroom).filter(action_id=action_id).first()
        if known is not None:
            return known
    line = HandoverLine.objects.create(
        **fact_columns(showroom, by, at, said),
        round=round_,
        tank=tank,
        kind=kind,
        text=text,
        by_at=by_at,
        source=source,
        handed_to=handed_to,
    )
    want_work(showroom, "handover", at=at)
    return line


@transaction.atomic
def read_line(
    *, line: HandoverLine, by: Membership, at: datetime, **said: Unpack[Said]
) -> HandoverRead:
    """This person has read it; the first time counts."""
    require(by, "record", in_=line.showroom)
    columns = fact_columns(line.showroom, by, at, said)
    row, made = HandoverRead.objects.get_or_create(
        line=line, person=by.person, defaults={k: v for k, v in columns.items() if k != "person"}
    )
    if made:
        want_work(line.showroom, "handover", at=at)
    return row


@transaction.atomic
def take_back_line(
    *, line: HandoverLine, by: Membership, at: datetime, **said: Unpack[Said]
) -> HandoverLine:
    """It was a slip; both rows stay."""
    require(by, "record", in_=line.showroom)
    known = HandoverLine.objects.filter(corrects=line).first()
    if known is not None:
        return known
    want_work(line.showroom, "handover", at=at)
    return HandoverLine.objects.create(
        **columns_of_taking_back(line, by, at, said),
        round=line.round,
        tank=line.tank,
        kind=line.kind,
    )
