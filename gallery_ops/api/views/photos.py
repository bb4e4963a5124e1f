"""The bytes of a photo, piece by piece; what it shows is said by its action in the outbox."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import IO, Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.exceptions import ParseError
from rest_framework.parsers import BaseParser
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from gallery_ops.api.auth import (
    BrowserAuthentication,
    MaySend,
    TabletAuthentication,
    TokenAuthentication,
    asker_of,
)
from gallery_ops.api.problems import DeviceUnknown, TooLarge, problem
from gallery_ops.kernel import clock
from gallery_ops.kernel.errors import Refused, Unknown
from tanks.services.photo_parts import Progress, receive_part

MOST_PIECE_BYTES = 1024 * 1024
RANGE = re.compile(r"bytes (?:(\d{1,12})-(\d{1,12})|\*)/(\d{1,12})")
SHA256 = re.compile(r"[0-9a-f]{64}")
STATUS = {"gap": "wrong_range", "wrong_range": "wrong_range", "no_room": "no_room"}
TOO_LARGE = "Send a photo in pieces of at most 1 MB, each with its Content-Range."


class BoundedBytes(BaseParser):
    """At most 1 MiB of anything, as it stands; what it is shows when it is whole."""

    media_type = "application/octet-stream"

    def parse(
        self,
        stream: IO[Any],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> Any:
        """The piece. Raises TooLarge."""
        piece: bytes = stream.read(MOST_PIECE_BYTES + 1)
        if len(piece) > MOST_PIECE_BYTES:
            raise TooLarge(TOO_LARGE)
        return piece


class PhotoProgressSerializer(serializers.Serializer[Any]):
    """How much of it is here; the next piece begins at ``received_bytes``."""

    received_bytes = serializers.IntegerField()
    size_bytes = serializers.IntegerField()
    is_whole = serializers.BooleanField()


class PhotoBytesView(APIView):
    """A piece of a picture, named by the hash of the whole."""

    authentication_classes = [TokenAuthentication, BrowserAuthentication, TabletAuthentication]
    permission_classes = [MaySend]
    parser_classes = [BoundedBytes]

    @extend_schema(
        request={"application/octet-stream": OpenApiTypes.BINARY},
        parameters=[
            OpenApiParameter(
                "Content-Range",
                str,
                OpenApiParameter.HEADER,
                required=True,
                description="bytes FIRST-LAST/SIZE with a piece of at most 1 MiB; bytes */SIZE "
                "without a body asks how much is here.",
            )
        ],
        responses={200: PhotoProgressSerializer},
    )
    def put(self, request: Request, sha256: str) -> Response:
        """200 says what is here; 416 where a piece leaves a gap, 409 where the hash is another."""
        if not SHA256.fullmatch(sha256):
            raise Unknown("photo")
        asker = asker_of(request)
        if asker.device is not None and asker.device.revoked_at is not None:
            raise DeviceUnknown(
                "This tablet was taken out of service. The photo stays on it; a manager may enrol "
                "it again."
            )
        start, last, size = _range(request)
        piece = request.data if isinstance(request.data, bytes) else b""
        if start is not None and len(piece) != last - start + 1:
            raise ParseError(
                f"Content-Range speaks of {last - start + 1} bytes and {len(piece)} came."
            )
        try:
            told = receive_part(
                showroom=asker.showroom,
                sha256=sha256,
                start=start,
                size_bytes=size,
                data=piece,
                at=clock.now(),
            )
        except Refused as no:
            return _refused(no)
        return Response(_progress(told))


def _range(request: Request) -> tuple[int | None, int, int]:
    """First, last, size; first None where only asked. Raises ParseError, TooLarge."""
    found = RANGE.fullmatch(request.headers.get("Content-Range", "").strip())
    if found is None:
        raise ParseError("Content-Range: write bytes FIRST-LAST/SIZE, or bytes */SIZE to ask.")
    if _length(request) > MOST_PIECE_BYTES:
        raise TooLarge(TOO_LARGE)
    first, last, size = found.groups()
    if first is None:
        return None, 0, int(size)
    return int(first), int(last), int(size)


def _length(request: Request) -> int:
    try:
        return int(request.META.get("CONTENT_LENGTH") or 0)
    except ValueError:
        return 0


def _refused(no: Refused) -> Response:
    said = f"{no.sentence} {no.remedy}".strip()
    if no.code == "too_large":
        return problem("too_large", said, fields=no.fields, code=no.code)
    name = STATUS.get(no.code, "refused")
    answer = problem(name, said, fields=no.fields, code=no.code)
    if name == "no_room":
        answer["Retry-After"] = "900"
    return answer


def _progress(told: Progress) -> dict[str, Any]:
    return {
        "received_bytes": told.received_bytes,
        "size_bytes": told.size_bytes,
        "is_whole": told.is_whole,
    }
