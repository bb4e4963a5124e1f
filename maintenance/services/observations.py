"""Words about a tank: what looked different, what could not be measured, a note."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Unpack
from uuid import UUID

from django.db import transaction

from gallery_ops.kernel.models import Device, Membership, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services.facts import Said, columns_of_taking_back
from maintenance.models import Observation, Round
from tanks.models import Tank


@transaction.atomic
def observe(
    *,
    showroom: Showroom,
    kind: str,
    by: Membership,
    at: datetime,
    tank: Tank | None = None,
    round_: Round | None = None,
    key: str = "",
    text: str = "",
    data: Mapping[str, Any] | None = None,
    done_at: datetime | None = None,
    done_at_corrected: datetime | None = None,
    device: Device | None = None,
    action_id: UUID | None = None,
) -> Observation:
    """Write down what somebody saw or said."""
    require(by, "record", in_=showroom)
    if action_id is not None:
        known = Observation.objects.of(showroom).filter(action_id=action_id, key=key).first()
        if known is not None:
            return known
    return Observation.objects.create(
        showroom=showroom,
        tank=tank,
        round=round_,
        kind=kind,
        key=key,
        text=text[:500],
        data=dict(data or {}),
        done_at=done_at or at,
        done_at_corrected=done_at_corrected or done_at or at,
        entered_at=at,
        person=by.person,
        device=device,
        action_id=action_id,
    )


@transaction.atomic
def take_back_observation(
    *,
    observation: Observation,
    by: Membership,
    at: datetime,
    **said: Unpack[Said],
) -> Observation:
    """It was a slip; both facts stay."""
    require(by, "record", in_=observation.showroom)
    known = Observation.objects.filter(corrects=observation).first()
    if known is not None:
        return known
    return Observation.objects.create(
        **columns_of_taking_back(observation, by, at, said),
        tank=observation.tank,
        round=observation.round,
        kind=observation.kind,
        key=observation.key,
    )
