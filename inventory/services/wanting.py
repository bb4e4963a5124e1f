"""What must be thought of again when stock has changed?"""

from __future__ import annotations

from datetime import datetime

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services.work import want_work
from inventory.models import Container, Item
from inventory.queries.keys import container_key, item_key


def stock_changed(
    showroom: Showroom, at: datetime, item: Item, *containers: Container | None
) -> None:
    """Ask for the projections of these containers and of their item to be made again."""
    for container in containers:
        if container is not None:
            want_work(showroom, "forecast", container_key(container.pk), at=at)
    want_work(showroom, "forecast", item_key(item.pk), at=at)


def measured(showroom: Showroom, at: datetime, item: Item, container: Container) -> None:
    """Something was weighed, counted, calibrated or opened: also look for what is wrong with it."""
    stock_changed(showroom, at, item, container)
    want_work(showroom, "watch", at=at)
