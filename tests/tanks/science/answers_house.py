"""What the program says to each row of the tables about glass, gas, air, energy and food."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from tanks.science import (
    energy,
    evaporation,
    feeding,
    filling,
    gas,
    gas_flow,
    gas_state,
    geometry,
    room_air,
    weight,
)
from tanks.science.cylinder_tests import next_test
from tests.tanks.science.answers_water import Answer, Answers, Row, number

NO_FLOOR_RULE = (
    "the program compares no tank with it: a heavy single thing is outside the even loads of EN "
    "1991-1-1, and the row itself is from memory; it gives the number and names the engineer"
)
NO_POST = "the program draws its posts at 5,000 and 15,000 ppm; a limit above them is not shown"


def _glass(row: Row) -> filling.Glass:
    sides = ("length_mm", "width_mm", "height_mm", "glass_mm", "base_glass_mm")
    return filling.Glass(*(number(row, side) for side in sides))


def _column(row: Row) -> float:
    return filling.water_column_l(_glass(row), number(row, "fill_below_rim_mm"))


def _bed(row: Row) -> float:
    return filling.bed_l(
        _glass(row), number(row, "substrate_front_mm"), number(row, "substrate_back_mm")
    )


def _stone(row: Row) -> list[float]:
    if not row["mass_kg"]:
        return []
    return [filling.displaced_l(number(row, "mass_kg"), number(row, "density_kg_m3"))]


def _net(row: Row) -> float:
    return filling.net_water_l(_column(row), _bed(row), number(row, "porosity"), _stone(row))


def _mass(row: Row) -> float:
    return weight.filled_kg(
        _glass(row),
        _net(row),
        _bed(row),
        number(row, "mass_kg"),
        number(row, "stand_mass_kg"),
        number(row, "temp_C"),
    )


def _nominal(row: Row) -> float:
    sides = (int(number(row, side)) for side in ("length_mm", "width_mm", "height_mm"))
    return geometry.outer_volume_l(*sides)


def _floor_rule(_row: Row) -> Answer:
    return NO_FLOOR_RULE


FLOOR_RULES = [
    f"EN1991_1_1_Table6.2_qk_category_{category}_{value}"
    for category in ("C3", "D1")
    for value in ("low", "high", "recommended")
]


def _in_cylinder(row: Row) -> float:
    water = number(row, "water_capacity_L")
    return gas_state.cylinder_bar(number(row, "contents_kg"), water, number(row, "temp_C"))


def _days(row: Row) -> float:
    content_g, reserve_g = (number(row, name) * 1_000 for name in ("contents_kg", "reserve_kg"))
    return gas.days_of_supply(content_g, number(row, "usage_g_day"), reserve_g)


def _ideal_m3(row: Row) -> float:
    """The gas volume that the rows about rooms begin with."""
    moles = number(row, "release_kg") * 1_000 / 44.009
    kelvin = number(row, "temp_C", 20.0) + 273.15
    return moles * 8.314462618 * kelvin / (number(row, "pressure_kPa", 101.325) * 1_000)


def _hours_until(row: Row) -> float:
    outdoor = number(row, "background_ppm")
    start = _ideal_m3(row) / number(row, "room_m3") * 1e6 + outdoor
    return room_air.hours_until(number(row, "limit_ppm"), start, number(row, "ach_per_h"), outdoor)


def _added(row: Row) -> float:
    air = {"degc": number(row, "temp_C"), "kpa": number(row, "pressure_kPa")}
    return room_air.added_ppm(number(row, "release_kg") * 1_000, number(row, "room_m3"), **air)


def _limit(row: Row) -> Answer:
    posts = {"8 h TWA": room_air.EIGHT_HOURS_PPM, "TWA": room_air.EIGHT_HOURS_PPM}
    if row["averaging"] in posts:
        return posts[row["averaging"]]
    if row["quantity"] == "UK WEL short-term":
        return room_air.FIFTEEN_MINUTES_PPM
    return NO_POST


def _years(row: Row) -> float:
    rule = {
        "DOT-3AL in CO2 service": "us_3al_co2",
        "DOT-3A/3AA": "us_3a_3aa",
        "ADR cylinder, UN 1013 CO2": "adr_co2",
    }[row["cylinder_type"]]
    return next_test(date(2020, 3, 1), rule).year - 2020


def _air(row: Row) -> evaporation.Room:
    return evaporation.Room(
        number(row, "water_C"),
        number(row, "air_C"),
        number(row, "rh"),
        number(row, "air_speed_m_s"),
    )


def _carrier(row: Row) -> float:
    still = number(row, "activity_factor", evaporation.STILL)
    day = evaporation.carrier_kg_per_day(_air(row), number(row, "area_m2"), still)
    return day * number(row, "hours") / 24


def _shah(row: Row) -> float:
    return evaporation.shah_kg_per_day(_air(row), number(row, "area_m2"))


def _light(row: Row) -> float:
    ramp = 1.0 if "ramp" in row["quantity"] else 0.0
    return energy.daily_light_mol_per_m2(number(row, "PPFD"), number(row, "hours_per_day"), ramp)


HOUSE: Mapping[str, Answers] = {
    "geometry": {
        "nominal_outer_volume": _nominal,
        "inner_brim_volume": lambda row: _glass(row).inner_l,
        "water_column_volume": _column,
        "substrate_bulk_volume": _bed,
        "net_water_incl_pore_water": _net,
        "free_water_excl_pore_water": lambda row: filling.free_water_l(
            _column(row), _bed(row), _stone(row)
        ),
        "glass_mass_open_top": lambda row: weight.glass_kg(_glass(row)),
        "hardscape_displacement": lambda row: _stone(row)[0],
        "water_density": lambda row: weight.water_kg_per_m3(number(row, "temp_C")),
        "filled_mass (dry bulk substrate 1500 kg/m3; rock mass in mass_kg)": _mass,
        "floor_pressure_uniform": lambda row: weight.floor_load(
            _mass(row), number(row, "footprint_m2")
        ).pressure_kpa,
        **dict.fromkeys(FLOOR_RULES, _floor_rule),
    },
    "co2_cylinder": {
        "saturation_pressure_abs": lambda row: gas.saturation_bar(number(row, "temp_C")),
        "saturated_liquid_density": lambda row: gas.liquid_kg_per_m3(number(row, "temp_C")),
        "saturated_vapour_density": lambda row: gas.vapour_kg_per_m3(number(row, "temp_C")),
        "critical_temperature": lambda _row: gas.CRITICAL_K - gas.KELVIN,
        "critical_pressure": lambda _row: gas.CRITICAL_BAR,
        "mass_left_when_last_liquid_boils": lambda row: gas.left_when_gauge_falls_kg(
            number(row, "water_capacity_L"), number(row, "temp_C")
        ),
        "pressure_abs_10L_cylinder_vs_contents": _in_cylinder,
        "developed_pressure_abs": lambda row: gas_state.cylinder_bar(
            number(row, "filling_ratio"), 1.0, number(row, "temp_C")
        ),
        "contents_by_weighing": lambda row: gas.content_kg(
            number(row, "gross_kg"), number(row, "tare_kg")
        ),
        "max_fill_mass": lambda row: gas.mass_at_filling_kg(
            number(row, "water_capacity_L"), number(row, "filling_ratio")
        ),
        "days_of_supply": _days,
    },
    "co2_gas": {
        "gas_density": lambda row: gas_state.gas_kg_per_m3(
            number(row, "temp_C"), number(row, "pressure_kPa")
        ),
        "gas_volume_per_kg": lambda row: gas_flow.gas_litres(
            number(row, "mass_kg"), number(row, "temp_C"), number(row, "pressure_kPa")
        ),
        "bubble_rate_mass": lambda row: gas_flow.bubbles_g_per_day(
            number(row, "bubbles_per_s"),
            number(row, "bubble_diameter_mm"),
            number(row, "hours_per_day"),
            number(row, "temp_C"),
            number(row, "pressure_kPa"),
        ),
    },
    "co2_room": {
        "added_fraction_simple": _added,
        "peak_with_displacement": lambda row: room_air.peak_of_volume_ppm(
            _ideal_m3(row), number(row, "room_m3"), number(row, "background_ppm")
        ),
        "conc_after_time": lambda row: room_air.ppm_after(
            number(row, "start_ppm"),
            number(row, "time_h"),
            number(row, "ach_per_h"),
            number(row, "background_ppm"),
        ),
        "time_to_fall_to_limit": _hours_until,
        "ppm_to_mg_m3": lambda row: room_air.mg_per_m3(
            number(row, "limit_ppm"), number(row, "temp_C"), number(row, "pressure_kPa")
        ),
    },
    "co2_exposure_limits": dict.fromkeys(
        (
            "EU IOELV", "OSHA PEL", "NIOSH REL TWA", "NIOSH REL STEL", "NIOSH IDLH",
            "ACGIH TLV-TWA", "UK WEL long-term", "UK WEL short-term",
        ),
        _limit,
    ),
    "cylinder_inspection": {
        "requalification_period": _years,
        "requalification_period_default": _years,
        "periodic_inspection_default": _years,
        "max_filling_density_percent": lambda _row: gas.FULLEST_KG_PER_L * 100,
    },
    "evaporation": {
        "saturation_vapour_pressure": lambda row: evaporation.vapour_kpa(number(row, "water_C")),
        "evaporation_carrier": _carrier,
        "evaporation_quiet_0.74": _carrier,
        "evaporation_shah": _shah,
        "method_ratio_shah_over_quiet_0.74": lambda row: _shah(row) / _carrier(row),
        "evaporation_shah_flux": lambda row: evaporation.shah_kg_per_m2_h(_air(row)),
        "carrier_coefficient": lambda _row: evaporation.CARRIER_KW_PER_M2_KPA,
        "carrier_velocity_coefficient": lambda _row: evaporation.CARRIER_KW_S_PER_M3_KPA,
    },
    "energy_light": {
        "energy": lambda row: energy.used_kwh(
            number(row, "power_W"),
            number(row, "hours_per_day"),
            number(row, "duty"),
            number(row, "days"),
        ),
        "heat_to_warm_water": lambda row: energy.warming_kwh(
            number(row, "mass_kg"), number(row, "delta_T_K")
        ),
        "heater_energy_steady": lambda row: energy.heater_kwh_per_day(
            number(row, "UA_W_K"), number(row, "delta_T_K"), number(row, "evap_kg_day")
        ),
        "DLI": _light,
        "DLI_ramped (linear ramp 1 h up, 6 h full, 1 h down at PPFD)": _light,
        "filter_turnover": lambda row: energy.turnover_per_h(
            number(row, "flow_L_h"), number(row, "volume_L")
        ),
    },
    "feeding": {
        "food_per_day": lambda row: feeding.food_g_per_day(
            number(row, "biomass_g"), number(row, "percent_bw")
        ),
        "days_of_food": lambda row: feeding.days_of_food(
            number(row, "stock_g"),
            feeding.food_g_per_day(number(row, "biomass_g"), number(row, "percent_bw")),
        ),
        "TAN_from_feed": lambda row: feeding.tan_rise_mg_n_per_l(
            number(row, "stock_g"), number(row, "protein_fraction"), number(row, "volume_L")
        ),
        "maintenance_food_percent": lambda row: feeding.maintenance_percent(
            number(row, "energy_kJ_day"), number(row, "food_kJ_g"), number(row, "fish_g")
        ),
    },
}  # fmt: skip
