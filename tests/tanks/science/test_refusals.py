"""What the sums refuse, and with which words; what never comes out of them."""

import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gallery_ops.kernel.values.limits import OutOfRange
from tanks.science import (
    ammonia,
    carbonate,
    conductivity,
    dosing,
    energy,
    evaporation,
    feeding,
    filling,
    oxygen,
    remineral,
    salts,
    water_change,
    weight,
)
from tanks.science.hardness import Alkalinity, GeneralHardness

pytestmark = pytest.mark.once

GLASS = filling.Glass(600, 300, 360, 6)
DKH, DGH = Alkalinity.of_dkh, GeneralHardness.of_dgh
NAN, INF = float("nan"), float("inf")
REFUSED = [
    (lambda: carbonate.co2_mg_per_l(DKH(0), 6.6, 24.0), "without carbonate the pH is held"),
    (lambda: carbonate.co2_mg_per_l(DKH(30), 6.6, 24.0), "0.5 to 25 dKH"),
    (lambda: carbonate.co2_mg_per_l(DKH(4), 4.9, 24.0), "pH"),
    (lambda: carbonate.co2_mg_per_l(DKH(4), NAN, 24.0), "pH"),
    (lambda: carbonate.co2_mg_per_l(DKH(4), 6.6, 40.0), "5 to 35 °C"),
    (lambda: carbonate.co2_mg_per_l(DKH(4), np.array([6.6, 9.1]), 24.0), '"9.1"'),
    (lambda: carbonate.co2_by_degassing_mg_per_l(7.4, 6.4, 0.6), "Let it stand"),
    (lambda: carbonate.checker_ph(0), "CO2"),
    (lambda: DKH(-1), "Carbonate hardness"),
    (lambda: DGH(INF), "General hardness"),
    (lambda: DGH(True), "General hardness"),
    (lambda: DGH("4"), "General hardness"),
    (lambda: DGH(None), "General hardness"),
    (lambda: ammonia.unionised_part(10.5, 25.0), "pH"),
    (lambda: ammonia.unionised_part(7.0, 41.0), "0 to 40 °C"),
    (lambda: ammonia.unionised_n_mg_per_l(-0.1, 7.0, 25.0), "Ammonia"),
    (lambda: ammonia.as_nitrogen(1.0, "NO3"), "kit's paper"),
    (lambda: oxygen.saturation_mg_per_l(41.0), "0 to 40 °C"),
    (lambda: oxygen.saturation_mg_per_l(20.0, 1013.0), "Air pressure"),
    (lambda: conductivity.natural_water_factor(36.0), "room temperature"),
    (lambda: conductivity.linear_us_cm(-1.0, 20.0), "Conductivity"),
    (lambda: conductivity.dissolved_mg_per_l(200, 1.2), "manual of the meter"),
    (lambda: salts.molar_mass_g("kno3"), "Capital letters"),
    (lambda: salts.molar_mass_g("Xx2"), "Capital letters"),
    (lambda: salts.molar_mass_g("Ca(NO3"), "Capital letters"),
    (lambda: salts.mass_part("CO(NH2)2", "NO3"), "Choose another salt"),
    (lambda: salts.factor("N", "P"), "Form"),
    (lambda: dosing.rise_mg_per_l(1, 0.6, 0), "net volume"),
    (lambda: dosing.rise_mg_per_l(-1, 0.6, 100), "Weigh it"),
    (lambda: dosing.labelled_rise_mg_per_l(1, 130, 100), "Percent on the label"),
    (lambda: dosing.Stock(50, 0, 0.6), "Stock solution"),
    (lambda: dosing.presses_for_rise(dosing.Stock(50, 500, 0.6), 5, 100, 0), "twenty presses"),
    (lambda: dosing.ml_for_rise(dosing.Stock(50, 500, 0), 5, 100), "Part that counts"),
    (lambda: water_change.Cycle(0), "Say how much is changed"),
    (lambda: water_change.Cycle(1.1), "Part changed"),
    (lambda: water_change.Cycle(0.5, evaporated=1), "Part evaporated"),
    (lambda: water_change.part_for_target(40, 10, 20), "Another source, or a dose"),
    (lambda: water_change.part_for_target(40, 20, 40), "changing does not help"),
    (lambda: water_change.changes_for_target(40, 0, 0.5), "Never quite reached"),
    (lambda: remineral.mg_per_l_per_dgh("KNO3"), "calcium or magnesium"),
    (lambda: remineral.mg_per_l_per_dkh("KNO3"), "carbonate or bicarbonate"),
    (lambda: remineral.grams_for_gh("CaSO4.2H2O", DGH(5), DGH(4), 100), "change water"),
    (lambda: remineral.tap_part(20, 16), "Add a salt"),
    (lambda: remineral.tap_part(0, 0), "no mix"),
    (lambda: filling.Glass(600, 300, 360, 150).inner_l, "millimetres"),
    (lambda: filling.water_column_l(GLASS, 360), "Surface below the rim"),
    (lambda: filling.bed_l(GLASS, 40, 400), "the surface"),
    (lambda: filling.displaced_l(10, 0), "Density"),
    (lambda: filling.net_water_l(10, 5, 1.5), "Porosity"),
    (lambda: filling.net_water_l(10, 5, 0.4, [9]), "the water column"),
    (lambda: weight.floor_load(100, 0), "Length times width"),
    (lambda: weight.water_kg_per_m3(45.0), "0 to 40 °C"),
    (lambda: evaporation.Room(25, 22, 50), "0.5 for 50 %"),
    (lambda: evaporation.Room(45, 22, 0.5), "Water"),
    (lambda: energy.used_kwh(90, 25), "Hours a day"),
    (lambda: energy.used_kwh(90, 8, 1.2), "Part of the time"),
    (lambda: energy.daily_light_mol_per_m2(100, 1, 1), "Both ramps"),
    (lambda: energy.turnover_per_h(800, 0), "net volume"),
    (lambda: feeding.food_g_per_day(40, 25), "body mass"),
    (lambda: feeding.days_of_food(100, 0), "Food a day"),
    (lambda: feeding.tan_rise_mg_n_per_l(1, 45, 100), "It stands on the tub"),
]


