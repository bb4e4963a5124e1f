"""Food by the weight of the animals. There is no rule here for how many animals a tank takes.

No published density for show tanks was found, and lengths per litre are criticised wherever they
stand: biomass is shown, people judge.
"""

from __future__ import annotations

from gallery_ops.kernel.values.limits import Limit
from tanks.science.numbers import above_zero, not_negative, within

PERCENT = Limit(0, 20, "% of body mass a day")
PART = Limit(0, 1, "g/g")
TAN_OF_PROTEIN = 0.092
"""Nitrogen as ammonia from protein fed: 0.16 N in protein, 57.5 % of it given off (from memory of
Timmons & Ebeling, Recirculating Aquaculture; not checked)."""


def food_g_per_day(biomass_g: float, percent: float) -> float:
    """Food a day [g].

    percent : of body mass, 0 to 20; small adults 0.5 to 2, young ones 2 to 5 (common practice, no
        source)

    >>> food_g_per_day(40, 1)
    0.4
    """
    not_negative("Biomass", "g", biomass_g, "Weigh a few, and count.")
    within("Food", PERCENT, percent)
    return biomass_g * percent / 100


def days_of_food(stock_g: float, g_per_day: float) -> float:
    """How long a tub lasts [d]; it may go off before."""
    not_negative("Food", "g", stock_g, "Weigh the tub.")
    above_zero("Food a day", "g", g_per_day)
    return stock_g / g_per_day


def tan_rise_mg_n_per_l(food_g: float, protein: float, net_l: float) -> float:
    """Ammonia from so much food before plants and bacteria take any [mg/L as N].

    protein : part of the food, 0 to 1

    >>> round(tan_rise_mg_n_per_l(0.4, 0.45, 180), 3)
    0.092
    """
    not_negative("Food", "g", food_g)
    within("Protein", PART, protein, "It stands on the tub.")
    above_zero("Water", "L", net_l, "The net volume of the tank.")
    return food_g * protein * TAN_OF_PROTEIN * 1_000 / net_l


def maintenance_percent(kj_per_day: float, food_kj_per_g: float, fish_g: float) -> float:
    """Food that only keeps a fish as it is, by energy [% of body mass a day].

    Source: energy a day / energy in food; a neon tetra of 0.17 g with 0.068 kJ/d (Sales & Janssens,
    Aquat. Living Resour. 16:533, 2003) on flakes of 19.66 kJ/g (Pannevis & Earle, J. Nutr. 124,
    1994) comes to 2 %; putting both papers together is this house's doing.

    >>> round(maintenance_percent(0.068, 19.66, 0.1705), 1)
    2.0
    """
    not_negative("Energy", "kJ/d", kj_per_day)
    above_zero("Energy of the food", "kJ/g", food_kj_per_g)
    above_zero("Fish", "g", fish_g)
    return kj_per_day / food_kj_per_g / fish_g * 100
