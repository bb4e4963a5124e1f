"""What was measured in the water of three tanks: falling hardness, a new kit, ammonia.

The new kit reads lower from one day to the next; the water behind it did not change.
"""

from __future__ import annotations

from datetime import time

from gallery_ops.demo.house import House
from tanks.services.readings import record_reading

FALLING_KH_TANK, FALLING_KH = "T05", ("4", "3.7", "3.4", "3.1", "2.8", "2.5", "2.2")
"""0.3 a week: at its limit of 1 four weeks after the last reading."""
NEW_LOT_TANK = "T06"
OLD_LOT, NEW_LOT = (("4", "4", "4.5", "4", "4"), ("2.5", "2.5"))
AMMONIA_TANK, AMMONIA_MG_PER_L = "T08", "0.6"
PH_BY_DAY, PH_BY_NIGHT = "6.7", "7.7"
KIT = "drop test"
LAST_DAYS_AGO = 1


def measure(house: House) -> None:
    """Write them all down, oldest first."""
    weeks = len(FALLING_KH)
    for nth, text in enumerate(FALLING_KH):
        _read(house, FALLING_KH_TANK, "kh", text, weeks - 1 - nth, lot="K-01")
    lots = [(text, "K-01") for text in OLD_LOT] + [(text, "K-02") for text in NEW_LOT]
    for nth, (text, lot) in enumerate(lots):
        _read(house, NEW_LOT_TANK, "kh", text, len(lots) - 1 - nth, lot=lot)
    _read(house, AMMONIA_TANK, "ammonia_n", AMMONIA_MG_PER_L, 0, lot="A-07")
    _read(house, AMMONIA_TANK, "ph", PH_BY_DAY, 0, phase="on")
    _read(house, AMMONIA_TANK, "ph", PH_BY_NIGHT, 0, phase="off")


def _read(
    house: House,
    code: str,
    key: str,
    text: str,
    weeks_ago: int,
    *,
    lot: str = "",
    phase: str = "on",
) -> None:
    clock = time(21, 30) if phase == "off" else time(11, 20)
    record_reading(
        tank=house.tanks[code],
        parameter=key,
        text=text,
        by=house.people["odile"],
        at=house.at(LAST_DAYS_AGO + 7 * weeks_ago, clock),
        method=KIT if lot else "",
        reagent_lot=lot,
        light_phase=phase,
    )