@pytest.mark.parametrize(("ask", "words"), REFUSED)
def test_what_cannot_be_is_refused_with_words(ask, words):
    with pytest.raises(OutOfRange) as no:
        ask()
    assert words in no.value.sentence


# Source: tests/outside/job_check_values.json; each row names its basis.
CHECKS = {
    row["id"]: row
    for row in json.loads(
        (Path(__file__).parents[2] / "outside" / "job_check_values.json").read_text("utf-8")
    )
}
ANSWERED = {
    "W3": lambda: water_change.after_changes(1, water_change.Cycle(0.5), 3)[-1],
    "W4": lambda: water_change.steady_before_change(water_change.Cycle(0.5, dose=7)),
    "K1": lambda: carbonate.short_rule_mg_per_l(DKH(4), 6.6),
    "A1": lambda: ammonia.unionised_part(7.0, 25.0),
    "A2": lambda: ammonia.unionised_part(8.0, 25.0),
    "A3": lambda: ammonia.unionised_part(7.4, 25.0) / ammonia.unionised_part(6.6, 25.0),
    "S1": lambda: remineral.grams_for_kh("NaHCO3", DKH(0), DKH(1), 100),
    "S2": lambda: 2 * salts.molar_mass_g("Na2S2O3.5H2O") / salts.molar_mass_g("Cl2"),
    "P1": lambda: filling.bed_l(GLASS, 30, 80),
}


@pytest.mark.parametrize("key", ANSWERED)
def test_worked_values(key):
    assert ANSWERED[key]() == pytest.approx(CHECKS[key]["expect"], rel=CHECKS[key]["rel_tol"])


