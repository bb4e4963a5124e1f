"""What is used up, in which containers, and when it runs out."""

from __future__ import annotations

from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response

from gallery_ops.api.filters import ContainerFilter, ForecastFilter, ItemFilter
from gallery_ops.api.serializers.stock import (
    ContainerSerializer,
    ForecastSerializer,
    ItemSerializer,
)
from gallery_ops.api.views.rows import RowsView
from inventory.queries.levels import levels
from inventory.queries.listing import containers_listed, forecasts_listed, items_listed


class ItemRows(RowsView):
    """Items."""

    serializer_class = ItemSerializer

    def rows(self) -> Any:
        """By name."""
        return items_listed(self.asker.showroom)


class ItemsView(ItemRows):
    """All items."""

    filterset_class = ItemFilter

    def get(self, request: Request) -> Response:
        """Items by name."""
        return self.page()


class ItemView(ItemRows):
    """One item."""

    filter_backends: Any = []
    lookup_field = "code"

    def get(self, request: Request, code: str) -> Response:
        """The item with this code."""
        return self.one("item", code=code)


class ContainerRows(RowsView):
    """Containers with their levels."""

    serializer_class = ContainerSerializer

    def rows(self) -> Any:
        """By item, then by code."""
        return containers_listed(self.asker.showroom)

    def extras(self, rows: list[Any]) -> dict[str, Any]:
        """Levels of the items of this page."""
        items = {row.item_id for row in rows}
        return {"levels": levels(self.asker.showroom, self.at, item_ids=items) if items else {}}


class ContainersView(ContainerRows):
    """All containers."""

    filterset_class = ContainerFilter

    def get(self, request: Request) -> Response:
        """Containers by item."""
        return self.page()


class ContainerView(ContainerRows):
    """One container."""

    filter_backends: Any = []
    lookup_field = "code"

    def get(self, request: Request, code: str) -> Response:
        """The container with this code."""
        return self.one("container", code=code)


class ForecastsView(RowsView):
    """The projections in force."""

    serializer_class = ForecastSerializer
    filterset_class = ForecastFilter

    def rows(self) -> Any:
        """The first to run out first."""
        return forecasts_listed(self.asker.showroom)

    def get(self, request: Request) -> Response:
        """Projections, the first to run out first."""
        return self.page()
