"""What was tapped comes in: from a tablet, a desk or a program, once each, with a verdict."""

from __future__ import annotations

import random
from datetime import timedelta

import pytest
from django.test import Client

from gallery_ops.kernel.queries.people import current_epoch
from gallery_ops.kernel.services.devices import revoke_device
from gallery_ops.overview.who import DEVICE_COOKIE, DEVICE_KEY, TOUCHED_KEY
from inventory.models import Movement, Use
from maintenance.models import Action, Observation, Verdict
from tests.built_once import built_once
from tests.gallery_ops.api.asking import (
    AT,
    OUTBOX,
    a_batch,
    a_browser,
    a_dose,
    a_morning,
    a_note,
    a_program,
    a_tablet,
    enrolled,
    is_problem,
    schema_of,
    send,
    verdicts,
)
from tests.maintenance.house import House

pytestmark = pytest.mark.django_db

built, house = built_once(a_morning)


def test_a_dose_from_a_tablet_reaches_the_ledger_and_the_answer_is_as_described(
    house: House,
) -> None:
    tablet = enrolled(house)
    answer = send(a_tablet(tablet), a_batch(str(tablet.device.uid), a_dose(house, seq=1)))
    body = answer.json()
    assert (
        list(schema_of("maintenance/actions/outbox.schema.json", "answer").iter_errors(body)) == []
    )
    assert verdicts(answer) == ["accepted"]
    assert body["received_up_to"] == 1
    assert body["epoch"] == str(current_epoch())
    assert [use.given_base for use in Use.objects.filter(showroom=house.showroom)] == [3000]


def test_gaps_in_the_count_are_named(house: House) -> None:
    tablet = enrolled(house)
    notes = [a_note(house, seq=seq) for seq in (1, 2, 5)]
    body = send(a_tablet(tablet), a_batch(str(tablet.device.uid), *notes)).json()
    assert (body["received_up_to"], body["missing"]) == (2, [3, 4])


def test_an_empty_batch_asks_only_for_clock_and_count(house: House) -> None:
    tablet = enrolled(house)
    body = send(a_tablet(tablet), a_batch(str(tablet.device.uid))).json()
    assert (body["verdicts"], body["received_up_to"]) == ([], 0)


def test_two_hundred_actions_sent_three_times_in_any_order_count_once() -> None:
    house = a_morning("otherhall", tanks=3)
    tablet = enrolled(house)
    client, uid = a_tablet(tablet), str(tablet.device.uid)
    actions = [a_note(house, f"line {n}", seq=n) for n in range(1, 198)]
    actions += [a_dose(house, f"T0{n}", seq=197 + n) for n in (1, 2, 3)]
    chance, final = random.Random(7), {}
    for turn in range(3):
        mixed = chance.sample(actions, len(actions))
        for start in range(0, 200, 100):
            part = mixed[start : start + 100]
            said = verdicts(send(client, a_batch(uid, *part)))
            for action, verdict in zip(part, said, strict=True):
                final.setdefault(action["action_id"], []).append(verdict)
        assert Action.objects.filter(showroom=house.showroom).count() == 200, turn
    assert set(map(tuple, final.values())) == {("accepted", "duplicate", "duplicate")}
    assert Observation.objects.filter(showroom=house.showroom).count() == 197
    spent = Movement.objects.filter(showroom=house.showroom, kind="use")
    assert sum(row.amount_base for row in spent) == -3 * 3000
    assert send(client, a_batch(uid)).json()["received_up_to"] == 200


def test_a_revoked_tablets_batch_is_kept_and_nothing_follows_from_it(house: House) -> None:
    tablet = enrolled(house)
    revoke_device(device=tablet.device, by=house.owner, at=AT)
    batch = a_batch(str(tablet.device.uid), a_dose(house))
    answer = send(a_tablet(tablet), batch)
    assert verdicts(answer) == ["held"]
    assert answer.json()["verdicts"][0]["reason"] == "device_revoked"
    assert Action.objects.filter(showroom=house.showroom).count() == 1
    assert not Use.objects.filter(showroom=house.showroom).exists()
    assert verdicts(send(a_tablet(tablet), batch)) == ["held"]
    assert Verdict.objects.filter(showroom=house.showroom).count() == 1


def test_a_tablet_that_locked_itself_still_sends_what_it_holds(house: House) -> None:
    tablet = enrolled(house)
    client = a_browser(house.owner)
    client.cookies[DEVICE_COOKIE] = tablet.token
    session = client.session
    session[DEVICE_KEY] = tablet.device.pk
    session[TOUCHED_KEY] = (AT - timedelta(minutes=11)).timestamp()
    session.save()
    is_problem(client.get("/api/v1/tanks"), 401, "sign_in_first")
    batch = a_batch(str(tablet.device.uid), a_note(house))
    assert verdicts(send(client, batch)) == ["accepted"]


def test_a_desk_speaks_for_the_person_who_sits_there_and_for_nobody_else(house: House) -> None:
    other = a_note(house, person_id="019526a1-0000-7000-8000-000000000000")
    answer = send(a_browser(house.owner), a_batch("desk", a_note(house), other))
    assert verdicts(answer) == ["accepted", "held"]


def test_a_program_sends_with_its_token_and_needs_the_right(house: House) -> None:
    batch = a_batch("desk", a_note(house))
    is_problem(send(Client(), batch, headers=a_program(house, "read")), 403, "not_allowed")
    assert verdicts(send(Client(), batch, headers=a_program(house, "record"))) == ["accepted"]


def test_nobody_and_a_strangers_tablet_send_nothing(house: House) -> None:
    other = a_morning("otherhall", tanks=1)
    batch = a_batch("desk", a_note(house))
    is_problem(send(Client(), batch), 401, "sign_in_first")
    stranger = enrolled(other)
    named_ours = a_batch(str(enrolled(house).device.uid), a_note(house))
    is_problem(send(a_tablet(stranger), named_ours), 403, "device_unknown")
    theirs = a_batch(str(stranger.device.uid), a_note(house))
    assert verdicts(send(a_tablet(stranger), theirs)) == ["held"]
    assert not Observation.objects.filter(showroom=house.showroom).exists()
    assert not Observation.objects.filter(showroom=other.showroom).exists()


def test_a_page_of_another_origin_cannot_send_with_our_cookies(house: House) -> None:
    browser, batch = a_browser(house.owner, enforce_csrf_checks=True), a_batch("desk")
    is_problem(send(browser, batch, headers={}), 403, "from_elsewhere")
    foreign = {"X-Gallery-Ops": "outbox", "Origin": "https://elsewhere.example"}
    is_problem(send(browser, batch, headers=foreign), 403, "from_elsewhere")
    ours = {"X-Gallery-Ops": "outbox", "Origin": "http://testserver"}
    assert verdicts(send(browser, batch, headers=ours)) == []
    token = browser.get("/sign-in/").cookies["csrftoken"].value
    assert verdicts(send(browser, batch, headers={"X-CSRFToken": token})) == []


def test_the_outbox_only_takes_post(house: House) -> None:
    is_problem(a_browser(house.owner).get(OUTBOX), 405, "no_such_method")
