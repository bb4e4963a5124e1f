"""How many rows come at once? Fifty, at most two hundred, and a page that is not there says so."""

from __future__ import annotations

from typing import Any

from rest_framework.exceptions import ValidationError
from rest_framework.pagination import PageNumberPagination
from rest_framework.request import Request

MOST = 200
LAST_PAGE = 100_000


class Paging(PageNumberPagination):
    """``page`` from 1, ``page_size`` from 1 to 200."""

    page_size = 50
    page_size_query_param = "page_size"
    max_page_size = MOST

    def get_page_size(self, request: Request) -> int:
        """The wanted size. Raises ValidationError."""
        return _whole(request, "page_size", MOST) or 50

    def paginate_queryset(
        self, queryset: Any, request: Request, view: Any = None
    ) -> list[Any] | None:
        """The rows of one page. Raises ValidationError for a page that is not there."""
        number = _whole(request, "page", LAST_PAGE) or 1
        self.request = request
        paginator = self.django_paginator_class(queryset, self.get_page_size(request))
        if hasattr(view, "count_all") and set(request.query_params) <= {"page", "page_size"}:
            paginator.__dict__["count"] = view.count_all()  # a cached property: not asked again
        if number > paginator.num_pages:
            raise ValidationError({"page": f"There are {paginator.num_pages} pages, from 1 on."})
        self.page = paginator.page(number)
        return list(self.page)

    def get_schema_operation_parameters(self, view: Any) -> list[dict[str, Any]]:
        """Both parameters with what is allowed."""
        bounds = {"page": LAST_PAGE, "page_size": MOST}
        words = {"page": "From 1.", "page_size": "Rows at once; 50 when left out."}
        return [
            {
                "name": name,
                "in": "query",
                "required": False,
                "description": words[name],
                "schema": {"type": "integer", "minimum": 1, "maximum": most},
            }
            for name, most in bounds.items()
        ]


def _whole(request: Request, name: str, most: int) -> int | None:
    text = request.query_params.get(name)
    if text is None:
        return None
    if not (text.isascii() and text.isdigit()) or len(text) > 6 or not 1 <= int(text) <= most:
        raise ValidationError({name: f"Allowed: a whole number from 1 to {most}."})
    return int(text)
