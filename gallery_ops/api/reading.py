"""How much of a body is read? A bound before parsing, and no JSON that is no JSON."""

from __future__ import annotations

from collections.abc import Mapping
from typing import IO, Any

from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser

from gallery_ops.api.problems import TOO_LARGE, TooLarge

MOST_BYTES = 1024 * 1024
"""1 MiB: a hundred actions are a tenth of it."""


class BoundedJSON(JSONParser):
    """JSON of at most 1 MiB, looked at before it is read."""

    def parse(
        self,
        stream: IO[Any],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> Any:
        """The parsed body. Raises TooLarge, ParseError."""
        request = (parser_context or {}).get("request")
        length = request.META.get("CONTENT_LENGTH") if request is not None else None
        if _number(length) > MOST_BYTES:
            raise TooLarge(TOO_LARGE)
        try:
            return super().parse(stream, media_type, parser_context)
        except RecursionError:
            raise ParseError("The JSON is nested too deeply.") from None
        except ParseError as error:
            raise ParseError(f"The body is not JSON: {str(error)[:120]}") from None


def _number(text: object) -> int:
    try:
        return int(str(text or 0))
    except ValueError:
        return 0
