"""How much does a dose raise the water, and how much does a rise take?

Whether a stock solution stays dissolved is not looked at here: what lies at the bottom of a bottle
is not in its presses.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from gallery_ops.kernel.values.limits import Limit, OutOfRange
from tanks.science.numbers import above_zero, not_negative, within

PERCENT = Limit(0, 100, "%")
PART = Limit(0, 1, "g/g")
NEAR = 1e-9
"""What sums of floats may be beside a whole press [presses]."""


@dataclass(frozen=True, slots=True)
class Stock:
    """A solution of a salt: grams, what they fill [mL], and the part that counts [g/g]."""

    salt_g: float
    stock_ml: float
    part: float

    def __post_init__(self) -> None:
        above_zero("Salt", "g", self.salt_g, "Weigh it.")
        above_zero("Stock solution", "mL", self.stock_ml, "What the bottle holds when filled up.")
        within("Part that counts", PART, self.part)

    @property
    def mg_per_ml(self) -> float:
        """Of what counts [mg/mL].

        >>> round(Stock(50, 500, 0.61327).mg_per_ml, 1)
        61.3
        """
        return self.salt_g * 1_000 * self.part / self.stock_ml


def rise_mg_per_l(salt_g: float, part: float, volume_l: float) -> float:
    """By how much a dry salt raises the water [mg/L].

    part : grams of what counts in a gram of salt, see salts.mass_part
    volume_l : net water

    Source: mass balance.

    >>> round(rise_mg_per_l(1, 0.61328, 100), 2)
    6.13
    """
    not_negative("Salt", "g", salt_g, "Weigh it.")
    within("Part that counts", PART, part)
    above_zero("Water", "L", volume_l, "The net volume of the tank.")
    return salt_g * 1_000 * part / volume_l


def grams_for_rise(mg_per_l: float, part: float, volume_l: float) -> float:
    """Salt for a rise [g]; parameters as rise_mg_per_l, the part more than 0."""
    not_negative("Rise", "mg/L", mg_per_l)
    above_zero("Part that counts", "g/g", part)
    within("Part that counts", PART, part)
    above_zero("Water", "L", volume_l, "The net volume of the tank.")
    return mg_per_l * volume_l / part / 1_000


def labelled_rise_mg_per_l(product_g: float, label_percent: float, volume_l: float) -> float:
    """By how much a product raises the water whose label says its percent, as chelated iron [mg/L].

    Source: mass balance; the percent by mass stands on the label and nowhere else.
    """
    within("Percent on the label", PERCENT, label_percent)
    return rise_mg_per_l(product_g, label_percent / 100, volume_l)


def dose_rise_mg_per_l(stock: Stock, ml: float, volume_l: float) -> float:
    """By how much so much of a stock solution raises the water [mg/L].

    >>> round(dose_rise_mg_per_l(Stock(50, 500, 0.61327), 10, 100), 3)
    6.133
    """
    not_negative("Dose", "mL", ml)
    above_zero("Water", "L", volume_l, "The net volume of the tank.")
    return stock.mg_per_ml * ml / volume_l


def ml_for_rise(stock: Stock, mg_per_l: float, volume_l: float) -> float:
    """How much of a stock solution a rise takes [mL]."""
    not_negative("Rise", "mg/L", mg_per_l)
    above_zero("Water", "L", volume_l, "The net volume of the tank.")
    if not stock.part:
        raise OutOfRange("Part that counts", "more than 0 g/g", "0")
    return mg_per_l * volume_l / stock.mg_per_ml


def presses_for_rise(stock: Stock, mg_per_l: float, volume_l: float, ml_per_press: float) -> int:
    """Whole presses for a rise, the first number that reaches it.

    ml_per_press : as measured by weighing twenty of them

    >>> presses_for_rise(Stock(50, 500, 0.61327), 10.426, 100, 1.0)
    18
    """
    above_zero("One press", "mL", ml_per_press, "Weigh twenty presses.")
    return ceil(ml_for_rise(stock, mg_per_l, volume_l) / ml_per_press - NEAR)
