"""Who delivers, what is on order, what came; and a draft, begun and added to."""

from __future__ import annotations

from collections import defaultdict
from typing import Any
from uuid import UUID

from django.db.models import prefetch_related_objects
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from gallery_ops.api.filters import OrderFilter, ReceiptFilter, SupplierFilter
from gallery_ops.api.serializers.orders import (
    DraftLineSerializer,
    DraftSerializer,
    OrderSerializer,
    ReceiptSerializer,
    SupplierSerializer,
)
from gallery_ops.api.views.rows import RowsView
from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.values.quantity import quantity
from inventory.queries.items import item_by_code
from inventory.queries.orders import (
    expected_of,
    lines_of,
    order_of,
    orders,
    receipts_listed,
    settled_packs,
    to_pay_of,
)
from inventory.queries.suppliers import (
    lead_known,
    offers,
    seen_leads,
    supplier_of,
    suppliers_listed,
)
from inventory.services.orders import draft_order, set_line


class SupplierRows(RowsView):
    """Suppliers."""

    serializer_class = SupplierSerializer

    def rows(self) -> Any:
        """By name."""
        return suppliers_listed(self.asker.showroom)

    def extras(self, rows: list[Any]) -> dict[str, Any]:
        """What the suppliers of this page sell, and how long they take."""
        showroom, keys = self.asker.showroom, [row.pk for row in rows]
        seen = seen_leads(showroom, keys)
        sold: dict[int, list[Any]] = defaultdict(list)
        for offer in offers(showroom, keys):
            sold[offer.supplier_id].append(offer)
        leads = {row.pk: lead_known(row, seen.get(row.pk, ())) for row in rows}
        return {"leads": leads, "offers": sold}


class SuppliersView(SupplierRows):
    """All suppliers."""

    filterset_class = SupplierFilter

    def get(self, request: Request) -> Response:
        """Suppliers by name, with what they sell and how long they take."""
        return self.page()


class SupplierView(SupplierRows):
    """One supplier."""

    filter_backends: Any = []
    lookup_field = "uid"

    def get(self, request: Request, uid: UUID) -> Response:
        """The supplier of this uid."""
        return self.one("supplier", uid=uid)


class OrderRows(RowsView):
    """Orders."""

    serializer_class = OrderSerializer

    def rows(self) -> Any:
        """The newest first."""
        return orders(self.asker.showroom)

    def extras(self, rows: list[Any]) -> dict[str, Any]:
        """Lines, sums and expectations of the orders of this page."""
        prefetch_related_objects(rows, "supplier__closures")
        lines = lines_of(rows)
        return {
            "lines": lines,
            "settled": settled_packs(line for some in lines.values() for line in some),
            "expected": expected_of(rows, self.at),
            "to_pay": to_pay_of(rows),
        }


class OrdersView(OrderRows):
    """All orders; a draft is begun here."""

    filterset_class = OrderFilter
    rights = {"POST": "plan.change"}

    def get(self, request: Request) -> Response:
        """Orders, the newest first."""
        return self.page()

    @extend_schema(request=DraftSerializer, responses={200: OrderSerializer})
    def post(self, request: Request) -> Response:
        """The one open draft to a supplier, begun if there is none. Nothing is sent by it."""
        said = DraftSerializer(data=request.data)
        said.is_valid(raise_exception=True)
        supplier = supplier_of(self.asker.showroom, said.validated_data["supplier"])
        order = draft_order(supplier=supplier, by=self.asker.person, at=self.at)
        return self.one("order", uid=order.uid)


class OrderView(OrderRows):
    """One order."""

    filter_backends: Any = []
    lookup_field = "uid"

    def get(self, request: Request, uid: UUID) -> Response:
        """The order of this uid."""
        return self.one("order", uid=uid)


class OrderLinesView(OrderRows):
    """The lines of a draft."""

    filter_backends: Any = []
    lookup_field = "uid"
    rights = {"POST": "plan.change"}

    @extend_schema(request=DraftLineSerializer, responses={200: OrderSerializer})
    def post(self, request: Request, uid: UUID) -> Response:
        """Put so many packs on a draft; said twice, they stand there once."""
        said = DraftLineSerializer(data=request.data)
        said.is_valid(raise_exception=True)
        showroom, data = self.asker.showroom, said.validated_data
        order = order_of(showroom, uid)
        item = item_by_code(showroom, data["item"])
        if item is None:
            raise Unknown("item")
        set_line(
            order=order,
            item=item,
            pack=quantity(item.dimension, data["pack"]),
            packs=data["packs"],
            by=self.asker.person,
            at=self.at,
        )
        return self.one("order", uid=uid)


class ReceiptRows(RowsView):
    """Receipts."""

    serializer_class = ReceiptSerializer

    def rows(self) -> Any:
        """The newest first."""
        return receipts_listed(self.asker.showroom)


class ReceiptsView(ReceiptRows):
    """All receipts."""

    filterset_class = ReceiptFilter

    def get(self, request: Request) -> Response:
        """What vans brought, the newest first."""
        return self.page()


class ReceiptView(ReceiptRows):
    """One receipt."""

    filter_backends: Any = []
    lookup_field = "uid"

    def get(self, request: Request, uid: UUID) -> Response:
        """The receipt of this uid."""
        return self.one("receipt", uid=uid)
