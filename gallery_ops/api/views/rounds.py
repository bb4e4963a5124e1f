"""Rounds of a day, and the pack with which one is walked."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.http.response import HttpResponseBase
from django.utils.cache import get_conditional_response
from django.utils.http import quote_etag
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from gallery_ops.api.auth import asker_of
from gallery_ops.api.schema import PACK
from gallery_ops.api.serializers.work import RoundQuerySerializer, RoundSerializer
from gallery_ops.api.views.rows import RowsView
from gallery_ops.kernel import clock
from gallery_ops.overview.round_pack import fingerprint, whole_pack
from maintenance.queries.rounds import round_by_uid, rounds_of_day, row_of


class RoundsView(RowsView):
    """The rounds of one business day."""

    serializer_class = RoundSerializer
    filter_backends: Any = []

    @extend_schema(parameters=[RoundQuerySerializer])
    def get(self, request: Request) -> Response:
        """Rounds in the order of the day, then of the walk; of today unless a day is named."""
        asked = RoundQuerySerializer(data=request.query_params)
        asked.is_valid(raise_exception=True)
        self.wanted = dict(asked.validated_data)
        self.on = self.wanted.pop("on", self.today)
        return self.page()

    def rows(self) -> Any:
        """Of that day, narrowed by what was asked."""
        rows = rounds_of_day(self.asker.showroom, self.on)
        return [row for row in rows if all(getattr(row, k) == v for k, v in self.wanted.items())]

    def extras(self, rows: list[Any]) -> dict[str, Any]:
        """The day."""
        return {"on": self.on}


class RoundView(RowsView):
    """One round."""

    serializer_class = RoundSerializer
    filter_backends: Any = []
    lookup_field = "uid"

    def get(self, request: Request, uid: UUID) -> Response:
        """The round of this uid, of whatever day."""
        round_ = round_by_uid(self.asker.showroom, uid)
        self.on = round_.business_on
        return Response(self.described([row_of(round_)])[0])

    def extras(self, rows: list[Any]) -> dict[str, Any]:
        """The day."""
        return {"on": self.on}


class RoundPackView(APIView):
    """Everything a tablet needs to do one round of one zone without network."""

    rights = {"GET": "record", "HEAD": "record"}

    @extend_schema(responses={200: PACK, 304: OpenApiResponse(description="Nothing changed.")})
    def get(self, request: Request, uid: UUID) -> HttpResponseBase:
        """The pack; 304 when nothing in it has changed since the ``ETag`` that is named."""
        asker = asker_of(request)
        round_ = round_by_uid(asker.showroom, uid)
        pack = whole_pack(asker.showroom, round_, asker.person, clock.now(), asker.device)
        etag = quote_etag(fingerprint(pack))
        response = Response(pack)
        response["ETag"] = etag
        response["Cache-Control"] = "private, no-cache"
        return get_conditional_response(request, etag=etag, response=response) or response
