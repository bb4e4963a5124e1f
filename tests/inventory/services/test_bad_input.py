"""Each refused value with the sentence it gets: field, what came, what is allowed, what to do.

The table is the one place where these sentences stand together; a sentence that changes changes
here.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from gallery_ops.kernel.errors import GalleryError, Held, Refused
from gallery_ops.kernel.values.quantity import Mass, Pieces, Volume
from inventory.models import EyeCount, Movement, PressCalibration, PressureReading, Weighing
from inventory.services.calibration import record_press_calibration
from inventory.services.containers import NewContainer, receive
from inventory.services.counting import count, waste
from inventory.services.decant import decant
from inventory.services.eye_counts import record_eye_count
from inventory.services.feeder import record_feeder_calibration
from inventory.services.pressures import record_pressure
from inventory.services.retare import retare
from inventory.services.scales import check_scale
from inventory.services.weighing import record_weighing
from tests.builders.gallery import AT, a_person, a_showroom, a_tank
from tests.builders.stock import (
    a_bottle,
    a_cylinder,
    a_fertiliser,
    a_food,
    a_gas,
    a_scale,
    a_tub,
)
from tests.built_once import built_once

pytestmark = pytest.mark.django_db


def a_house() -> dict[str, Any]:
    """Bottle 65 g empty and 590 g full, cylinder 3,350 g with 412 g of regulator, a tub, a tank."""
    showroom = a_showroom()
    fertiliser, food, gas = a_fertiliser(showroom), a_food(showroom), a_gas(showroom)
    fertiliser.name, food.name, gas.name = "Complete fertiliser", "Fine granules", "CO2"
    for item in (fertiliser, food, gas):
        item.save(update_fields=["name"])
    return {
        "fertiliser": fertiliser,
        "food": food,
        "bottle": a_bottle(fertiliser, name="Bottle A"),
        "can": a_bottle(fertiliser, name="Can B", kind="can", capacity=Volume.l(5)),
        "bare": a_bottle(fertiliser, name="Bottle C", tare=None),
        "tub": a_tub(food, name="Tub D"),
        "cylinder": a_cylinder(
            gas, name="K-2208", tare=Mass.g(3350), regulator=Mass.g(412), fill=Mass.kg(2)
        ),
        "tank": a_tank("T12", showroom=showroom),
        "scale": a_scale(showroom, "bench scale", most=Mass.kg(6)),
        "senior": a_person("senior_carer", showroom=showroom),
    }


built, house = built_once(a_house)


def weigh(house: dict[str, Any], which: str, grams: str, **more: Any) -> None:
    record_weighing(
        container=house[which],
        gross=Mass.g(grams),
        scale=house["scale"],
        by=house["senior"],
        at=AT,
        **more,
    )


def by(house: dict[str, Any]) -> dict[str, Any]:
    return {"by": house["senior"], "at": AT}


Deed = Callable[[dict[str, Any]], object]
OVERFILLED = (
    "Gross mass: 5813 g is more than the full cylinder (5762 g). Weigh again. If it is true, the "
    "cylinder is overfilled: do not use or warm it, set it apart in an aired place away from "
    "people, and ring the supplier."
)
TABLE: list[tuple[str, Deed, str]] = [
    (
        "weighing 3210 g, regulator on",
        lambda h: weigh(h, "cylinder", "3210", regulator_on=True),
        "Gross mass: 3210 g is less than the empty cylinder with its regulator (3350 + 412 g). "
        "Write 3742 to 5812 g, or choose another cylinder.",
    ),
    (
        "weighing 5813 g, regulator on",
        lambda h: weigh(h, "cylinder", "5813", regulator_on=True),
        OVERFILLED,
    ),
    (
        "weighing 44,9 g",
        lambda h: weigh(h, "bottle", "44,9"),
        "Gross mass: 44.9 g is less than the empty bottle (65 g). Write 45 to 640 g, or choose "
        "another bottle.",
    ),
    (
        "weighing 641 g",
        lambda h: weigh(h, "bottle", "641"),
        "Gross mass: 641 g is more than this bottle weighs full (590 g). Is it so? If it was "
        "filled above its mark, say so; otherwise weigh again: is it this container, and is the "
        "tare right?",
    ),
    (
        "weighing 900 g, said twice",
        lambda h: weigh(h, "bottle", "900", asked_again=True),
        "Gross mass: 900 g is more than this bottle weighs filled to its brim (771.25 g). Weigh "
        "again: is it this container, and is the tare right?",
    ),
    (
        "weighing 6001 g on a scale for 6 kg",
        lambda h: weigh(h, "cylinder", "6001"),
        "Gross mass: 6001 g is more than bench scale can weigh. Check the number, or choose the "
        "scale that was used.",
    ),
    (
        "weighing without an empty mass",
        lambda h: weigh(h, "bare", "300"),
        "Nobody wrote down what Bottle C weighs when it is empty. Weigh an empty one of the same "
        "kind, or read the stamp, and enter that first.",
    ),
    (
        "weighing a bottle with a regulator",
        lambda h: weigh(h, "bottle", "300", regulator_on=True),
        "Bottle A is no cylinder. Take the tick away.",
    ),
    (
        "4 presses",
        lambda h: record_press_calibration(
            container=h["bottle"], presses=4, mass=Mass.g(4), **by(h)
        ),
        'Presses: "4" is not allowed. Allowed: 5 to 200. 20 is usual.',
    ),
    (
        "20 presses of 0.5 g",
        lambda h: record_press_calibration(
            container=h["bottle"], presses=20, mass=Mass.g("0.5"), **by(h)
        ),
        'One press: "24 µL" is not allowed. Allowed: 50 to 20000 µL. Weigh the presses again.',
    ),
    (
        "presses of food",
        lambda h: record_press_calibration(
            container=h["tub"], presses=20, mass=Mass.g(20), **by(h)
        ),
        "Fine granules does not come out of a pump.",
    ),
    (
        "5 quarters",
        lambda h: record_eye_count(container=h["bottle"], quarters=5, **by(h)),
        "By eye: 5 quarters is not allowed. Tap the picture that looks most like it.",
    ),
    (
        "a cylinder by eye",
        lambda h: record_eye_count(container=h["cylinder"], quarters=2, **by(h)),
        "By eye: nobody sees into K-2208. Weigh it.",
    ),
    (
        "201 portions",
        lambda h: record_feeder_calibration(
            tank=h["tank"], item=h["food"], portions=201, mass=Mass.g(12), **by(h)
        ),
        'Portions: "201" is not allowed. Allowed: 5 to 200. 20 is usual.',
    ),
    (
        "20 portions of 500 g",
        lambda h: record_feeder_calibration(
            tank=h["tank"], item=h["food"], portions=20, mass=Mass.g(500), **by(h)
        ),
        'One portion: "25000 mg" is not allowed. Allowed: 1 to 20000 mg. Weigh the portions again.',
    ),
    (
        "a feeder of fertiliser",
        lambda h: record_feeder_calibration(
            tank=h["tank"], item=h["fertiliser"], portions=20, mass=Mass.g(1), **by(h)
        ),
        "Complete fertiliser does not come out of a feeder. Choose the food that is in the feeder.",
    ),
    (
        "251 bar",
        lambda h: record_pressure(container=h["cylinder"], pressure_kpa=25_100, **by(h)),
        "Pressure: 251 bar is not allowed. Read the gauge of the cylinder, not that of the working "
        "side.",
    ),
    (
        "-10.5 degrees",
        lambda h: record_pressure(
            container=h["cylinder"], pressure_kpa=5_000, temperature_mdegc=-10_500, **by(h)
        ),
        "Temperature: -10.5 °C is not allowed. Write the temperature of the room, or leave it "
        "empty.",
    ),
    (
        "the gauge of a bottle",
        lambda h: record_pressure(container=h["bottle"], pressure_kpa=100, **by(h)),
        "Pressure: Bottle A is no cylinder. Weigh it instead.",
    ),
    (
        "decant into itself",
        lambda h: decant(source=h["can"], into=h["can"], amount=Volume.ml(10), **by(h)),
        "Source and target are the same container. Read both codes again.",
    ),
    (
        "decant fertiliser into a tub of food",
        lambda h: decant(source=h["can"], into=h["tub"], amount=Volume.ml(10), **by(h)),
        "Tub D is for Fine granules, Can B holds Complete fertiliser. Do not mix them; label each "
        "container with its code.",
    ),
    (
        "decant 100 mL into a full bottle",
        lambda h: decant(source=h["can"], into=h["bottle"], amount=Volume.ml(100), **by(h)),
        "Amount: 100 mL does not fit into Bottle A. Correct the amount, or weigh the target first "
        "if it holds less than was thought.",
    ),
    (
        "fill a full bottle to its line",
        lambda h: decant(source=h["can"], into=h["bottle"], **by(h)),
        "Filled to the line: by the books Bottle A is full already. Weigh it first if it holds "
        "less than was thought.",
    ),
    (
        "receive nothing",
        lambda h: receive(item=h["food"], containers=[], **by(h)),
        "Containers: none was given.",
    ),
    (
        "receive 600 mL in a bottle of 500",
        lambda h: receive(
            item=h["fertiliser"],
            containers=[NewContainer("bottle", Volume.ml(500), Volume.ml(600))],
            **by(h),
        ),
        "Content: 600 mL is more than it holds.",
    ),
    (
        "receive grams of a liquid",
        lambda h: receive(
            item=h["fertiliser"], containers=[NewContainer("bottle", Mass.g(500))], **by(h)
        ),
        "Complete fertiliser is counted as a volume in mL or L, not as 500 g. Write the amount in "
        "that unit.",
    ),
    (
        "count 600 mL in a bottle of 500",
        lambda h: count(container=h["bottle"], counted=Volume.ml(600), **by(h)),
        "Counted: 600 mL is more than Bottle A holds. Check the number and its unit.",
    ),
    (
        "count pieces of a liquid",
        lambda h: count(container=h["bottle"], counted=Pieces(3), **by(h)),
        "Complete fertiliser is counted as a volume in mL or L, not as 3 pcs. Write the amount in "
        "that unit.",
    ),
    (
        "waste without a reason",
        lambda h: waste(container=h["bottle"], amount=Volume.ml(10), reason=" ", **by(h)),
        "Reason: nothing was given. A few words are enough.",
    ),
    (
        "an empty mass of nothing",
        lambda h: retare(container=h["bottle"], tare=Mass(0), reason="weighed", **by(h)),
        "Empty mass: 0 g is not allowed. Check the number; it is asked for in grams.",
    ),
    (
        "an empty mass without a reason",
        lambda h: retare(container=h["bottle"], tare=Mass.g(66), reason="", **by(h)),
        "Reason: nothing was given. Say whether an empty one was weighed or the stamp was read.",
    ),
    (
        "the regulator of a bottle",
        lambda h: retare(container=h["bottle"], regulator=Mass.g(400), reason="weighed", **by(h)),
        "Regulator: Bottle A is no cylinder. Leave it empty.",
    ),
    (
        "a scale that shows 560 g for 500",
        lambda h: check_scale(scale=h["scale"], known=Mass.g(500), showed=Mass.g(560), **by(h)),
        "It showed: 560 g is more than a tenth off. Put it level, empty it, set it to nothing and "
        "try again; if it stays, do not use it.",
    ),
]


@pytest.mark.parametrize(("deed", "words"), [row[1:] for row in TABLE], ids=[r[0] for r in TABLE])
def test_a_refused_value_gets_its_sentence_and_leaves_nothing(
    house: dict[str, Any], deed: Deed, words: str
) -> None:
    before = Movement.objects.count()
    with pytest.raises((Refused, Held)) as caught:
        deed(house)
    no = caught.value
    assert isinstance(no, GalleryError)
    assert str(no) == words
    assert Movement.objects.count() == before
    for facts in (Weighing, EyeCount, PressCalibration, PressureReading):
        assert not facts.objects.exists()


def test_the_edges_of_the_table_are_taken(house: dict[str, Any]) -> None:
    weigh(house, "cylinder", "3742", regulator_on=True)
    weigh(house, "cylinder", "5812", regulator_on=True)
    weigh(house, "bottle", "45")
    weigh(house, "bottle", "640")
    said = {"by": house["senior"], "at": AT + timedelta(minutes=1)}
    record_press_calibration(container=house["bottle"], presses=5, mass=Mass.g(5), **said)
    record_press_calibration(container=house["bottle"], presses=200, mass=Mass.g(200), **said)
    record_eye_count(container=house["bottle"], quarters=0, **said)
    record_eye_count(container=house["bottle"], quarters=4, **said)
    record_pressure(container=house["cylinder"], pressure_kpa=25_000, **said)
    assert Weighing.objects.count() == 4
    assert PressCalibration.objects.count() == 2
