"""How much CO2 is dissolved, by pH and carbonate hardness?

Only while carbonate holds the pH. Acids of wood and soil, phosphate and borate bind acid too: then
every one of these sums reads too high, and nobody can say by how much. So an answer is a range.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from gallery_ops.kernel.values.limits import Limit, OutOfRange
from tanks.science.hardness import Alkalinity
from tanks.science.numbers import KELVIN, N, log10, ten_to, within
from tanks.science.salts import molar_mass_g

PH = Limit(5, Decimal("8.5"))
DEGC = Limit(5, 35, "°C")
DKH = Limit(Decimal("0.5"), 25, "dKH")
IONIC = Limit(0, Decimal("0.1"), "mol/L")
"""Where these sums hold (a choice of this house: fresh water of tanks)."""

NO_CARBONATE = (
    "It does not mean no gas: without carbonate the pH is held by other acids. Read the drop "
    "checker, or measure again with a fresh kit."
)
AIR_PPM = 420.0
CO2_G_PER_MOL = molar_mass_g("CO2")
REFERENCE_DKH = 4.0
"""Fluid of a drop checker (common practice, no source)."""
YELLOW_BELOW_PH, BLUE_FROM_PH = 6.45, 6.75
"""Where its bromothymol blue turns, halfway between tenths (common practice, no source)."""
SHOW_AIM_MG_PER_L = (20.0, 30.0)
"""CO2 that planted shows aim at [mg/L] (common practice, no source)."""
FISH_AIM_MG_PER_L = 20.0
"""A common upper aim for fish [mg/L] (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Co2Range:
    """Dissolved CO2 [mg/L]: likely, and what errors of measuring alone make of it."""

    low: float
    likely: float
    high: float


def pk1(degc: N) -> N:
    """First constant of carbonic acid, 5 to 35 °C, as -log10.

    Source of all four: Plummer & Busenberg, Geochim. Cosmochim. Acta 46:1011 (1982), seen through
    public codes that agree.

    >>> round(pk1(25.0), 3)
    6.352
    """
    return _pk(degc, -356.3094, -0.06091964, 21_834.37, 126.8339, -1_684_915.0)


def pk2(degc: N) -> N:
    """Second constant of carbonic acid, as -log10."""
    return _pk(degc, -107.8871, -0.03252849, 5_151.79, 38.92561, -563_713.9)


def pkh(degc: N) -> N:
    """Solubility of CO2 in mol/kg/atm, as -log10."""
    return _pk(degc, 108.3865, 0.01985076, -6_919.53, -40.45154, 669_365.0)


def pkw(degc: N) -> N:
    """Ion product of water, as -log10."""
    return _pk(degc, -283.9710, -0.05069842, 13_323.00, 102.24447, -1_119_669.0)


def co2_mg_per_l(alkalinity: Alkalinity, ph: N, degc: N, ionic_mol_per_l: float = 0.0) -> N:
    """Dissolved CO2 when carbonate alone binds acid [mg/L].

    Parameters
    ----------
    alkalinity : 0.5 to 25 dKH
    ph : 5.0 to 8.5
    degc : 5 to 35 [°C]
    ionic_mol_per_l : 0 to 0.1; 0 takes the water as ideal, which reads 1.5 to 8 % high

    Raises OutOfRange; with no carbonate there is no answer, and 0 would be a wrong one.

    Source: equilibrium with the constants above; Davies' activity of bicarbonate.

    >>> round(co2_mg_per_l(Alkalinity.of_dkh(4), 6.6, 24.0))
    36
    """
    within("Carbonate hardness", DKH, alkalinity.dkh, NO_CARBONATE if alkalinity.dkh < 1 else "")
    within("pH", PH, ph, "Set the meter, and measure again.")
    within("Temperature", DEGC, degc)
    within("Ionic strength", IONIC, ionic_mol_per_l)
    acid = ten_to(-ph)
    one = _davies(ionic_mol_per_l, degc)
    water_ions = (ten_to(-pkw(degc)) / acid - acid) / one
    bound = alkalinity.meq_per_l / 1_000 - water_ions
    # two charges count four times in the exponent, so carbonate has the activity one ** 4
    bicarbonate = bound / (1 + 2 * ten_to(-pk2(degc)) / (acid * one * one * one))
    return bicarbonate * one * acid / ten_to(-pk1(degc)) * CO2_G_PER_MOL * 1_000


def co2_range(
    alkalinity: Alkalinity,
    ph: float,
    degc: float,
    ph_error: float = 0.1,
    dkh_error: float = 0.5,
) -> Co2Range:
    """Likely value with what both errors of measuring make of it, worst against worst [mg/L].

    ph_error, dkh_error : half a range each (common practice, no source)

    >>> round(co2_range(Alkalinity.of_dkh(4), 6.6, 24.0).high)
    51
    """
    likely = co2_mg_per_l(alkalinity, ph, degc)
    per_dkh = likely / alkalinity.dkh
    spread = float(10**ph_error)
    return Co2Range(
        low=max(0.0, alkalinity.dkh - dkh_error) * per_dkh / spread,
        likely=likely,
        high=(alkalinity.dkh + dkh_error) * per_dkh * spread,
    )


def short_rule_mg_per_l(alkalinity: Alkalinity, ph: N) -> N:
    """3 x dKH x 10^(7 - pH), the short rule in use [mg/L].

    It knows no temperature and reads low: 0.77 of the equilibrium at 18 °C, 0.85 at 25 °C. For
    fish that is the wrong side.

    Source: common practice, no source.

    >>> round(short_rule_mg_per_l(Alkalinity.of_dkh(4), 6.6))
    30
    """
    return 3.0 * alkalinity.dkh * ten_to(7.0 - ph)


def air_equilibrium_mg_per_l(degc: N, air_ppm: float = AIR_PPM) -> N:
    """CO2 in water that stands open to the air for long [mg/L].

    >>> round(air_equilibrium_mg_per_l(25.0), 2)
    0.63
    """
    within("Temperature", DEGC, degc)
    within("CO2 of the air", Limit(200, 100_000, "ppm"), air_ppm)
    return air_ppm / 1e6 * ten_to(-pkh(degc)) * CO2_G_PER_MOL * 1_000


def checker_ph(co2_mg: float, degc: float = 25.0, dkh: float = REFERENCE_DKH) -> float:
    """pH of the fluid in a drop checker that has the CO2 of the water around it.

    It needs one to two hours for that (common practice, no source).

    Source: the equilibrium above, solved for pH where bicarbonate is all that binds acid.
    """
    within("CO2", Limit(Decimal("0.1"), 1_000, "mg/L"), co2_mg)
    within("Carbonate hardness", DKH, dkh)
    bound = Alkalinity.of_dkh(dkh).meq_per_l
    return float(pk1(degc) + log10(bound * CO2_G_PER_MOL / co2_mg))


def checker_colour(ph: float) -> str:
    """Colour of bromothymol blue in it: yellow up to 6.4, green to 6.8, then blue.

    Source: common practice, no source.

    >>> checker_colour(6.9), checker_colour(6.6), checker_colour(6.3)
    ('blue', 'green', 'yellow')
    """
    within("pH", Limit(3, 11), ph)
    return "yellow" if ph < YELLOW_BELOW_PH else "green" if ph < BLUE_FROM_PH else "blue"


def co2_by_degassing_mg_per_l(ph_tank: float, ph_stood: float, stood_mg: float) -> float:
    """CO2 by the drop from the pH of the same water that stood in air for a day [mg/L].

    stood_mg : what it held then; see air_equilibrium_mg_per_l. A cup that has not quite given off
        its gas holds two to five times that, and the answer grows with it.

    Source: the same alkalinity on both sides: CO2 goes as 10^-pH.

    >>> round(co2_by_degassing_mg_per_l(6.4, 7.4, 0.6), 1)
    6.0
    """
    within("pH", PH, ph_tank)
    within("pH after standing", PH, ph_stood)
    within("CO2 after standing", Limit(Decimal("0.1"), 10, "mg/L"), stood_mg)
    if ph_stood < ph_tank:
        raise OutOfRange(
            "pH after standing", f"{ph_tank:g} or more", f"{ph_stood:g}", "Let it stand for a day."
        )
    return stood_mg * float(10 ** (ph_stood - ph_tank))


def _pk(degc: N, a: float, b: float, c: float, d: float, e: float) -> N:
    kelvin = degc + KELVIN
    return -(a + b * kelvin + c / kelvin + d * log10(kelvin) + e / (kelvin * kelvin))


def _davies(ionic: float, degc: N) -> N:
    """Activity of an ion of one charge; 0.4883 + 0.00081 t is Debye and Hueckel's factor."""
    root = float(ionic**0.5)
    return ten_to(-(0.4883 + 8.074e-4 * degc) * (root / (1 + root) - 0.3 * ionic))
