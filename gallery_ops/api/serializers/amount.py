"""How does an amount travel? As a whole number of base units, with its unit and as people read it.

``{"amount": 3000, "unit": "uL", "text": "3 mL"}``: programs reckon with the first two (the unit is
a UCUM code, pieces are ``1``), people read the third.
"""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from gallery_ops.api.auth import Asker, asker_of
from gallery_ops.kernel.values.quantity import Dimension, quantity

BASE_UNIT = {Dimension.VOLUME: "uL", Dimension.MASS: "mg", Dimension.PIECE: "1"}


class AmountSerializer(serializers.Serializer[Any]):
    """Whole base units, UCUM code of the base unit, and the exact amount in words."""

    amount = serializers.IntegerField()
    unit = serializers.ChoiceField(choices=list(BASE_UNIT.values()))
    text = serializers.CharField()


class Described(serializers.Serializer[Any]):
    """A serializer that only describes: it knows who asks and writes nothing."""

    @property
    def asker(self) -> Asker:
        """Whoever asks."""
        return asker_of(self.context["request"])

    def amount(self, dimension: str, base: int | None) -> dict[str, Any] | None:
        """An amount as it travels, None for one that nobody knows."""
        if base is None:
            return None
        whole = quantity(Dimension(dimension), base)
        return {
            "amount": base,
            "unit": BASE_UNIT[Dimension(dimension)],
            "text": whole.text(mark=self.asker.showroom.decimal_mark),
        }
