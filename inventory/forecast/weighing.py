"""What does the scale say is inside? Gross to net to volume, in whole base units.

net = gross - tare - regulator (if it is on); volume = net / density. A container may read a little
below empty (an old label, a drop of water on the scale) but not more than that, and never above
full. Limits: common practice, no source.
"""

from __future__ import annotations

from gallery_ops.kernel.values.limits import OutOfRange

BELOW_EMPTY_MG = 20_000
"""A cylinder may read up to 20 g below its empty mass."""
ABOVE_FULL_MG = 50_000
"""And up to 50 g above full."""


def net_mg(gross_mg: int, tare_mg: int, regulator_mg: int = 0) -> int:
    """Mass of the content [mg]; at least 0 when the scale reads a little below empty.

    gross_mg : as the scale shows, tare_mg : empty container, regulator_mg : 0 when it is off [mg]
    Raises OutOfRange below ``tare + regulator - 20 g``.

    >>> net_mg(431_000, 65_000), net_mg(1_560_000, 1_350_000)
    (366000, 210000)
    """
    for field, value in (("tare", tare_mg), ("regulator", regulator_mg)):
        if value < 0:
            raise OutOfRange(field, "0 g or more", grams(value))
    empty = tare_mg + regulator_mg
    if gross_mg < empty - BELOW_EMPTY_MG:
        raise OutOfRange(
            "gross",
            f"{grams(max(0, empty - BELOW_EMPTY_MG))} or more",
            grams(gross_mg),
            "The empty container weighs more. Right container? Regulator off? Weigh again.",
        )
    return max(0, gross_mg - empty)


def check_not_above_full(net: int, full_mg: int) -> None:
    """Refuse a content above a full container by more than 50 g. Masses in mg."""
    if net > full_mg + ABOVE_FULL_MG:
        raise OutOfRange(
            "gross",
            f"at most {grams(full_mg)} of content, give or take {grams(ABOVE_FULL_MG)}",
            f"{grams(net)} of content",
            "More than a full container. Regulator on? Other container? Weigh again.",
        )


def volume_ul(net: int, density_mg_per_ml: int) -> int:
    """Volume of a mass [uL], halves up.

    net : >= 0 [mg]; density_mg_per_ml : 300 to 3000 [mg/mL], 1.05 g/mL = 1050.

    >>> volume_ul(366_000, 1_050)
    348571
    """
    if net < 0:
        raise OutOfRange("net", "0 g or more", grams(net))
    if not 300 <= density_mg_per_ml <= 3_000:
        shown = f"{density_mg_per_ml / 1_000:g} g/mL"
        raise OutOfRange("density", "0.3 to 3 g/mL", shown, "Water is 1, most products 1 to 1.1.")
    return (2_000 * net + density_mg_per_ml) // (2 * density_mg_per_ml)


def mass_mg(volume: int, density_mg_per_ml: int) -> int:
    """Mass of a volume [mg], halves up; the way back of :func:`volume_ul`.

    >>> mass_mg(500_000, 1_050)
    525000
    """
    return (2 * volume * density_mg_per_ml + 1_000) // 2_000


def grams(mg: int) -> str:
    """Milligrams as text in grams, exact.

    >>> grams(1_560_000), grams(-20_500)
    ('1560 g', '-20.5 g')
    """
    sign, rest = ("-" if mg < 0 else ""), abs(mg)
    decimals = f"{rest % 1_000:03d}".rstrip("0")
    return f"{sign}{rest // 1_000}{'.' + decimals if decimals else ''} g"
