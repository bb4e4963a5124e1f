"""The gates of a layout's life: what each asks for, and the usual figures.

Nine gates from an empty glass to one that is taken down. Each asks for proofs: a person's word, a
number within a limit, or what the records already say; :mod:`tanks.science.gates` judges them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

Rule = Literal[
    "yes", "told", "at_most", "at_least", "days", "tests", "temperature", "checker", "rest"
]


@dataclass(frozen=True, slots=True)
class Limit:
    """The usual figure of a gate, its unit and the range in which another one makes sense."""

    number: float
    unit: str
    words: str
    low: float
    high: float


LIMITS: dict[str, Limit] = {
    "leak_test_h": Limit(24, "h", "Filled leak test, at least", 1, 168),
    "out_of_level_mm_per_m": Limit(1, "mm/m", "Out of level, at most", 0.1, 10),
    "cost_over_percent": Limit(10, "%", "Cost away from the budget, at most", 0, 100),
    "stone_kh_rise_dkh": Limit(1, "dKH", "Rise of KH in 24 h with the stone, at most", 0.1, 10),
    "time_dry_h": Limit(6, "h", "Time without water while planting, at most", 0.5, 48),
    "fill_temperature_low_c": Limit(23, "°C", "Filling water, at least", 5, 32),
    "fill_temperature_high_c": Limit(25, "°C", "Filling water, at most", 5, 35),
    "animals_from_day": Limit(21, "d", "First animals, from day", 1, 120),
    "animals_from_day_mature": Limit(14, "d", "First animals with mature media, from day", 1, 120),
    "tan_mg_per_l": Limit(0.25, "mg/L", "Total ammonia nitrogen, below", 0.01, 5),
    "nitrite_mg_per_l": Limit(0.25, "mg/L", "Nitrite, below", 0.01, 5),
    "tests": Limit(2, "", "Tests in a row below the limit", 1, 10),
    "tests_apart_h": Limit(48, "h", "First and last of these tests apart, at least", 1, 336),
    "temperature_h": Limit(48, "h", "Temperature within its range for", 1, 336),
    "carpet_percent": Limit(90, "%", "Carpet grown together, at least", 1, 100),
    "background_percent": Limit(80, "%", "Background of its target height, at least", 1, 100),
    "algae": Limit(1, "of 4", "Algae, at most", 0, 4),
    "days_since_trim": Limit(7, "d", "Since the last hard trim, at least", 0, 60),
    "days_between_groups": Limit(7, "d", "Between two groups of animals, at least", 0, 60),
    "days_settled": Limit(7, "d", "Since the last animals came, at least", 0, 60),
    "camera_glass_days": Limit(2, "d", "For a camera: inside glass cleaned, at most", 0, 30),
    "camera_change_days": Limit(7, "d", "For a camera: water changed, at most", 1, 60),
    "checker_after_h": Limit(2, "h", "A drop checker counts in the light after", 0.5, 6),
    "ph_swing": Limit(1.4, "", "pH between dark and light, at most", 0.2, 3),
    "signs": Limit(2, "", "Signs of decline that make one", 1, 6),
    "bare_stems_percent": Limit(30, "%", "Bare lower stems, above", 1, 100),
    "algae_bad": Limit(3, "of 4", "Algae three checks in a row, at least", 1, 4),
    "appeal": Limit(2, "of 5", "Appeal three weeks in a row, at most", 1, 5),
    "age_months": Limit(18, "months", "Age of a layout, above", 1, 240),
}
"""Every figure: common practice, no source. A gallery may set its own, with a reason."""


@dataclass(frozen=True, slots=True)
class Asked:
    """One proof that a gate asks for.

    Parameters
    ----------
    rule : ``yes`` a person says so; ``told`` a person says yes or no, and either will do;
        ``at_most`` and ``at_least`` a number that a person says; the others are read from what is
        on record
    limit : key into :data:`LIMITS`, or empty
    measure : what is measured, for the rule ``tests``
    """

    key: str
    words: str
    rule: Rule = "yes"
    limit: str = ""
    measure: str = ""

    @property
    def is_number(self) -> bool:
        """Does a person say a number?"""
        return self.rule in {"at_most", "at_least"}

    @property
    def is_said(self) -> bool:
        """Does it take a person's word?"""
        return self.rule in {"yes", "told"} or self.is_number


@dataclass(frozen=True, slots=True)
class Gate:
    """A gate: what it opens, and what it asks for."""

    code: str
    name: str
    opens: str
    asks: tuple[Asked, ...]


def _gate(code: str, name: str, opens: str, *asks: Asked) -> Gate:
    return Gate(code, name, opens, asks)