def test_the_equilibrium_lies_above_the_short_rule_by_what_the_worked_value_says():
    """K2 takes pK1 as 6.35 at 25 °C; the program's is 6.3519."""
    found = carbonate.co2_mg_per_l(DKH(4), 6.6, 25.0)
    assert found == pytest.approx(CHECKS["K2"]["expect"], rel=0.005)


def test_the_two_hardnesses_cannot_be_taken_for_each_other():
    assert DGH(4) != DKH(4)
    with pytest.raises(TypeError):
        _ = DGH(4) < DKH(4)
    assert not hasattr(DGH(4), "dkh")
    assert not hasattr(DKH(4), "dgh")


def test_arrays_come_out_as_arrays_and_numbers_as_numbers():
    ph = np.array([6.4, 6.6, 6.8])
    several = carbonate.co2_mg_per_l(DKH(4), ph, 24.0)
    assert several.shape == (3,)
    assert several[1] == pytest.approx(carbonate.co2_mg_per_l(DKH(4), 6.6, 24.0))
    assert type(carbonate.co2_mg_per_l(DKH(4), 6.6, 24.0)) is float
    assert type(oxygen.saturation_mg_per_l(20.0)) is float


def test_what_a_checker_shows_is_where_practice_puts_it():
    """Source: common practice, no source: 15 blue, 30 green, 60 yellow with a fluid of 4 dKH."""
    colours = [carbonate.checker_colour(carbonate.checker_ph(mg)) for mg in (14, 30, 62)]
    assert colours == ["blue", "green", "yellow"]


@given(st.floats(0.5, 25), st.floats(5.1, 8.4), st.floats(5, 35))
def test_a_range_holds_its_likely_value_and_grows_with_the_errors(dkh, ph, degc):
    near = carbonate.co2_range(DKH(dkh), ph, degc)
    far = carbonate.co2_range(DKH(dkh), ph, degc, ph_error=0.2, dkh_error=1.0)
    assert far.low <= near.low < near.likely < near.high < far.high


@given(st.floats(0, 100), st.floats(0.05, 1), st.floats(0, 50), st.floats(0, 50), st.floats(0, 50))
def test_water_changes_settle_and_never_go_below_nothing(start, change, source, dose, uptake):
    cycle = water_change.Cycle(change, source, dose, uptake)
    found = water_change.after_changes(start, cycle, 400)
    assert (found >= 0).all()
    if not water_change.runs_empty(start, cycle, 400):
        assert found[-1] == pytest.approx(
            water_change.steady_after_change(cycle), rel=1e-6, abs=1e-6
        )


@given(st.floats(1, 100), st.floats(0, 1), st.integers(1, 12))
def test_the_part_that_is_asked_for_reaches_its_target(start, share, changes):
    target = start * (0.02 + 0.96 * share)
    part = water_change.part_for_target(start, target, 0, changes)
    now = water_change.after_changes(start, water_change.Cycle(max(part, 1e-12)), changes)[-1]
    assert now == pytest.approx(target, rel=1e-6)


def test_damp_air_lets_nothing_evaporate():
    assert evaporation.carrier_kg_per_day(evaporation.Room(20, 30, 1.0), 1) == 0
    low, high = evaporation.guess_l_per_day(evaporation.Room(25, 22, 0.5), 0.48)
    assert low < evaporation.carrier_kg_per_day(evaporation.Room(25, 22, 0.5), 0.48) < high


def test_light_by_readings_is_light_by_ramps():
    hours = np.arange(0, 8 + 1 / 60, 1 / 60)
    ppfd = 100 * np.clip(np.minimum(hours, 8 - hours), 0, 1)
    found = energy.daily_light_of_series_mol_per_m2(ppfd, 60)
    assert found == pytest.approx(energy.daily_light_mol_per_m2(100, 8, 1), rel=1e-3)


def test_a_floor_load_names_who_must_be_asked():
    assert "structural engineer" in weight.floor_load(100, 0.18).words
