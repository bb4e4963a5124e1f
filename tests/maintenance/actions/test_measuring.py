"""What is measured goes through actions: applied once, held with words, taken back."""

from __future__ import annotations

from typing import Any

import pytest

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.values.quantity import Mass, Volume
from gallery_ops.overview.desk import act
from inventory.models import (
    EyeCount,
    FeederCalibration,
    Movement,
    PressCalibration,
    PressureReading,
    Use,
    Weighing,
)
from maintenance.models import Action, Observation, Verdict
from tests.builders import stock
from tests.maintenance.actions.saying import AT, LAST_MONTH, Morning, a_morning

pytestmark = pytest.mark.django_db


@pytest.fixture
def morning() -> Morning:
    return a_morning()


def weighing(code: str, gross_mg: int, **more: Any) -> dict[str, Any]:
    return {
        "container": code,
        "gross_mg": gross_mg,
        "text": None,
        "scale": None,
        "regulator_on": None,
        **more,
    }


def test_presses_portions_eye_and_gauge_are_kept_once_and_taken_back(morning: Morning) -> None:
    cylinder = stock.a_cylinder(stock.a_gas(morning.house.showroom), at=LAST_MONTH)
    bodies: list[tuple[str, dict[str, Any], Any]] = [
        (
            "press_calibration",
            {
                "container": morning.bottle.code,
                "presses": 20,
                "mass_mg": 19_400,
                "text": "19,4",
                "scale": None,
            },
            PressCalibration,
        ),
        (
            "feeder_calibration",
            {
                "tank": "T01",
                "product": str(morning.house.food.uid),
                "portions": 20,
                "mass_mg": 1_200,
                "text": None,
            },
            FeederCalibration,
        ),
        ("eye_count", {"container": morning.bottle.code, "quarters": 3}, EyeCount),
        (
            "pressure",
            {
                "container": cylinder.code,
                "pressure_kpa": 5_730,
                "temperature_mdegc": 20_000,
                "text": None,
            },
            PressureReading,
        ),
    ]
    for kind, body, facts in bodies:
        said = morning.say(kind, body)
        assert (kind, said.verdict) == (kind, "accepted"), said.words
        assert morning.send([morning.sent[-1]])[0].verdict == "duplicate"
        assert facts.objects.standing().count() == 1, kind
        assert morning.undo(said).verdict == "accepted"
        assert not facts.objects.standing().exists(), kind


def test_a_count_and_a_decant_move_stock_and_a_senior_takes_them_back(morning: Morning) -> None:
    can = stock.a_bottle(morning.house.fertiliser, kind="can", capacity=Volume.l(5), at=LAST_MONTH)
    count = {
        "container": morning.bottle.code,
        "counted_base": 200_000,
        "text": None,
        "reason": "mark",
    }
    counted = morning.say("count", count)
    assert (counted.verdict, morning.level()) == ("accepted", 200_000)
    body = {"source": can.code, "into": morning.bottle.code, "amount_base": None, "text": None}
    poured = morning.say("decant", body)
    assert (poured.verdict, morning.level(), morning.level(can)) == (
        "accepted",
        500_000,
        4_700_000,
    )
    held = morning.undo(poured)
    assert held.verdict == "held"  # a carer may not correct; a senior may
    assert morning.level() == 500_000
    morning.carer.role = "senior_carer"
    morning.carer.save(update_fields=["role"])
    assert morning.undo(poured).verdict == "accepted"
    assert (morning.level(), morning.level(can)) == (200_000, 5_000_000)
    assert morning.undo(counted).verdict == "accepted"
    assert morning.level() == 500_000


