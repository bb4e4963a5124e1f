"""Three things that are wrong at Undershore; what is left out must not be found."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Mishaps:
    """Which of them happen.

    gas_loss : T16's cylinder loses 11.2 instead of 8 g a day for the last nine days
    weak_press : the pump of zone A gives 0.924 mL a press, measured 20 days ago, never acted on
    large_tub : a 250 g tub of food, opened 16 days ago, will be too old before it is used up
    """

    gas_loss: bool = True
    weak_press: bool = True
    large_tub: bool = True


ALL = Mishaps()
NONE = Mishaps(gas_loss=False, weak_press=False, large_tub=False)

GAS_LOSS_TANK = "T16"
GAS_LOSS_DAYS = 9
GAS_LOSS_TIMES = 1.4
WEAK_PRESS_DAYS = 20
LARGE_TUB_DAYS = 16
