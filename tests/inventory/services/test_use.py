"""Does a dose reach the ledger once, from the right container, at what the pump really gives?"""

from datetime import timedelta
from types import SimpleNamespace
from uuid import uuid4

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.errors import Forbidden, Refused, Unknown
from gallery_ops.kernel.models import Device, WorkItem
from gallery_ops.kernel.values.quantity import Mass, Volume
from inventory.models import Movement, SupplyPurpose, Use
from inventory.queries.keys import container_key
from inventory.queries.levels import balance_base
from inventory.queries.uses import already_given, given_on
from inventory.services.calibration import record_press_calibration, ul_per_press
from inventory.services.said import Said
from inventory.services.use import Deed, skip_use, take_back_use, use_all, use_dose, use_food
from inventory.services.weighing import record_weighing
from tests.builders.gallery import AT, a_person, a_showroom, a_tank
from tests.builders.stock import a_bottle, a_fertiliser, a_food, a_plan, a_scale, a_tub, feeds

pytestmark = pytest.mark.django_db


def a_dosed_tank():
    """A 60 L tank on the bottle of its zone, at 3 mL a day, and the carer who doses it."""
    showroom = a_showroom()
    tank = a_tank("T05", showroom=showroom)
    item = a_fertiliser(showroom)
    bottle = a_bottle(item, press_nominal_ul=1000)
    feeds(bottle, purpose="dose", zone="A")
    plan = a_plan(tank, item, Volume.ml(3))
    return tank, item, bottle, plan, a_person("carer", showroom=showroom)


def test_a_dose_takes_its_presses_out_of_the_bottle_of_the_zone():
    tank, item, bottle, plan, carer = a_dosed_tank()
    use = use_dose(tank=tank, item=item, presses=3, by=carer, at=AT)
    assert (use.given_base, use.planned_base, use.ul_per_press) == (3_000, 3_000, 1_000)
    assert use.plan == plan
    assert use.container == bottle
    movement = Movement.objects.get(use=use)
    assert (movement.kind, movement.amount_base) == ("use", -3_000)
    assert balance_base(bottle) == 497_000


def test_a_measured_press_counts_from_its_moment_on_and_not_before():
    # 20 presses weigh 19.4 g at 1.05 g/mL: 924 uL a press. Source: the division, worked by hand.
    tank, item, bottle, _plan, carer = a_dosed_tank()
    record_press_calibration(
        container=bottle, presses=20, mass=Mass.g("19.4"), by=carer, at=AT + timedelta(hours=1)
    )
    late = AT + timedelta(hours=2)
    before = use_dose(
        tank=tank, item=item, presses=3, by=carer, at=late, done_at=AT + timedelta(minutes=59)
    )
    after = use_dose(tank=tank, item=item, presses=3, by=carer, at=late)
    assert (before.given_base, after.given_base) == (3_000, 2_772)
    assert balance_base(bottle) == 500_000 - 3_000 - 2_772
    assert ul_per_press(20, Mass.g("19.4"), 1050) == 924


def test_the_screen_said_one_amount_and_the_presses_gave_another():
    tank, item, bottle, _plan, carer = a_dosed_tank()
    record_press_calibration(container=bottle, presses=20, mass=Mass.g("19.4"), by=carer, at=AT)
    use = use_dose(tank=tank, item=item, presses=3, given=Volume.ml(3), by=carer, at=AT)
    assert use.given_base == 2_772
    assert use.answers == {"shown_base": 3_000}


def test_the_tanks_own_bottle_comes_before_that_of_the_zone():
    tank, item, of_zone, _plan, carer = a_dosed_tank()
    own = a_bottle(item)
    feeds(own, purpose="dose", tank=tank, at=AT + timedelta(hours=1))
    later = AT + timedelta(hours=2)
    assert use_dose(tank=tank, item=item, presses=1, by=carer, at=later).container == own
    earlier = use_dose(tank=tank, item=item, presses=1, by=carer, at=later, done_at=AT)
    assert earlier.container == of_zone


def test_the_same_action_twice_is_one_use_and_one_movement():
    tank, item, bottle, _plan, carer = a_dosed_tank()
    action = uuid4()
    first = use_dose(tank=tank, item=item, presses=3, by=carer, at=AT, action_id=action)
    again = use_dose(tank=tank, item=item, presses=3, by=carer, at=AT, action_id=action)
    assert first == again
    assert Movement.objects.filter(use__isnull=False).count() == 1
    assert balance_base(bottle) == 497_000


