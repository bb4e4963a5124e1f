"""What asks for a reason, and what asks for a count? Two alerts, once each while they stand.

* variance: twice in a row a measurement found over 15 % more or less use than was booked;
* below nothing: more was taken out of a container than the books had in it.

Where another alert has named a cause already, no second one asks for it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from django.db.models import Sum

from gallery_ops.kernel.models import Alert, Showroom
from gallery_ops.kernel.services.alerts import Synced, Wanted, sync_alerts
from gallery_ops.kernel.values.quantity import quantity
from inventory.forecast.variance_rule import LIMIT_PERCENT, Interval, asks_why
from inventory.models import Container, ItemKind, Movement
from inventory.queries.count_plan import BELOW_NOTHING, name_of
from inventory.queries.keys import container_key
from inventory.queries.supply import tanks_by_container
from inventory.queries.variances import intervals

VARIANCE = "variance"
NAMES_NO_CAUSE = (VARIANCE, BELOW_NOTHING, "reorder", "too_old")


def review(*, showroom: Showroom, at: datetime) -> Mapping[str, Synced]:
    """Make the open alerts of both kinds what the facts say. Running it again changes nothing."""
    wanted = {
        VARIANCE: dict(_variances(showroom, at)),
        BELOW_NOTHING: dict(_below_nothing(showroom, at)),
    }
    return {
        kind: sync_alerts(showroom=showroom, kind=kind, wanted=alerts, at=at)
        for kind, alerts in wanted.items()
    }


def _variances(showroom: Showroom, at: datetime) -> Iterable[tuple[str, Wanted]]:
    named = set(
        Alert.objects.of(showroom)
        .filter(closed_at=None, subject_kind="container")
        .exclude(kind__in=NAMES_NO_CAUSE)
        .values_list("subject_key", flat=True)
    )
    asking = {
        pk: two
        for pk, rows in intervals(showroom, at).items()
        if container_key(pk) not in named and (two := asks_why(rows))
    }
    if not asking:
        return
    tanks = tanks_by_container(showroom, at)
    rows = Container.objects.of(showroom).filter(pk__in=list(asking)).select_related("item")
    for container in rows.order_by("pk"):
        two = asking[container.pk]
        name = name_of(container, tanks.get(container.pk, []))
        yield (
            container_key(container.pk),
            _about(
                container,
                f"{name}: {_summary(two)} Why?",
                [_because(container, one) for one in two],
            ),
        )


def _summary(two: Sequence[Interval]) -> str:
    last = two[-1].percent
    if last is None:
        return "twice in a row something went that nobody booked."
    more = "more" if last > 0 else "less"
    return (
        f"twice in a row over {LIMIT_PERCENT} % off, last {abs(last):.0f} % {more} gone than "
        "expected."
    )


def _because(container: Container, one: Interval) -> dict[str, Any]:
    mark = container.showroom.decimal_mark
    dimension = container.item.dimension
    expected = quantity(dimension, round(one.expected_use)).short(mark)
    went = quantity(dimension, round(one.expected_use - one.variance)).short(mark)
    share = "" if one.percent is None else f", {one.percent:+.0f} %".replace("-", "−")
    planned = "planned" if container.item.kind == ItemKind.GAS else "booked"
    return {
        "what": "variance",
        "term": f"Measured {one.to_on:%-d %B}",
        "text": f"since {one.from_on:%-d %B} {expected} {planned}, {went} gone{share}",
        "from": one.from_on,
        "to": one.to_on,
        "expected_base": round(one.expected_use),
        "gone_base": round(one.expected_use - one.variance),
    }


def _below_nothing(showroom: Showroom, at: datetime) -> Iterable[tuple[str, Wanted]]:
    below = (
        Movement.objects.of(showroom)
        .filter(container__finished_on=None, container__voided_at=None, done_at_corrected__lte=at)
        .values("container_id")
        .annotate(total=Sum("amount_base"))
        .filter(total__lt=0)
        .order_by("container_id")
    )
    sums = {row["container_id"]: int(row["total"]) for row in below}
    rows = Container.objects.of(showroom).filter(pk__in=list(sums)).select_related("item")
    for container in rows.order_by("pk"):
        less = quantity(container.item.dimension, -sums[container.pk])
        text = less.short(container.showroom.decimal_mark)
        how = "Count" if container.item.dimension == "piece" else "Weigh"
        yield (
            container_key(container.pk),
            _about(
                container,
                f"{how} {container}: by the books {text} more was taken out than was in it.",
                [{"what": BELOW_NOTHING, "term": "Books", "text": f"−{text}"}],
            ),
        )


def _about(container: Container, sentence: str, because: list[dict[str, Any]]) -> Wanted:
    return Wanted(
        harm_class="C",
        subject_kind="container",
        subject_key=container_key(container.pk),
        sentence=sentence[:300],
        because=because,
    )
