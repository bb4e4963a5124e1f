"""An old code leads on: staff, visitors and programs come to the tank that stands for it now."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.contrib.messages import get_messages
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import AuditEntry
from gallery_ops.overview.apart import Part, join, part, take_out
from gallery_ops.overview.back import take_back
from gallery_ops.overview.find import find_tank
from gallery_ops.overview.new_glass import Glass, reglaze
from gallery_ops.overview.spec_of import spec_page
from inventory.queries.livestock import heads
from inventory.services.leaving import move_heads
from tanks.models import Tank
from tanks.queries.as_of import fleet_as_of, tank_as_of
from tanks.queries.old_codes import OldCode, old_codes
from tanks.queries.tanks import fleet, tank_by_code
from tanks.services.placements import into_service, rename_tank
from tanks.services.publishing import give_public_code
from tests.builders.fleet import AT, Fleet, a_fleet
from tests.builders.people import a_member
from tests.gallery_ops.web.pages.addresses import signed_in

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)
DAY = timedelta(days=1)
NOW = AT + 3 * DAY


@pytest.fixture
def house(monkeypatch: pytest.MonkeyPatch) -> Fleet:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", NOW.isoformat()[:16])
    return a_fleet(4, with_work=False)


def code_of(tank: Tank) -> str:
    return str(tank.codes.order_by("-from_at")[0].code)


def joined(house: Fleet) -> tuple[str, str, str]:
    """One tank was renamed and went into another, which was renamed and got new glass."""
    gone, into = house.tanks[0], house.tanks[1]
    first, last = code_of(gone), code_of(into)
    rename_tank(tank=gone, code="OLD2", by=house.owner, at=AT + HOUR)
    join(by=house.owner, code="OLD2", into=last, at=AT + DAY, reason="One pair was left")
    rename_tank(tank=into, code="NEW1", by=house.owner, at=AT + DAY + HOUR)
    glass = Glass(900, 450, 450, 8, "low_iron")
    seen = str(into.pk)
    reglaze(by=house.owner, code="NEW1", wanted=glass, at=AT + 2 * DAY, reason="X", seen=seen)
    return first, "OLD2", last


def empty(house: Fleet, code: str) -> None:
    """All its animals go elsewhere."""
    tank = tank_by_code(house.showroom, code, AT).tank
    counts = {head.batch_id: head.count for head in heads(house.showroom, AT, tank_ids=[tank.pk])}
    goes = {"tank_from": tank, "tank_to": house.tanks[3], "counts": counts}
    move_heads(**goes, by=house.owner, at=AT + HOUR, note="Out of it")


def said(answer: HttpResponse) -> list[str]:
    return [str(message) for message in get_messages(answer.wsgi_request)]


def test_staff_come_to_the_tank_that_stands_and_read_what_the_code_was(house: Fleet) -> None:
    first, second, last = joined(house)
    staff = signed_in(a_member(house.owner, "carer"))
    for code, words in (
        (second.lower(), "OLD2 stood until yesterday"),
        (first, f"{first} stood until"),
        (last, f"NEW1 was {last} until"),
    ):
        answer = staff.get(reverse("tank_detail", args=[code]))
        assert answer.headers["Location"] == reverse("tank_detail", args=["NEW1"]), code
        assert any(words.split(" until")[0] in line for line in said(answer)), (code, said(answer))
    page = staff.get(reverse("tank_detail", args=["NEW1"])).content.decode()
    assert f"was <b>{last}</b> until" in page
    assert "<b>OLD2</b> stood until" in page
    assert reverse("tank_then", args=["OLD2"]) in page
    own = staff.get(reverse("tank_detail", args=[second]) + "?own")
    assert own.status_code == 200
    assert "What lived there went into" in own.content.decode()
    stray = staff.get(reverse("tank_detail", args=[first]) + "?own")
    assert stray.headers["Location"] == reverse("tank_detail", args=[second]) + "?own"
    then = staff.get(reverse("tank_then", args=[second]) + "?on=2026-03-12").content.decode()
    assert "Went into" in then
    assert "Another glass" not in then
    later = staff.get(reverse("tank_then", args=[second]) + "?on=2026-03-14").content.decode()
    assert "Nothing stood here on that day" in later
    assert "What lived there went into" in later
    assert [row.code for row in find_tank(house.showroom, last, NOW)] == ["NEW1"]


def test_a_visitor_with_the_label_of_a_joined_tank_reads_of_the_one_with_new_glass(
    house: Fleet,
) -> None:
    label = give_public_code(tank=house.tanks[0], by=house.owner, at=AT).code
    joined(house)
    page = spec_page(label, NOW)
    assert page.label == "NEW1"
    assert page.size is not None
    assert page.size.length_mm == 900
    assert [row.code for row in find_tank(house.showroom, label, NOW)] == ["NEW1"]


def test_programs_are_led_on_and_read_the_codes_of_before(house: Fleet) -> None:
    first, _second, last = joined(house)
    program: Client = signed_in(house.owner)
    answer = program.get(f"/api/v1/tanks/{first}")
    assert (answer.status_code, answer.headers["Location"]) == (307, "/api/v1/tanks/NEW1")
    assert {**answer.json(), "until": ""} == {
        "code": first, "until": "", "relation": "joined", "now": "NEW1",
    }  # fmt: skip
    assert program.get(f"/api/v1/tanks/{last}").json()["relation"] == "renamed"
    tank = program.get(answer.headers["Location"]).json()
    before = [(row["code"], row["relation"]) for row in tank["codes_before"]]
    assert before == [(last, "renamed"), ("OLD2", "joined"), (first, "joined")]
    take_out_code = code_of(house.tanks[2])
    empty(house, take_out_code)
    take_out(by=house.owner, code=take_out_code, at=AT + 2 * DAY, reason="Leaks")
    assert program.get(f"/api/v1/tanks/{take_out_code}").status_code == 404
    assert program.get("/api/v1/tanks/%00").status_code == 404


def test_a_code_that_another_tank_has_by_now_leads_there_and_its_past_stays_its_own(
    house: Fleet,
) -> None:
    one, other = house.tanks[0], house.tanks[1]
    code, second = code_of(one), code_of(other)
    rename_tank(tank=one, code="N1", by=house.owner, at=AT + DAY)
    with pytest.raises(Refused, match="Another tank has this code"):
        rename_tank(tank=other, code="n1", by=house.owner, at=AT + DAY)
    rename_tank(tank=other, code=code, by=house.owner, at=AT + 2 * DAY)
    for at, tank in ((AT + HOUR, one), (AT + DAY + HOUR, other), (NOW, other)):
        found = tank_as_of(house.showroom, code, at)
        assert found is not None
        assert found.tank == tank, at
    assert tank_by_code(house.showroom, code, NOW).tank == other
    assert tank_by_code(house.showroom, second, NOW).code == code
    found = old_codes(house.showroom, [one.pk, other.pk], NOW)
    assert found == {
        one.pk: [OldCode(code, AT + DAY, "renamed", is_free=False)],
        other.pk: [OldCode(second, AT + 2 * DAY, "renamed")],
    }
    page = signed_in(house.owner).get(reverse("tank_detail", args=["N1"])).content.decode()
    assert "another tank is called so now" in page


def test_out_of_service_it_returns_vacant_with_a_gap_and_a_name_for_it(house: Fleet) -> None:
    tank, client = house.tanks[0], signed_in(house.owner)
    code, place = code_of(tank), tank.placements.get().position_id
    label = give_public_code(tank=tank, by=house.owner, at=AT).code
    empty(house, code)
    take_out(by=house.owner, code=code, at=AT + DAY, reason="It leaks")
    address = reverse("tank_back", args=[code])
    assert client.get(reverse("tank_change", args=[code])).headers["Location"] == address
    assert address in client.get(reverse("tank_detail", args=[code])).content.decode()
    page = client.get(address).content.decode()
    assert f'value="{place}" selected' in page
    typed = {"deed": "back", "code": code, "place": str(place), "reason": "New silicone"}
    taken = house.tanks[1].placements.get().position_id
    for wrong, words in (
        ({"code": code_of(house.tanks[1]).lower()}, "Another tank has this code"),
        ({"code": " "}, "The tank has no code"),
        ({"place": str(taken)}, "This place is not free"),
        ({"reason": ""}, "nothing was said"),
    ):
        answer = client.post(address, {**typed, **wrong})
        assert answer.status_code == 422, wrong
        assert words in answer.content.decode(), wrong
        assert "reason" in wrong or 'value="New silicone"' in answer.content.decode()
    assert Tank.objects.get(pk=tank.pk).retired_at is not None
    carer = signed_in(a_member(house.owner, "carer"))
    assert carer.post(address, typed).status_code == 403
    assert client.post(address, typed).headers["Location"] == reverse("tank_detail", args=[code])
    for at, stands in ((AT, True), (AT + 2 * DAY, False), (NOW + HOUR, True)):
        codes = {row.code for row in fleet(house.showroom, at)}
        assert codes == {row.code for row in fleet_as_of(house.showroom, at)}
        assert (code in codes) is stands, at
    now = tank_by_code(house.showroom, code, NOW + HOUR)
    assert (now.tank, now.layout, now.position and now.position.pk) == (tank, None, place)
    assert spec_page(label, NOW + HOUR).state == "empty"
    trail = AuditEntry.objects.filter(deed="tank.into_service").get()
    assert (trail.reason, trail.before["retired_at"]) == (
        "New silicone", (AT + DAY).isoformat(),
    )  # fmt: skip
    again = client.post(address, typed)
    assert "This tank is in service" in again.content.decode()


def test_a_joined_tank_and_a_glass_that_was_replaced_do_not_return(house: Fleet) -> None:
    joined(house)
    how = {"position": None, "by": house.owner, "at": NOW, "reason": "Why not"}
    with pytest.raises(Refused, match="went into another tank"):
        take_back(by=house.owner, code="OLD2", new_code="T9", place="", at=NOW, reason="Why not")
    with pytest.raises(Refused, match="Another glass stands in its place"):
        into_service(tank=house.tanks[1], code="T9", **how)
    page = signed_in(house.owner).get(reverse("tank_back", args=["OLD2"])).content.decode()
    assert "OLD2 does not return" in page
    assert 'name="deed"' not in page


def test_a_part_that_went_returns_as_itself(house: Fleet) -> None:
    tank = house.tanks[0]
    wanted = Part("P1", Glass(450, 300, 300, 6, "float"), "", {})
    made = part(code=code_of(tank), wanted=wanted, at=AT, by=house.owner, reason="A wall")
    take_out(by=house.owner, code="P1", at=AT + DAY, reason="Leaks")
    back = take_back(
        by=house.owner, code="P1", new_code="P2", place="", at=AT + 2 * DAY, reason="Tight"
    )
    assert (back.tank, back.code, back.tank.came_from) == (made.tank, "P2", tank)
    found = tank_as_of(house.showroom, "P1", AT + 2 * DAY)
    assert found is not None
    assert found.code == "P2"
