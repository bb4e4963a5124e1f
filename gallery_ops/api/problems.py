"""How does an endpoint say no? As a problem document (RFC 9457), whatever went wrong.

``type`` is stable and for programs, ``title`` names the kind, ``detail`` says what happened here
and what would help, ``fields`` has a sentence for each field. A thing of another showroom is
``/problems/unknown``, in the same words as one that does not exist.
"""

from __future__ import annotations

import logging
from collections.abc import Mapping
from typing import Any

from django.core.exceptions import (
    BadRequest,
    PermissionDenied,
    RequestDataTooBig,
    SuspiciousOperation,
)
from django.db import OperationalError, transaction
from django.http import Http404
from rest_framework import exceptions
from rest_framework.response import Response

from gallery_ops.kernel.errors import Forbidden, GalleryError, Held, Refused, Unknown
from gallery_ops.kernel.values.codes import new_code
from gallery_ops.kernel.values.limits import OutOfRange

log = logging.getLogger(__name__)

MEDIA_TYPE = "application/problem+json"

TITLES: Mapping[str, tuple[int, str]] = {
    "unreadable": (400, "This could not be read"),
    "invalid": (400, "Some fields are not as they should be"),
    "sign_in_first": (401, "Nobody is signed in"),
    "not_allowed": (403, "Not with these rights"),
    "from_elsewhere": (403, "This did not come from the gallery's own pages"),
    "device_unknown": (403, "This tablet is not enrolled here"),
    "unknown": (404, "Nothing of that name here"),
    "no_such_method": (405, "This address does not do that"),
    "not_acceptable": (406, "This address answers in JSON"),
    "refused": (409, "A rule says no"),
    "wrong_range": (416, "This piece does not go on where the last one ended"),
    "too_large": (413, "Larger than may be sent at once"),
    "unknown_media_type": (415, "Send JSON"),
    "too_often": (429, "Asked too often"),
    "fault": (500, "The program made a mistake"),
    "no_room": (507, "No room for it just now"),
    "busy": (503, "Busy: ask again in a moment"),
}
"""Name -> status and title; ``type`` is ``/problems/<name>``."""


PASSING = ("locked", "busy", "deadlock", "serialize", "connect", "starting up", "timeout")
"""Words of SQLite and PostgreSQL for trouble that passes by itself."""
NOBODY = "Sign in, or send a token as Authorization: Bearer."


TOO_LARGE = "Send at most 1 MB at once: fewer actions, the oldest first."


class TooLarge(exceptions.APIException):
    """The body is larger than this address takes."""

    status_code = 413
    default_code = "too_large"


class FromElsewhere(exceptions.PermissionDenied):
    """A browser sent it, but not one of our own pages."""

    default_code = "from_elsewhere"


class DeviceUnknown(exceptions.PermissionDenied):
    """The tablet of the request is not the one that sent it."""

    default_code = "device_unknown"


def problem(
    name: str, detail: str, *, fields: Mapping[str, str] | None = None, code: str = ""
) -> Response:
    """A problem document as an answer."""
    status, title = TITLES[name]
    body: dict[str, Any] = {
        "type": f"/problems/{name}",
        "title": title,
        "status": status,
        "detail": detail,
        "fields": dict(fields or {}),
    }
    if code:
        body["code"] = code
    response = Response(body, status=status, content_type=MEDIA_TYPE)
    if status == 503:
        response["Retry-After"] = "2"
    return response


def answer_trouble(error: Exception, context: Mapping[str, Any]) -> Response:
    """For ``EXCEPTION_HANDLER``: no exception leaves an endpoint as anything but a problem."""
    _roll_back()
    response = _ours(error) or _of_the_framework(error)
    if response is None:
        if _is_busy(error):
            log.warning("api.busy", exc_info=error)
            return problem("busy", "The database is busy. Nothing was written. Send it again.")
        number = new_code()
        path = getattr(context.get("request"), "path", "")
        log.error("api.broke", extra={"number": number, "path": path}, exc_info=error)
        response = problem(
            "fault",
            "It is not your fault. What was kept before stays; look whether this arrived, then "
            f"try again. If it comes again, tell whoever runs this program the number {number}.",
        )
    for name in ("WWW-Authenticate", "Retry-After"):
        value = _header(error, name)
        if value:
            response[name] = value
    return response


