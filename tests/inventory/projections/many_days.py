"""Many days of rounds in a few statements: the rows that the services would have written.

A history of weeks is what most tests of projections begin with, and one dose by its service asks a
dozen questions. `test_many_days` holds the rows equal to those of the services. For a stretch in
which nothing else happens: one supply and one plan for each tank, nothing measured meanwhile.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime

from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.services.facts import fact_columns
from inventory.models import Container, Item, Movement, MovementKind, Use, Weighing
from inventory.queries.plans import planned_by, plans_in_force
from inventory.queries.supply import Feeder, feeders
from inventory.services.wanting import stock_changed
from tanks.models import Tank

Dose = tuple[Tank, datetime, date]
"""Who was dosed, when, and the business day of it."""


def dose(showroom: Showroom, item: Item, doses: list[Dose], presses: int, by: Membership) -> None:
    """All these doses, in the order of their moments, each of so many presses."""
    if not doses:
        return
    feeds = _the_same(showroom, item, doses)
    containers = Container.objects.in_bulk({feed.container_id for feed in feeds.values()})
    _nothing_measured(containers, doses[0][1])
    plans = {
        plan.tank_id: plan
        for plan in plans_in_force(showroom, doses[0][2])
        if plan.item_id == item.pk and plan.purpose == "dose"
    }
    uses, movements = [], []
    for tank, at, day in doses:
        feed, plan = feeds[tank.pk], plans.get(tank.pk)
        said = fact_columns(showroom, by, at, {})
        uses.append(
            Use(
                **said, tank=tank, item=item, purpose="dose", plan=plan, business_on=day,
                planned_base=planned_by(plan, day) if plan else 0,
                container=containers[feed.container_id], presses=presses,
                ul_per_press=feed.press.ul, given_base=presses * feed.press.ul, answers={},
            )
        )  # fmt: skip
    Use.objects.bulk_create(uses)
    for use, (_tank, at, _day) in zip(uses, doses, strict=True):
        movements.append(
            Movement(
                **fact_columns(showroom, by, at, {}), item=item, kind=MovementKind.USE, use=use,
                container=use.container, lot=use.container.lot, amount_base=-use.given_base,
            )
        )  # fmt: skip
    Movement.objects.bulk_create(movements)
    _want_projections(showroom, item, containers, uses)


def _the_same(showroom: Showroom, item: Item, doses: list[Dose]) -> dict[int, Feeder]:
    """What feeds each tank, at the first moment and still at the last."""
    first, last = (
        {
            tank_id: feed
            for (tank_id, purpose, item_id), feed in feeders(showroom, at).items()
            if item_id == item.pk and purpose == "dose"
        }
        for at in (doses[0][1], doses[-1][1])
    )
    assert first == last, "another bottle or pump came meanwhile"
    return first


def _nothing_measured(containers: Iterable[int], since: datetime) -> None:
    later = {"container__in": list(containers), "done_at_corrected__gt": since}
    assert not Weighing.objects.filter(**later).exists()
    assert not Movement.objects.filter(kind=MovementKind.COUNT, **later).exists()


def _want_projections(
    showroom: Showroom, item: Item, containers: dict[int, Container], uses: list[Use]
) -> None:
    """As the first and the last dose out of each container ask for it."""
    for key, container in containers.items():
        moments = [use.done_at for use in uses if use.container_id == key]
        for at in (moments[0], moments[-1]):
            stock_changed(showroom, at, item, container)
