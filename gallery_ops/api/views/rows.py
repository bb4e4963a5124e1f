"""What have the lists in common? Rows of whoever asks, filtered, paged, described."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from rest_framework.generics import GenericAPIView
from rest_framework.request import Request
from rest_framework.response import Response

from gallery_ops.api.auth import Asker, asker_of
from gallery_ops.kernel import clock
from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.values.day import business_day


class RowsView(GenericAPIView[Any]):
    """A list or one of its rows; ``rows`` says which, the rest is the same for all."""

    request: Any
    filterset_class: Any = None

    @property
    def asker(self) -> Asker:
        """Whoever asks."""
        return asker_of(self.request)

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        """One moment for the whole answer."""
        self.at: datetime = clock.now()
        super().initial(request, *args, **kwargs)

    @property
    def today(self) -> date:
        """The business day of the asker's gallery."""
        showroom = self.asker.showroom
        return business_day(self.at, showroom.tz, showroom.cut_off_hour)

    def rows(self) -> Any:
        """The rows that the asker may see."""
        raise NotImplementedError

    def extras(self, rows: list[Any]) -> dict[str, Any]:
        """What the serializer needs beside the rows of this page; constant queries."""
        return {}

    def get_queryset(self) -> Any:
        """For the filters; the schema only wants to know of what."""
        if getattr(self, "swagger_fake_view", False) and self.filterset_class is not None:
            return self.filterset_class._meta.model.objects.none()
        return self.rows()

    def described(self, rows: list[Any]) -> list[Any]:
        """The rows as they travel."""
        context = {
            **self.get_serializer_context(),
            "at": self.at,
            "today": self.today,
            **self.extras(rows),
        }
        found: list[Any] = self.get_serializer_class()(rows, many=True, context=context).data
        return found

    def page(self) -> Response:
        """One page of the list."""
        rows = self.filter_queryset(self.get_queryset())
        page = self.paginate_queryset(rows)
        return self.get_paginated_response(self.described(list(page or [])))

    def one(self, what: str, **named: Any) -> Response:
        """One row. Raises Unknown, in the same words for a stranger's."""
        text = [value for value in named.values() if isinstance(value, str)]
        found = (
            None if any("\0" in value for value in text) else self.rows().filter(**named).first()
        )
        if found is None:
            raise Unknown(what)
        return Response(self.described([found])[0])