def _is_busy(error: Exception) -> bool:
    """Will the same request work in a moment? A missing table, say, is no such case."""
    said = str(error).lower()
    return isinstance(error, OperationalError) and any(word in said for word in PASSING)


def _ours(error: Exception) -> Response | None:
    if isinstance(error, Unknown):
        return _unknown(error.remedy)
    if isinstance(error, Http404):
        return _unknown("")
    if isinstance(error, Forbidden):
        return problem("not_allowed", _said(error), fields=error.fields, code=error.code)
    if isinstance(error, Refused | Held):
        name = {"unreadable": "unreadable", "bad_instant": "unreadable"}.get(error.code)
        name = name or ("invalid" if error.fields else "refused")
        return problem(name, _said(error), fields=error.fields, code=error.code)
    if isinstance(error, OutOfRange):
        return problem("invalid", str(error), fields={error.field: error.sentence})
    return None


def _of_the_framework(error: Exception) -> Response | None:
    if isinstance(error, exceptions.ValidationError):
        fields = _flat(error.detail)
        return problem("invalid", " ".join(fields.values()), fields=fields)
    if isinstance(error, exceptions.NotAuthenticated):
        return problem("sign_in_first", NOBODY)
    if isinstance(error, exceptions.APIException):
        return problem(_name(error), str(error.detail))
    if isinstance(error, RequestDataTooBig):
        return problem("too_large", TOO_LARGE)
    if isinstance(error, PermissionDenied):
        return problem("not_allowed", str(error) or TITLES["not_allowed"][1])
    if isinstance(error, SuspiciousOperation | BadRequest | RecursionError):
        return problem("unreadable", "The request is damaged, or nested too deeply.")
    return None


NAMES: tuple[tuple[type[Exception], str], ...] = (
    (FromElsewhere, "from_elsewhere"),
    (DeviceUnknown, "device_unknown"),
    (exceptions.ParseError, "unreadable"),
    (exceptions.NotAuthenticated, "sign_in_first"),
    (exceptions.AuthenticationFailed, "sign_in_first"),
    (exceptions.PermissionDenied, "not_allowed"),
    (exceptions.NotFound, "unknown"),
    (exceptions.MethodNotAllowed, "no_such_method"),
    (exceptions.NotAcceptable, "not_acceptable"),
    (exceptions.UnsupportedMediaType, "unknown_media_type"),
    (exceptions.Throttled, "too_often"),
    (TooLarge, "too_large"),
)


def _name(error: exceptions.APIException) -> str:
    return next((name for kind, name in NAMES if isinstance(error, kind)), "fault")


def _unknown(remedy: str) -> Response:
    said = "There is no such thing in this gallery, or not any more."
    return problem("unknown", f"{said} {remedy}".strip())


def _said(error: GalleryError) -> str:
    return f"{error.sentence} {error.remedy}".strip()


def _header(error: Exception, name: str) -> str:
    if name == "WWW-Authenticate":
        return str(getattr(error, "auth_header", "") or "")
    wait = getattr(error, "wait", None)
    return str(int(wait) + 1) if wait else ""


def _flat(detail: Any, path: str = "") -> dict[str, str]:
    """Field -> sentence, nested fields joined by points."""
    if isinstance(detail, Mapping):
        found: dict[str, str] = {}
        for key, value in detail.items():
            found |= _flat(value, f"{path}.{key}" if path else str(key))
        return found
    if isinstance(detail, list):
        return {path or "request": " ".join(str(one) for one in detail)}
    return {path or "request": str(detail)}


def _roll_back() -> None:
    connection = transaction.get_connection()
    if connection.in_atomic_block and connection.settings_dict.get("ATOMIC_REQUESTS"):
        transaction.set_rollback(True)
