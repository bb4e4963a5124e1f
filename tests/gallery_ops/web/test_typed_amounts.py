"""An amount as people type it: its unit may stand behind it, another one is named."""

from __future__ import annotations

import pytest

from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.web.forms.measuring import typed_amount

pytestmark = pytest.mark.once


@pytest.mark.parametrize(
    ("text", "dimension", "base"),
    [
        ("10", "piece", 10),
        ("10 pcs", "piece", 10),
        ("10pieces", "piece", 10),
        ("2", "mass", 2_000),
        ("2 kg", "mass", 2_000_000),
        ("1,5 L", "volume", 1_500_000),
        ("250 ml", "volume", 250_000),
    ],
)
def test_a_unit_of_the_same_kind_is_taken(text: str, dimension: str, base: int) -> None:
    assert typed_amount(text, dimension, "Counted").base == base


@pytest.mark.parametrize(
    ("text", "dimension", "allowed"),
    [
        ("10 g", "piece", "pcs"),
        ("10 pcs", "volume", "mL"),
        ("10 mL", "mass", "kg"),
        ("10 boxes", "piece", "pcs"),
        ("-1 pcs", "piece", "0 to"),
        ("1.5 pcs", "piece", "whole"),
        ("9999999 kg", "mass", "0 to 1000000 g"),
    ],
)
def test_another_unit_is_refused_with_what_is_allowed(
    text: str, dimension: str, allowed: str
) -> None:
    with pytest.raises(OutOfRange, match="Counted") as no:
        typed_amount(text, dimension, "Counted")
    assert allowed in str(no.value)
