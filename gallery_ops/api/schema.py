"""What does the description of the endpoints say that is not in their code?

How one signs in, what a problem document looks like at which status, and the two shapes that the
tablet shares with the gallery: they stand once, as JSON Schema, and are taken in as they are.
"""

from __future__ import annotations

import json
from importlib import resources
from typing import Any, Literal

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from drf_spectacular.openapi import AutoSchema
from rest_framework import serializers
from rest_framework.generics import GenericAPIView

from gallery_ops.api.problems import MEDIA_TYPE, TITLES

PACK = {"$ref": "#/components/schemas/RoundPack"}
OUTBOX_REQUEST = {"application/json": {"$ref": "#/components/schemas/Outbox.request"}}
OUTBOX_ANSWER = {"$ref": "#/components/schemas/Outbox.answer"}


class ProblemSerializer(serializers.Serializer[Any]):
    """A problem document (RFC 9457)."""

    type = serializers.ChoiceField(choices=[f"/problems/{name}" for name in TITLES])
    title = serializers.CharField()
    status = serializers.IntegerField()
    detail = serializers.CharField()
    fields = serializers.DictField(  # type: ignore[assignment]
        child=serializers.CharField(), help_text="A sentence for each field that is not right."
    )
    code = serializers.CharField(required=False, help_text="Which rule said no.")


class GallerySchema(AutoSchema):
    """Every operation says which problems it answers with."""

    def _get_response_bodies(self, direction: Literal["request", "response"] = "response") -> Any:
        """The good answers, and a problem document at each status that can come."""
        bodies = super()._get_response_bodies(direction)
        for code in self._codes():
            bodies[str(code)] = self._get_response_for_code(
                ProblemSerializer, str(code), [MEDIA_TYPE], direction
            )
        return bodies

    def get_operation_id(self) -> str:
        """The name of the address: ``tanks``, ``tank``, ``acknowledge``; ``orders_post`` where the
        same address is also read.
        """
        name = str(self.view.__class__.__name__.removesuffix("View")).lower()
        is_second = self.method == "POST" and hasattr(self.view, "get")
        return f"{name}_post" if is_second else name

    def _is_list_view(self, serializer: Any = None) -> bool:
        """An address without a name in it is a list."""
        is_rows = isinstance(self.view, GenericAPIView)
        return bool(is_rows and self.method == "GET" and "{" not in self.path)

    def _codes(self) -> list[int]:
        codes = [401, 403, 406]
        if self._is_list_view() or self.method == "POST":
            codes.append(400)
        if "{" in self.path:
            codes.append(404)
        if self.path.endswith("/outbox"):
            codes += [413, 415]
        if "/tablet/" in self.path:
            codes += [404, 409, 413, 415]
        if "/photos/" in self.path:
            codes += [400, 409, 413, 415, 416, 507]
        if self.method == "POST" and "/orders" in self.path:
            codes += [404, 409, 413, 415]
        return sorted(set(codes))


class TokenScheme(OpenApiAuthenticationExtension):
    """A program's token."""

    target_class = "gallery_ops.api.auth.TokenAuthentication"
    name = "token"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        return {"type": "http", "scheme": "bearer"}


class BrowserScheme(OpenApiAuthenticationExtension):
    """The session of a signed-in person."""

    target_class = "gallery_ops.api.auth.BrowserAuthentication"
    name = "session"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        return {"type": "apiKey", "in": "cookie", "name": "sessionid"}


class TabletScheme(OpenApiAuthenticationExtension):
    """An enrolled tablet."""

    target_class = "gallery_ops.api.auth.TabletAuthentication"
    name = "device"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        return {"type": "apiKey", "in": "cookie", "name": "gallery_device"}


def add_tablet_shapes(result: dict[str, Any], **_asked: Any) -> dict[str, Any]:
    """A postprocessing hook: the shapes of pack and outbox among the components."""
    schemas = result.setdefault("components", {}).setdefault("schemas", {})
    schemas |= _components("gallery_ops.api", "round_pack.schema.json", "RoundPack")
    schemas |= _components("maintenance.actions", "outbox.schema.json", "Outbox")
    return result


def _components(package: str, name: str, prefix: str) -> dict[str, Any]:
    """A JSON Schema file as components; its own parts become ``<prefix>.<part>``."""
    whole = json.loads(resources.files(package).joinpath(name).read_text("utf-8"))
    parts = _moved(whole.pop("$defs"), prefix)
    for key in ("$schema", "$id"):
        whole.pop(key)
    found = {f"{prefix}.{part}": shape for part, shape in parts.items()}
    if "$ref" not in whole:
        found[prefix] = _moved(whole, prefix)
    return found


def _moved(value: Any, prefix: str) -> Any:
    if isinstance(value, list):
        return [_moved(one, prefix) for one in value]
    if not isinstance(value, dict):
        return value
    moved = {key: _moved(one, prefix) for key, one in value.items()}
    ref = moved.get("$ref")
    if isinstance(ref, str):
        moved["$ref"] = ref.replace("#/$defs/", f"#/components/schemas/{prefix}.")
    return moved
