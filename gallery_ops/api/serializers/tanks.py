"""A tank and a layout as programs read them."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from gallery_ops.api.serializers.amount import AmountSerializer, Described
from gallery_ops.kernel.values.quantity import Volume
from tanks.models import Layout, Tank
from tanks.queries.old_codes import JOINED, RENAMED
from tanks.science.geometry import volumes

KINDS_OF_GLASS: Any = Tank._meta.get_field("kind_of_glass").choices
STAGES = [*Layout._meta.get_field("stage").choices, ("vacant", "vacant")]  # type: ignore[misc]


class SizeSerializer(serializers.Serializer[Any]):
    """Outer size of the glass and its thickness [mm], and what kind it is."""

    length_mm = serializers.IntegerField()
    width_mm = serializers.IntegerField()
    height_mm = serializers.IntegerField()
    glass_mm = serializers.IntegerField()
    kind_of_glass = serializers.ChoiceField(choices=KINDS_OF_GLASS)


class OldCodeSerializer(serializers.Serializer[Any]):
    """A code of before: ``renamed`` its own, ``joined`` that of a tank that went into it."""

    code = serializers.CharField()
    until = serializers.DateTimeField()
    relation = serializers.ChoiceField(choices=[RENAMED, JOINED])


class LedOnSerializer(serializers.Serializer[Any]):
    """Where a code of before leads: to the tank that has, or took in, what was called so."""

    code = serializers.CharField()
    until = serializers.DateTimeField()
    relation = serializers.ChoiceField(choices=[RENAMED, JOINED])
    now = serializers.CharField(source="to.code")


class TankSerializer(Described):
    """The glass, where it stands and what stands in it."""

    code = serializers.CharField()
    codes_before = serializers.SerializerMethodField()
    purpose = serializers.CharField()
    room = serializers.CharField(allow_null=True)
    zone = serializers.CharField(allow_null=True)
    place = serializers.CharField(allow_null=True)
    title = serializers.CharField(allow_null=True)
    stage = serializers.SerializerMethodField()
    style = serializers.CharField(allow_null=True)  # type: ignore[assignment]
    has_co2 = serializers.BooleanField(allow_null=True)
    designer = serializers.CharField(allow_null=True)
    day = serializers.SerializerMethodField()
    size = SizeSerializer(source="*")
    outer_volume = serializers.SerializerMethodField()
    working_volume = serializers.SerializerMethodField()

    @extend_schema_field(OldCodeSerializer(many=True))
    def get_codes_before(self, row: Any) -> Any:
        """What it was called before, and what went into it was called; the last one first."""
        return OldCodeSerializer(self.context["codes_before"].get(row.pk, []), many=True).data

    @extend_schema_field(serializers.ChoiceField(choices=STAGES))
    def get_stage(self, row: Any) -> str:
        """The stage of its layout, ``vacant`` without one."""
        return row.stage or "vacant"

    def get_day(self, row: Any) -> int | None:
        """Day of the layout, counted from flooding as day 0."""
        return (self.context["today"] - row.flooded_on).days if row.flooded_on else None

    @extend_schema_field(AmountSerializer)
    def get_outer_volume(self, row: Any) -> dict[str, Any] | None:
        """Of the glass from outside."""
        return self.amount("volume", _ul(_volumes(row).outer_l))

    @extend_schema_field(AmountSerializer)
    def get_working_volume(self, row: Any) -> dict[str, Any] | None:
        """Of the water at its working level."""
        return self.amount("volume", _ul(_volumes(row).working_l))


class PlantGroupSerializer(serializers.Serializer[Any]):
    """One group of plants."""

    number = serializers.IntegerField()
    place = serializers.CharField()
    species = serializers.SerializerMethodField()
    height_mm = serializers.IntegerField(allow_null=True)

    def get_species(self, row: Any) -> list[str]:
        """Scientific names."""
        return sorted(one.scientific_name for one in row.species.all())


class HardscapeSerializer(serializers.Serializer[Any]):
    """One stone or piece of wood."""

    kind = serializers.ChoiceField(choices=["stone", "wood"])
    name = serializers.CharField(allow_blank=True)
    length_mm = serializers.IntegerField()
    height_mm = serializers.IntegerField()


class LayoutSerializer(Described):
    """One planted work, from its first stone until it is taken out."""

    tank = serializers.CharField(source="code", allow_null=True)
    title = serializers.CharField()
    designer = serializers.SerializerMethodField()
    stage = serializers.CharField()
    style = serializers.CharField()  # type: ignore[assignment]
    has_co2 = serializers.BooleanField()
    flooded_on = serializers.DateField(allow_null=True)
    from_at = serializers.DateTimeField()
    to_at = serializers.DateTimeField(allow_null=True)
    version = serializers.SerializerMethodField()
    plant_groups = serializers.SerializerMethodField()
    hardscape = serializers.SerializerMethodField()

    def get_designer(self, row: Any) -> str | None:
        """Who is credited."""
        return row.designer.name if row.designer else None

    def get_version(self, row: Any) -> str | None:
        """Its newest version, as ``1.2``."""
        newest = max(row.versions.all(), key=lambda one: (one.major, one.minor), default=None)
        return f"{newest.major}.{newest.minor}" if newest else None

    @extend_schema_field(PlantGroupSerializer(many=True))
    def get_plant_groups(self, row: Any) -> Any:
        """The groups that stand in it, by number."""
        rows = [one for one in row.plant_groups.all() if one.to_at is None or row.to_at]
        return PlantGroupSerializer(sorted(rows, key=lambda one: one.number), many=True).data

    @extend_schema_field(HardscapeSerializer(many=True))
    def get_hardscape(self, row: Any) -> Any:
        """Stones and wood that stand in it."""
        rows = [one for one in row.hardscape.all() if one.to_at is None or row.to_at]
        return HardscapeSerializer(sorted(rows, key=lambda one: one.pk), many=True).data


def _volumes(row: Any) -> Any:
    return volumes(row.length_mm, row.width_mm, row.height_mm, row.glass_mm, row.base_mm)


def _ul(volume_l: float) -> int:
    return Volume(round(volume_l * 1_000_000)).base
