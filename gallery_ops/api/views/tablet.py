"""Who holds the tablet now, asked where the round goes on; and which PINs were tried without us."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.permissions import BasePermission
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from gallery_ops.api.auth import Asker, TabletAuthentication, asker_of
from gallery_ops.api.reading import BoundedJSON
from gallery_ops.kernel import clock
from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.services.pins import verify_pin
from gallery_ops.kernel.services.tablet_tries import MOST_TOLD, ToldTry, keep_told_tries
from gallery_ops.overview.sign_in import enter_on_tablet, tiles


class PinSerializer(serializers.Serializer[Any]):
    """A name and its six digits."""

    person_id = serializers.UUIDField()
    pin = serializers.CharField(max_length=12)


class EnteredSerializer(serializers.Serializer[Any]):
    """Who is signed in on this tablet now."""

    person_id = serializers.UUIDField()
    signed_in = serializers.CharField(help_text="Names this sign-in.")


class ToldTrySerializer(serializers.Serializer[Any]):
    """One PIN that was tried without the network."""

    person_id = serializers.UUIDField()
    at = serializers.DateTimeField(help_text="By the tablet's clock.")
    right = serializers.BooleanField()
    salt = serializers.CharField(max_length=64, allow_blank=True)


class ToldTriesSerializer(serializers.Serializer[Any]):
    """What a tablet tells."""

    tries = serializers.ListField(child=ToldTrySerializer(), max_length=MOST_TOLD)


class KeptSerializer(serializers.Serializer[Any]):
    """How many of them were new."""

    kept = serializers.IntegerField()


class IsTablet(BasePermission):
    """An enrolled tablet that is in service."""

    def has_permission(self, request: Request, view: APIView) -> bool:
        asker = request.auth
        device = asker.device if isinstance(asker, Asker) else None
        return device is not None and device.revoked_at is None


class TabletSignInView(APIView):
    """The next person on a shared tablet; what it has not sent stays on it."""

    authentication_classes = [TabletAuthentication]
    permission_classes = [IsTablet]
    parser_classes = [BoundedJSON]

    @extend_schema(request=PinSerializer, responses={200: EnteredSerializer})
    def post(self, request: Request) -> Response:
        """Sign in by PIN; 400 with ``pin_wrong`` or ``pin_locked`` says how many tries are left."""
        asked = PinSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        at, device = clock.now(), _device(request)
        person = asked.validated_data["person_id"]
        tile = next(
            (t for t in tiles(device.showroom, at) if t.membership.person.uid == person), None
        )
        if tile is None:
            raise Unknown("person")
        verify_pin(
            membership=tile.membership, device=device, pin=asked.validated_data["pin"], at=at
        )
        signed_in = enter_on_tablet(request._request, tile.membership, device, at)
        return Response({"person_id": str(person), "signed_in": signed_in})


class TabletTriesView(APIView):
    """PINs that were tried while there was no network."""

    authentication_classes = [TabletAuthentication]
    permission_classes = [IsTablet]
    parser_classes = [BoundedJSON]

    @extend_schema(request=ToldTriesSerializer, responses={200: KeptSerializer})
    def post(self, request: Request) -> Response:
        """Keep them once, however often they are told."""
        asked = ToldTriesSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        told = [
            ToldTry(one["person_id"], one["at"], one["right"], one["salt"])
            for one in asked.validated_data["tries"]
        ]
        return Response(
            {"kept": keep_told_tries(device=_device(request), tries=told, at=clock.now())}
        )


def _device(request: Request) -> Any:
    device = asker_of(request).device
    if device is None:
        raise TypeError("this endpoint is for tablets")
    return device