GATES: dict[str, Gate] = {
    gate.code: gate
    for gate in (
        _gate(
            "G0",
            "Ready for a layout",
            "the tank may be promised to a layout",
            Asked("leak", "Filled and tight", "at_least", "leak_test_h"),
            Asked("floor_dry", "Floor dry under and beside it"),
            Asked("level", "Level in both directions", "at_most", "out_of_level_mm_per_m"),
            Asked("edges", "Silicone and edges looked at, with a photo"),
            Asked("glass", "Thickness of the glass written down"),
            Asked("load", "Load of cabinet and floor noted; the engineer was asked where in doubt"),
            Asked("sockets", "Sockets above the water, residual current device, drip loops"),
        ),
        _gate(
            "G1",
            "Brief agreed",
            "materials may be kept and ordered",
            Asked("style", "Style and focal idea"),
            Asked("who", "Designer"),
            Asked("show_on", "Day on which it shall be shown, and for how many weeks"),
            Asked("budget", "Budget"),
            Asked("wishes", "Species wished for, and what must not be"),
            Asked("means", "Light, CO2 and filter that are there"),
            Asked("sides", "From which sides it is seen"),
        ),
        _gate(
            "G2",
            "Materials complete",
            "the hardscape may begin",
            Asked("secured", "Every line kept, on order with its day, or replaced"),
            Asked("legal", "Plants looked up: none is barred here"),
            Asked("cost", "Cost away from the budget", "at_most", "cost_over_percent"),
        ),
        _gate(
            "G3",
            "Hardscape signed",
            "planting may begin",
            Asked("photos", "Photos front, left, right, top"),
            Asked("stable", "Stones stand when pushed"),
            Asked("foam", "Nothing rests on bare glass"),
            Asked(
                "stone_kh",
                "KH of water with the stone, rise in 24 h",
                "at_most",
                "stone_kh_rise_dkh",
            ),
            Asked("wood", "Wood soaked or held down"),
            Asked("mass", "Mass of the stones written down"),
        ),
        _gate(
            "G4",
            "Planted",
            "it may be flooded",
            Asked("rows", "Each group with place, count, fixing and lot"),
            Asked("zone_photos", "A photo of each zone"),
            Asked("dry", "Time without water", "at_most", "time_dry_h"),
        ),
        _gate(
            "G5",
            "Flooded",
            "day 0: start-up begins",
            Asked("filled", "When it was filled, and with which water"),
            Asked("warm", "Filling water", "at_least", "fill_temperature_low_c"),
            Asked("not_hot", "Filling water", "at_most", "fill_temperature_high_c"),
            Asked("conditioner", "Conditioner given"),
            Asked("filter", "Filter runs"),
            Asked("mature_media", "Mature media in the filter", "told"),
            Asked("timers", "Clocks of light and CO2 set"),
        ),
        _gate(
            "G6",
            "First animals",
            "the first group, at most a quarter of what is planned; then 7 to 14 days",
            Asked("day", "Days since it was flooded", "days"),
            Asked("tan", "Total ammonia nitrogen low", "tests", "tan_mg_per_l", "ammonia_n"),
            Asked("nitrite", "Nitrite low", "tests", "nitrite_mg_per_l", "nitrite"),
            Asked("temperature", "Temperature within its range", "temperature", "temperature_h"),
            Asked("checker", "Drop checker not yellow at the end of the light", "checker"),
        ),
        _gate(
            "G7",
            "Ready to be shown",
            "it is on show",
            Asked("carpet", "Carpet grown together", "at_least", "carpet_percent"),
            Asked(
                "background", "Background of its target height", "at_least", "background_percent"
            ),
            Asked("algae", "Algae, 0 to 4", "at_most", "algae"),
            Asked("clear", "Water clear"),
            Asked("tidy", "Equipment tidy"),
            Asked("trim", "Since the last hard trim", "rest", "days_since_trim", "trim"),
            Asked("settled", "Since the last animals came", "rest", "days_settled", "animals"),
            Asked("label", "Label read once more"),
            Asked("portrait", "Portrait photo taken"),
        ),
        _gate(
            "G9",
            "Taken down",
            "the tank is vacant",
            Asked("animals", "Animals counted to where they went"),
            Asked("plants", "Plants sorted: kept, shop, disposed of"),
            Asked("hardscape", "Hardscape weighed back into the store"),
            Asked("ground", "Ground kept or disposed of"),
            Asked("cylinder", "Cylinder closed, its net mass written down"),
            Asked("clean", "Tank disinfected and rinsed"),
            Asked("last_photo", "Last photo"),
            Asked("lessons", "A line of lessons"),
        ),
    )
}


def limit_of(key: str, own: Mapping[str, float]) -> float:
    """The figure in force: the gallery's own, else the usual one."""
    return own.get(key, LIMITS[key].number)
