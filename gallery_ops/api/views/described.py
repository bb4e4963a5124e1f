"""The description of all endpoints (OpenAPI 3), for anybody: it holds nothing of any gallery."""

from __future__ import annotations

from typing import Any

from drf_spectacular.renderers import OpenApiJsonRenderer
from drf_spectacular.views import SpectacularAPIView


class SchemaView(SpectacularAPIView):
    """The schema as JSON."""

    authentication_classes: list[Any] = []
    permission_classes: list[Any] = []
    renderer_classes = [OpenApiJsonRenderer]
