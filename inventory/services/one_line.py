"""The line of an item in many containers, brought up to date by the one that changed.

Sums over every container of an item grow with it. What changed in one of them is told by its
projection and the item's, which were made by the difference; all else of the line stays as it was
stored. Where that is not sure, nothing is done here and all of the item is concluded anew.
"""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.db.models import Count, Q, Sum

from gallery_ops.kernel.models import Alert, Showroom
from gallery_ops.kernel.values.day import business_day
from inventory.models import Container, Forecast, StockLine, Supply
from inventory.models.stock_line import NEVER
from inventory.queries.keys import item_key, parse_key
from inventory.queries.levels import levels_of
from inventory.queries.stock_facts import StockFacts, is_gas, stock_facts
from inventory.services import stock_lines

FEW = 20
"""Up to so many containers the whole item is concluded as fast."""


def refresh_one(*, showroom: Showroom, at: datetime, subject: str) -> bool:
    """Bring the line of the item of this container up to date; False where all must be looked at.

    Running it twice changes nothing but the moment at which the line was made.
    """
    named = parse_key(subject)
    if named is None or named[0] != "container":
        return False
    facts = stock_facts(showroom, at, container_ids=[named[1]])
    container = facts.containers.get(named[1])
    if container is None or is_gas(container):
        return False
    with transaction.atomic():
        line = (
            StockLine.objects.select_for_update(of=("self",))
            .filter(item=container.item_id, container=None, made_at__lte=at)
            .first()
        )
        if line is None or not _is_as_stored(line, at):
            return False
        return _brought_up(line, facts, container, at)


def _is_as_stored(line: StockLine, at: datetime) -> bool:
    """Do its containers and the tanks that they feed stand as the line counts them?"""
    today = business_day(at, line.showroom.tz, line.showroom.cut_off_hour)
    unfinished = Q(finished_on__isnull=True) | Q(finished_on__gt=today)
    here = Container.objects.filter(unfinished, item=line.item_id, voided_at=None).aggregate(
        n=Count("pk"), full=Sum("capacity_base")
    )
    if here["n"] <= FEW or (here["n"], here["full"]) != (line.containers, line.full_base):
        return False
    fed = Supply.objects.filter(item=line.item_id).at(at)
    if fed.filter(tank=None).exists():
        return False
    return bool(fed.order_by().values("tank").distinct().count() == line.tanks)


def _brought_up(line: StockLine, facts: StockFacts, container: Container, at: datetime) -> bool:
    forecast = (
        Forecast.objects.filter(item=line.item_id, container=None, is_current=True)
        .defer("made_from")
        .first()
    )
    alerts = _alerts(line)
    level = levels_of(facts)[container.pk]
    stale = forecast is None or forecast.as_of_on != facts.today
    # what is below nothing, or too old, is told of one container among many
    if forecast is None or stale or line.is_below_nothing or level.is_below_nothing:
        return False
    if "too_old" in alerts or line.too_old_on is not None:
        return False
    measured = stock_lines.measured_of(facts, container)
    if measured is not None and (line.measured_at is None or measured[0] > line.measured_at):
        line.measured_at, line.measured_by = measured[0], measured[1][:120]
    to_do = stock_lines.to_do_of(
        forecast, set(alerts), forecast.level_base, line.measured_at is not None, gas=False
    )
    line.level_base, line.forecast, line.to_do = forecast.level_base, forecast, to_do
    line.alert = stock_lines.alert_of(to_do, alerts)
    line.act_by_on = stock_lines.act_by(facts, to_do, forecast, None) or NEVER
    line.out_before_next = stock_lines.out_before_next(forecast)
    line.projected_at, line.made_at = forecast.made_at, at
    line.save()
    return True


def _alerts(line: StockLine) -> dict[str, Alert]:
    """Open alerts of the item and of its containers in use, by kind."""
    rows = list(
        Alert.objects.of(line.showroom)
        .filter(closed_at=None, kind__in=stock_lines.ALERTS)
        .order_by("pk")
        .defer("because")
    )
    named = {row.pk: parse_key(row.subject_key) for row in rows}
    keys = [key[1] for key in named.values() if key is not None and key[0] == "container"]
    mine = set(
        Container.objects.filter(pk__in=keys, item=line.item_id).values_list("pk", flat=True)
    )
    out: dict[str, Alert] = {}
    for row in rows:
        key = named[row.pk]
        is_of_item = row.subject_key == item_key(line.item_id)
        if is_of_item or (key is not None and key[0] == "container" and key[1] in mine):
            out[row.kind] = row
    return out