def test_a_second_dose_of_the_day_is_seen_and_both_reach_the_ledger():
    tank, item, bottle, _plan, carer = a_dosed_tank()
    use_dose(tank=tank, item=item, presses=3, by=carer, at=AT)
    assert [row.given_base for row in already_given(tank.showroom, tank, item, AT.date())] == [3000]
    use_dose(tank=tank, item=item, presses=3, by=carer, at=AT + timedelta(hours=1))
    rows = already_given(tank.showroom, tank, item, AT.date())
    assert [row.person_name for row in rows] == [carer.person.name] * 2
    assert balance_base(bottle) == 494_000


def test_a_skip_is_written_and_moves_nothing():
    tank, item, bottle, plan, carer = a_dosed_tank()
    use = skip_use(
        tank=tank, item=item, purpose="dose", answers={"reason": "algae"}, by=carer, at=AT
    )
    assert use.is_skip
    assert (use.given_base, use.planned_base, use.plan) == (0, 3_000, plan)
    assert Movement.objects.filter(use=use).count() == 0
    assert balance_base(bottle) == 500_000
    assert already_given(tank.showroom, tank, item, AT.date()) == []
    assert given_on(tank.showroom, AT.date())[tank.pk][0].is_skip


def test_nothing_given_is_a_skip():
    tank, item, _bottle, _plan, carer = a_dosed_tank()
    assert use_dose(tank=tank, item=item, given=Volume(0), by=carer, at=AT).is_skip
    with pytest.raises(Refused, match="nothing was given"):
        use_dose(tank=tank, item=item, by=carer, at=AT)


def test_undone_the_bottle_holds_exactly_what_it_held_and_both_lines_stay():
    tank, item, bottle, _plan, carer = a_dosed_tank()
    use = use_dose(tank=tank, item=item, presses=3, by=carer, at=AT)
    action = uuid4()
    later = AT + timedelta(minutes=5)
    back = take_back_use(use=use, by=carer, at=later, action_id=action)
    assert take_back_use(use=use, by=carer, at=later, action_id=action) == back
    assert balance_base(bottle) == 500_000
    assert list(
        Movement.objects.filter(container=bottle).values_list("amount_base", flat=True)
    ) == [
        500_000,
        -3_000,
        3_000,
    ]
    assert already_given(tank.showroom, tank, item, AT.date()) == []
    assert Use.objects.standing().count() == 0
    with pytest.raises(Refused, match="only takes back"):
        take_back_use(use=back, by=carer, at=later)


def test_care_is_never_blocked_by_an_empty_ledger_or_a_missing_bottle():
    showroom = a_showroom()
    tank = a_tank(showroom=showroom)
    item = a_fertiliser(showroom)
    carer = a_person(showroom=showroom)
    loose = use_dose(tank=tank, item=item, presses=2, by=carer, at=AT)
    assert loose.container is None
    assert Movement.objects.get(use=loose).amount_base == -2_000
    bottle = a_bottle(item, content=Volume.ml(1))
    feeds(bottle, purpose="dose", tank=tank)
    use_dose(tank=tank, item=item, given=Volume.ml(3), by=carer, at=AT)
    assert balance_base(bottle) == -2_000


def test_ten_times_the_plan_is_asked_about_and_believed_when_confirmed():
    tank, item, bottle, _plan, carer = a_dosed_tank()
    with pytest.raises(Refused, match="10 times the plan of 3 mL") as caught:
        use_dose(tank=tank, item=item, given=Volume.ml(30), by=carer, at=AT)
    assert caught.value.code == "ask_again"
    assert balance_base(bottle) == 500_000
    use_dose(tank=tank, item=item, given=Volume.ml(30), asked_again=True, by=carer, at=AT)
    assert balance_base(bottle) == 470_000


def test_food_is_mass_and_a_volume_of_it_is_refused():
    showroom = a_showroom()
    tank = a_tank(showroom=showroom)
    food = a_food(showroom)
    tub = a_tub(food)
    feeds(tub, purpose="food", zone="A")
    carer = a_person(showroom=showroom)
    use_food(tank=tank, item=food, given=Mass.g("0.06"), by=carer, at=AT)
    assert balance_base(tub) == 99_940
    with pytest.raises(Refused, match="a mass in g or kg"):
        use_food(tank=tank, item=food, given=Volume.ml(1), by=carer, at=AT)  # type: ignore[arg-type]


def test_a_closing_round_after_midnight_belongs_to_yesterday():
    tank, item, _bottle, _plan, carer = a_dosed_tank()
    use = use_dose(
        tank=tank, item=item, presses=3, by=carer, at=AT + timedelta(hours=16, minutes=30)
    )
    assert use.business_on == AT.date()


