"""Rounds of a day, and the pack with which one is walked."""

from __future__ import annotations

from uuid import UUID

from django.utils.cache import get_conditional_response
from django.utils.http import quote_etag
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from gallery_ops.api.auth import Asker
from gallery_ops.kernel import clock
from gallery_ops.overview.round_pack import fingerprint, whole_pack
from maintenance.queries.rounds import round_by_uid


class RoundPackView(APIView):
    """Everything a tablet needs to do one round of one zone without network."""

    rights = {"GET": "record", "HEAD": "record"}

    def get(self, request: Request, uid: UUID) -> Response:
        """The pack; 304 when nothing in it has changed."""
        asker: Asker = request.auth
        round_ = round_by_uid(asker.showroom, uid)
        pack = whole_pack(asker.showroom, round_, asker.person, clock.now())
        etag = quote_etag(fingerprint(pack))
        response = Response(pack)
        response["ETag"] = etag
        response["Cache-Control"] = "private, no-cache"
        answer: Response = get_conditional_response(request, etag=etag, response=response)
        return answer
