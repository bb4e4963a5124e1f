"""Tanks, and the layouts that stand or stood in them."""

from __future__ import annotations

from typing import Any

from django.urls import reverse
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from gallery_ops.api.auth import MayAskAny
from gallery_ops.api.filters import LayoutFilter, TankFilter
from gallery_ops.api.serializers.tanks import LayoutSerializer, LedOnSerializer, TankSerializer
from gallery_ops.api.views.rows import RowsView
from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.rights import may
from tanks.queries.listing import layouts_listed, layouts_of_designer, tanks_counted, tanks_listed
from tanks.queries.old_codes import lead_of, old_codes


class TankRows(RowsView):
    """Tanks as they are now."""

    serializer_class = TankSerializer

    def rows(self) -> Any:
        """In walking order."""
        return tanks_listed(self.asker.showroom, self.at)

    def extras(self, rows: list[Any]) -> dict[str, Any]:
        """The codes of before, of all rows at once."""
        found = old_codes(self.asker.showroom, [row.pk for row in rows], self.at)
        return {"codes_before": found}


class TanksView(TankRows):
    """All tanks."""

    filterset_class = TankFilter

    def count_all(self) -> int:
        """How many there are when no filter is asked for."""
        return tanks_counted(self.asker.showroom, self.at)

    def get(self, request: Request) -> Response:
        """Tanks in walking order."""
        return self.page()


class TankView(TankRows):
    """One tank."""

    filter_backends: Any = []
    lookup_field = "code"

    @extend_schema(
        responses={
            200: TankSerializer,
            307: OpenApiResponse(
                LedOnSerializer, description="A code of before; Location is the tank it leads to."
            ),
        }
    )
    def get(self, request: Request, code: str) -> Response:
        """The tank with this code.

        A code that it had before, or that a tank had which went into it, leads there by 307 for
        the time being: the code may be given to another tank.
        """
        try:
            return self.one("tank", code__iexact=code)
        except Unknown:
            lead = None if "\0" in code else lead_of(self.asker.showroom, code, self.at)
            if lead is None or lead.to.tank.retired_at is not None:
                raise
        where = reverse("api_tank", args=[lead.to.code])
        return Response(LedOnSerializer(lead).data, status=307, headers={"Location": where})


class LayoutsView(RowsView):
    """Layouts, standing and gone; a guest designer sees their own."""

    serializer_class = LayoutSerializer
    filterset_class = LayoutFilter
    permission_classes = [MayAskAny]
    any_of = ("read", "layout.read_own")

    def rows(self) -> Any:
        """The newest first."""
        rows = layouts_listed(self.asker.showroom, self.at)
        member = self.asker.person
        return rows if may(member, "read") else layouts_of_designer(rows, member.person)

    def get(self, request: Request) -> Response:
        """Layouts, the newest first."""
        return self.page()