def test_a_tablet_that_runs_slow_is_put_right_by_its_offset():
    tank, item, _bottle, _plan, carer = a_dosed_tank()
    device = Device.objects.create(
        showroom=tank.showroom,
        uid=uuid4(),
        name="tablet",
        token_hash="x" * 64,
        pin_salt=b"0" * 16,
        enrolled_by=carer.person,
        enrolled_at=AT,
        clock_offset_ms=3 * 3_600_000,
    )
    said = AT - timedelta(hours=3)
    use = use_dose(tank=tank, item=item, presses=3, by=carer, at=AT, done_at=said, device=device)
    assert (use.done_at, use.done_at_corrected) == (said, AT)


def test_stock_that_changed_is_thought_of_again():
    tank, item, bottle, _plan, carer = a_dosed_tank()
    WorkItem.objects.all().delete()
    connection.run_on_commit.clear()  # as the end of the transaction would
    use_dose(tank=tank, item=item, presses=3, by=carer, at=AT)
    wanted = set(WorkItem.objects.filter(kind="forecast").values_list("subject", flat=True))
    assert wanted == {container_key(bottle.pk)}, "its item follows from the container's run"


def test_a_stranger_finds_nothing_and_a_guest_may_not():
    tank, item, bottle, _plan, carer = a_dosed_tank()
    stranger = a_person("owner")
    foreign_item = a_fertiliser(stranger.showroom)
    foreign_bottle = a_bottle(foreign_item)
    guest = a_person("guest_designer", showroom=tank.showroom)
    with pytest.raises(Unknown):
        use_dose(tank=tank, item=item, presses=3, by=stranger, at=AT)
    with pytest.raises(Unknown):
        use_dose(tank=tank, item=foreign_item, presses=3, by=carer, at=AT)
    with pytest.raises(Unknown):
        use_dose(tank=tank, item=item, presses=3, container=foreign_bottle, by=carer, at=AT)
    with pytest.raises(Forbidden):
        use_dose(tank=tank, item=item, presses=3, by=guest, at=AT)
    assert balance_base(bottle) == 500_000


def facts(tank):
    """What uses and movements of this house say, without keys."""
    of_use = ("tank", "given_base", "planned_base", "presses", "ul_per_press", "is_skip")
    moved = ("use__tank", "container", "kind", "amount_base", "reason", "done_at_corrected")
    return [
        [*Use.objects.of(tank.showroom).order_by("tank", "done_at").values_list(*of_use)],
        [*Movement.objects.of(tank.showroom).order_by(*moved).values_list(*moved)],
    ]


def test_several_told_together_are_written_as_each_alone_and_in_as_many_statements():
    tank, item, bottle, plan, carer = a_dosed_tank()
    hour, ml = timedelta(hours=1), Volume.ml
    plans = [plan]
    for code in ("T06", "T07", "T08"):
        plans.append(a_plan(a_tank(code, showroom=tank.showroom), item, ml(3)))
    measured = {"container": bottle, "by": carer, "at": AT + hour}
    record_press_calibration(presses=20, mass=Mass.g("19.4"), **measured)
    record_weighing(gross=Mass.g("590"), scale=a_scale(tank.showroom), **measured)
    start = facts(tank)
    # before and after the press was measured, one that comes to nothing, one by the cup
    said = [(0, 3, None), (2, 3, None), (2, 0, None), (3, None, ml(2))]
    deeds = [
        Deed(
            of.tank, item, SupplyPurpose.DOSE, carer, AT + 4 * hour, Said(done_at=AT + late * hour),
            presses=presses, given=given, planned=ml(3), plan=of, container=bottle,
        )
        for of, (late, presses, given) in zip(plans, said, strict=True)
    ]  # fmt: skip
    alone, whole = written(tank, *([deed] for deed in deeds)), written(tank, deeds)
    two, three = written(tank, deeds[1:3]), written(tank, deeds[1:])
    assert facts(tank) == start
    assert whole.facts == alone.facts
    assert [row[1] for row in whole.facts[0]] == [3_000, 2_772, 0, 2_000]
    # three uses moved something, and the scale had seen the first of them already
    assert len(whole.facts[1]) == len(start[1]) + 4
    assert two.statements == three.statements


def written(tank, *told):
    """What these deeds write, and in how many statements; nothing of it stays."""
    with transaction.atomic(), CaptureQueriesContext(connection) as seen:
        for deeds in told:
            use_all(deeds)
        found = SimpleNamespace(statements=len(seen), facts=facts(tank))
        transaction.set_rollback(True)
    return found
