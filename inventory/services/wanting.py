"""Something about stock has changed: what rests on it must be projected again.

One row of work for each stock, however often it is wanted. Marks wait a little, since ticks come in
rounds of many: one run then answers all of them. A page never waits for a projection.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services.work import want_work
from inventory.models import Container, Item
from inventory.queries.keys import container_key, item_key

DEBOUNCE = timedelta(seconds=10)
"""From the first mark to the run; later marks do not put it off (own choice)."""


def stock_changed(
    showroom: Showroom, at: datetime, item: Item, *containers: Container | None
) -> None:
    """Ask for the projections of these containers and of their item to be made again.

    A container's run brings its item up to date; without one all of the item is made again.
    """
    known = [container for container in containers if container is not None]
    keys = [container_key(one.pk) for one in known] or [item_key(item.pk)]
    for key in keys:
        want_work(showroom, "forecast", key, at=at, due_at=at + DEBOUNCE)


def measured(showroom: Showroom, at: datetime, item: Item, container: Container) -> None:
    """Something was weighed, counted, calibrated or opened: also look for what is wrong with it."""
    stock_changed(showroom, at, item, container)
    want_work(showroom, "watch", at=at)