def test_a_container_is_opened_partly_wasted_and_finished(morning: Morning) -> None:
    bottle = stock.a_bottle(morning.house.fertiliser, at=LAST_MONTH)

    def say(what: str, amount: int | None = None, reason: str | None = None) -> Any:
        body = {"container": bottle.code, "what": what, "amount_base": amount, "reason": reason}
        return morning.say("container", body)

    assert say("open").verdict == "accepted"
    assert say("waste", 50_000).words == "Reason: nothing was given. Say what happened."
    assert say("waste", 50_000, "knocked over").verdict == "accepted"
    assert morning.level(bottle) == 450_000
    assert say("expiry").reason == "reason_missing"
    done = say("expiry", None, "past its date")
    assert (done.verdict, morning.level(bottle)) == ("accepted", 0)
    bottle.refresh_from_db()
    assert (bottle.opened_on is not None, bottle.finished_on is not None) == (True, True)
    assert Movement.objects.filter(container=bottle).latest("pk").kind == "expiry"
    assert morning.undo(done).reason == "not_to_be_undone"
    assert say("retare", None, "weighed").reason == "not_your_right"


def test_a_scanned_bottle_is_used_and_a_wrong_one_waits_for_a_person(morning: Morning) -> None:
    right = morning.dose(body={"bottle": f"https://gallery.test/containers/{morning.bottle.code}/"})
    assert right.verdict == "accepted"
    assert Use.objects.get().container == morning.bottle
    wrong = morning.dose(tank="T02", body={"bottle": morning.tub.code})
    assert (wrong.verdict, wrong.reason) == ("held", "bottle_other_item")
    assert wrong.words is not None
    assert wrong.words.startswith("Wrong bottle: this is")
    assert wrong.help is not None
    assert wrong.help.startswith("Stop.")
    assert morning.dose(tank="T02", body={"bottle": "nonsense"}).reason == "bottle_unreadable"
    assert Use.objects.count() == 1
    assert morning.dose(tank="T02", body={"bottle": None}).verdict == "accepted"


def test_an_overfilled_cylinder_is_held_and_never_counted(morning: Morning) -> None:
    cylinder = stock.a_cylinder(stock.a_gas(morning.house.showroom), at=LAST_MONTH)
    stock.a_scale(morning.house.showroom, at=LAST_MONTH)
    held = morning.say("weigh", weighing(cylinder.code, 1_901_000))
    assert (held.verdict, held.reason) == ("held", "overfilled")
    assert held.help is not None
    assert "do not use or warm it" in held.help
    assert not Weighing.objects.exists()
    verdict = Verdict.objects.get(action__action_id=held.action_id)
    assert (verdict.outcome, verdict.code) == ("held", "overfilled")


def test_at_a_desk_a_slip_leaves_nothing_and_an_overfilled_cylinder_is_kept(
    morning: Morning,
) -> None:
    cylinder = stock.a_cylinder(stock.a_gas(morning.house.showroom), at=LAST_MONTH)
    stock.a_scale(morning.house.showroom, at=LAST_MONTH)
    before = Action.objects.count()
    with pytest.raises(Refused) as caught:
        act(by=morning.carer, kind="weigh", body=weighing(cylinder.code, 1_000), at=AT)
    assert caught.value.code == "below_empty"
    assert caught.value.fields == {"gross": "Empty: 1350 g."}
    assert Action.objects.count() == before
    with pytest.raises(Refused) as caught:
        act(by=morning.carer, kind="weigh", body=weighing(cylinder.code, 1_901_000), at=AT)
    assert caught.value.code == "overfilled"
    kept = Action.objects.latest("pk")
    assert (Action.objects.count(), kept.kind) == (before + 1, "weigh")
    assert Verdict.objects.filter(action=kept).latest("pk").outcome == "held"
    assert not Weighing.objects.exists()


def test_a_note_and_a_reason_are_kept_beside_the_container(morning: Morning) -> None:
    stock.a_scale(morning.house.showroom, at=LAST_MONTH)
    code = morning.bottle.code
    body = weighing(code, Mass.g(400).mg, note="The pump drips.")
    assert morning.say("weigh", body).verdict == "accepted"
    reason = {"check": "weigh", "reason": "No scale at hand", "container": code}
    assert morning.say("unable", reason).verdict == "accepted"
    rows = Observation.objects.order_by("pk").values_list("kind", "text", "data")
    assert list(rows) == [
        ("note", "The pump drips.", {"container": code}),
        ("unable", "No scale at hand", {"container": code}),
    ]
