"""An address under /api/v1/ at which nothing stands answers like one, not like a page."""

from __future__ import annotations

from typing import Any

from rest_framework.exceptions import NotFound
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView


class NothingView(APIView):
    """404 for every method, whoever asks."""

    authentication_classes: list[Any] = []
    permission_classes: list[Any] = []
    schema = None

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        """Before any look at the method."""
        raise NotFound("There is no endpoint at this address. See /api/v1/schema/ for what is.")

    def get(self, request: Request) -> Response:
        """Never reached."""
        raise NotFound
