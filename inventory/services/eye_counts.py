"""A level read by eye in quarters: kept always, believed only where no weighing is fresh."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Unpack

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from inventory.models import Container, EyeCount, ItemKind, Weighing
from inventory.queries.levels import balance_base
from inventory.services import ledger
from inventory.services.said import Said, columns_of_taking_back, fact_columns, moment_of
from inventory.services.wanting import measured

FRESH = timedelta(days=7)
"""A weighing younger than this is never overridden by an eye."""
QUARTERS = 4


@transaction.atomic
def record_eye_count(
    *, container: Container, quarters: int, by: Membership, at: datetime, **said: Unpack[Said]
) -> EyeCount:
    """Write down that a container looked a quarter full, half full ... ; it moves no stock.

    It is worth plus or minus an eighth of a full one. ``counts`` is False on the row when a
    weighing of the seven days before it stands.

    Parameters
    ----------
    quarters : 0 (empty) to 4 (full)

    Raises
    ------
    Refused
        ``out_of_range``; ``not_seen`` for gas, whose level no eye sees.
    """
    require(by, "weigh", in_=container.showroom)
    container = ledger.lock([container])[container.pk]  # the same said twice takes turns
    known = _known(container, said)
    if known is not None:
        return known
    if container.item.kind == ItemKind.GAS:
        raise Refused(
            "not_seen",
            f"By eye: nobody sees into {container}.",
            {"quarters": "Not for a cylinder."},
            "Weigh it.",
        )
    if not 0 <= quarters <= QUARTERS:
        raise Refused(
            "out_of_range",
            f"By eye: {quarters} quarters is not allowed.",
            {"quarters": "Allowed: empty, one, two, three quarters or full."},
            "Tap the picture that looks most like it.",
        )
    moment = moment_of(at, said)
    row: EyeCount = EyeCount.objects.create(
        **fact_columns(container.showroom, by, at, said),
        container=container,
        quarters=quarters,
        net_base=container.capacity_base * quarters // QUARTERS,
        expected_base=balance_base(container, moment),
        counts=fresh_weighing(container, moment) is None,
    )
    measured(container.showroom, at, container.item, container)
    return row


@transaction.atomic
def take_back_eye_count(
    *, eye_count: EyeCount, by: Membership, at: datetime, **said: Unpack[Said]
) -> EyeCount:
    """It was a slip: a further row says so. Both stay."""
    require(by, "weigh", in_=eye_count.showroom)
    ledger.lock([eye_count.container])
    known: EyeCount | None = EyeCount.objects.filter(corrects=eye_count).first()
    if known is not None:
        return known
    back: EyeCount = EyeCount.objects.create(
        **columns_of_taking_back(eye_count, by, at, said),
        container=eye_count.container,
        quarters=eye_count.quarters,
        net_base=eye_count.net_base,
        expected_base=eye_count.expected_base,
        counts=False,
    )
    measured(eye_count.showroom, at, eye_count.container.item, eye_count.container)
    return back


def fresh_weighing(container: Container, moment: datetime) -> Weighing | None:
    """The weighing of the seven days before a moment that an eye does not override."""
    found: Weighing | None = (
        Weighing.objects.standing()
        .filter(
            container=container,
            done_at_corrected__gt=moment - FRESH,
            done_at_corrected__lte=moment,
        )
        .order_by("-done_at_corrected", "-pk")
        .first()
    )
    return found


def _known(container: Container, said: Said) -> EyeCount | None:
    if said.get("action_id") is None:
        return None
    known: EyeCount | None = (
        EyeCount.objects.of(container.showroom).filter(action_id=said["action_id"]).first()
    )
    return known
