"""What the program says to each row of the tables about water: file, quantity, answer.

An answer is a number, or a text that says why nothing is answered.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from tanks.science import (
    ammonia,
    carbonate,
    conductivity,
    dosing,
    oxygen,
    remineral,
    salts,
    water_change,
)
from tanks.science.hardness import Alkalinity, GeneralHardness

Row = Mapping[str, str]
Answer = float | str
Answers = Mapping[str, Callable[[Row], Answer]]


def number(row: Row, name: str, default: float = 0.0) -> float:
    return float(row[name]) if row.get(name) else default


def _hardness(row: Row) -> float:
    value, made, wanted = number(row, "from_value"), row["from_unit"], row["to_unit"]
    if made in {"dKH", "meq/L"}:
        alkalinity = Alkalinity.of_dkh(value) if made == "dKH" else Alkalinity(value)
        return {
            "meq/L": alkalinity.meq_per_l,
            "mg/L CaCO3": alkalinity.mg_caco3_per_l,
            "mg/L HCO3": alkalinity.mg_hco3_per_l,
            "dKH": alkalinity.dkh,
        }[wanted]
    hardness = {
        "dGH": GeneralHardness.of_dgh,
        "fH (10 mg/L CaCO3)": GeneralHardness.of_french_degrees,
        "mg/L CaCO3": GeneralHardness.of_mg_caco3_per_l,
        "mg/L Ca (all as Ca)": GeneralHardness.of_mg_per_l,
    }[made](value)
    return {
        "mmol/L Ca+Mg": hardness.mmol_per_l,
        "mg/L CaCO3": hardness.mg_caco3_per_l,
        "mg/L Ca (all as Ca)": hardness.mg_ca_per_l,
        "mg/L Mg (all as Mg)": hardness.mg_mg_per_l,
        "dGH": hardness.dgh,
    }[wanted]


def _f25(row: Row) -> float:
    return conductivity.natural_water_factor(number(row, "temp_C"))


def _co2(row: Row) -> float:
    alkalinity = Alkalinity.of_dkh(number(row, "dKH"))
    ph, degc = number(row, "pH"), number(row, "temp_C")
    if row["model"] == "simple_rule":
        return carbonate.short_rule_mg_per_l(alkalinity, ph)
    # sodium bicarbonate alone: as many ions of one charge as there is alkalinity
    usual = alkalinity.meq_per_l / 1_000 if row["model"] == "phreeqc" else 0.0
    ionic = number(row, "ionic_strength", usual)
    return carbonate.co2_mg_per_l(alkalinity, ph, degc, ionic)


def _short_over_ideal(row: Row) -> float:
    alkalinity = Alkalinity.of_dkh(number(row, "dKH"))
    ph = number(row, "pH")
    ideal = carbonate.co2_mg_per_l(alkalinity, ph, number(row, "temp_C"))
    return carbonate.short_rule_mg_per_l(alkalinity, ph) / ideal


def _rise(row: Row) -> float:
    part = salts.mass_part(row["salt"], row["nutrient"])
    return dosing.rise_mg_per_l(number(row, "mass_g"), part, number(row, "volume_L"))


def _stock(row: Row) -> dosing.Stock:
    return dosing.Stock(
        number(row, "salt_g"), number(row, "stock_mL"), number(row, "mass_fraction")
    )


def _dose_rise(row: Row) -> float:
    ml = number(row, "mL_per_press") * number(row, "presses")
    return dosing.dose_rise_mg_per_l(_stock(row), ml, number(row, "volume_L"))


def _presses(row: Row) -> float:
    target, volume = number(row, "target_mg_L"), number(row, "volume_L")
    return dosing.presses_for_rise(_stock(row), target, volume, number(row, "mL_per_press"))


STOCKS = ("KNO3->NO3", "KH2PO4->PO4", "K2SO4->K", "MgSO4.7H2O->Mg", "Fe 13%", "Fe 6%")


def _cycle(row: Row) -> water_change.Cycle:
    return water_change.Cycle(
        change=number(row, "fraction"),
        source=number(row, "source_C"),
        dose=number(row, "dose_per_cycle"),
        uptake=number(row, "uptake_per_cycle"),
        evaporated=number(row, "evap_fraction_per_cycle"),
        topup=number(row, "topup_C"),
    )


def _ends(row: Row) -> tuple[float, float, float]:
    return number(row, "C0"), number(row, "target_C"), number(row, "source_C")


def _part_for(row: Row) -> float:
    start, target, source = _ends(row)
    return water_change.part_for_target(start, target, source, int(number(row, "n", 1)))


def _changes_for(row: Row) -> float:
    start, target, source = _ends(row)
    return water_change.changes_for_target(start, target, number(row, "fraction"), source)


def _grams_gh(row: Row) -> float:
    start, target = number(row, "start_dGH"), number(row, "target_dGH")
    of = GeneralHardness.of_dgh
    return remineral.grams_for_gh(row["salt"], of(start), of(target), number(row, "volume_L"))


def _grams_kh(row: Row) -> float:
    start, target = number(row, "start_dKH"), number(row, "target_dKH")
    of = Alkalinity.of_dkh
    return remineral.grams_for_kh(row["salt"], of(start), of(target), number(row, "volume_L"))


def _read_back(row: Row) -> float:
    mg = remineral.mg_per_l_per_dgh(row["salt"]) * number(row, "target_dGH")
    return remineral.dgh_of_salt(row["salt"], mg).dgh


def _oxygen(row: Row) -> float:
    return oxygen.saturation_mg_per_l(number(row, "temp_C"), number(row, "pressure_kPa"))


def _unionised(row: Row) -> float:
    return ammonia.unionised_part(number(row, "pH"), number(row, "temp_C"))


WATER: Mapping[str, Answers] = {
    "hardness_units": {"hardness_conversion": _hardness},
    "conductivity": {
        "natural_water_factor_f25": _f25,
        "natural_water_factor_f25 (tap-like Ca-HCO3 water)": _f25,
        "kappa25_linear": lambda row: conductivity.linear_us_cm(
            number(row, "kappa_uS_cm"), number(row, "temp_C"), number(row, "alpha_pct_per_C")
        ),
        "TDS_estimate": lambda row: conductivity.dissolved_mg_per_l(
            number(row, "kappa_uS_cm"), number(row, "factor")
        ),
    },
    "co2_ph_kh": {
        "pK1": lambda row: carbonate.pk1(number(row, "temp_C")),
        "pK2": lambda row: carbonate.pk2(number(row, "temp_C")),
        "pKH": lambda row: carbonate.pkh(number(row, "temp_C")),
        "CO2_mg_L": _co2,
        "simple_rule_over_ideal": _short_over_ideal,
    },
    "ammonia": {
        "percent_unionised": lambda row: 100 * _unionised(row),
        "NH3_N_mg_L": lambda row: ammonia.unionised_n_mg_per_l(
            number(row, "TAN_mg_N_L"), number(row, "pH"), number(row, "temp_C")
        ),
        "pKa": lambda row: ammonia.pka(number(row, "temp_C")),
        "EPA2013_CMC_acute_TAN": lambda row: ammonia.wild_water_acute_mg_n_per_l(
            number(row, "pH"), number(row, "temp_C")
        ),
        "EPA2013_CCC_chronic_TAN": lambda row: ammonia.wild_water_chronic_mg_n_per_l(
            number(row, "pH"), number(row, "temp_C")
        ),
    },
    "oxygen": {
        "DO_saturation_1atm": _oxygen,
        "DO_saturation_at_pressure": _oxygen,
        "percent_saturation": lambda row: oxygen.percent_of_saturation(
            number(row, "measured_mg_L"), number(row, "temp_C"), number(row, "pressure_kPa")
        ),
    },
    "fertiliser_salts": {
        "molar_mass": lambda row: salts.molar_mass_g(row["salt"]),
        "mass_fraction": lambda row: salts.mass_part(row["salt"], row["nutrient"]),
        "rise_mg_L": _rise,
        "chelated_Fe_rise_mg_L": lambda row: dosing.labelled_rise_mg_per_l(
            number(row, "mass_g"), number(row, "label_percent"), number(row, "volume_L")
        ),
        "label_conversion": lambda row: salts.factor(*row["nutrient"].split("->")),
    },
    "stock_dosing": {
        **{f"dose_rise_mg_L {name}": _dose_rise for name in STOCKS},
        **{f"presses_needed {name}": _presses for name in STOCKS},
    },
    "water_change": {
        "after_change_conc_cycle_n": lambda row: float(
            water_change.after_changes(number(row, "C0"), _cycle(row), int(number(row, "n")))[-1]
        ),
        "steady_after_change": lambda row: water_change.steady_after_change(_cycle(row)),
        "steady_before_change_peak": lambda row: water_change.steady_before_change(_cycle(row)),
        "single_change_fraction": _part_for,
        "number_of_changes": _changes_for,
        "fraction_for_3_changes": _part_for,
        "conc_after_evaporation_before_topup": lambda row: water_change.after_evaporation(
            number(row, "C0"), number(row, "evap_fraction_per_cycle")
        ),
        "conc_after_topup": lambda row: water_change.after_topup(
            number(row, "C0"), number(row, "evap_fraction_per_cycle"), number(row, "topup_C")
        ),
        "continuous_drip_after_q_volumes": lambda row: water_change.after_drip(
            number(row, "C0"), number(row, "source_C"), number(row, "fraction")
        ),
    },
    "remineralise": {
        "mg_per_L_per_1_dGH": lambda row: remineral.mg_per_l_per_dgh(row["salt"]),
        "mg_per_L_per_1_dKH": lambda row: remineral.mg_per_l_per_dkh(row["salt"]),
        "grams_needed_GH": _grams_gh,
        "grams_needed_KH": _grams_kh,
        "tap_fraction_in_RO_blend_dGH": lambda row: remineral.tap_part(
            number(row, "target_dGH"), number(row, "start_dGH")
        ),
        "dGH_read_back": _read_back,
    },
}
