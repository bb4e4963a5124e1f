"""Which emergencies are open now? Asked by every round that is walked with a network."""

from __future__ import annotations

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from gallery_ops.api.auth import asker_of
from gallery_ops.kernel import clock
from gallery_ops.overview.emergency_pack import open_now
from tanks.queries.tanks import fleet


class EmergenciesView(APIView):
    """Emergencies that nobody has closed, with their taps, as they stand in the pack of a round."""

    rights = {"GET": "record", "HEAD": "record"}

    @extend_schema(responses={200: {"type": "array", "items": {"type": "object"}}})
    def get(self, request: Request) -> Response:
        """Oldest first. Drills are among them and marked."""
        asker = asker_of(request)
        response = Response(open_now(asker.showroom, fleet(asker.showroom, clock.now())))
        response["Cache-Control"] = "no-store"
        return response
