"""The lists and their rows: what they say, how they are narrowed, what strangers do not see."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from gallery_ops.kernel import clock
from gallery_ops.kernel.models import Alert, ApiToken
from gallery_ops.kernel.services.alerts import Wanted, sync_alerts
from gallery_ops.kernel.services.tokens import revoke_token
from gallery_ops.kernel.values.quantity import Volume
from inventory.queries.keys import container_key
from inventory.services.forecasts import refresh
from tanks.models import Layout
from tests.builders import stock
from tests.built_once import built_once
from tests.gallery_ops.api.asking import (
    AT,
    OWN,
    a_browser,
    a_morning,
    a_program,
    credit,
    is_problem,
    opening,
)
from tests.maintenance.house import House, a_carer, a_tank

pytestmark = pytest.mark.django_db

LISTS = [
    *("tanks", "layouts", "items", "containers", "forecasts", "alerts", "due-tasks", "rounds"),
]


def a_full_house(code: str = "undershore") -> House:
    """Two planted tanks and an empty one, a bottle that feeds them, a projection and an alert."""
    house = a_morning(code)
    a_tank(house, "T09", stage="")
    bottle = stock.a_bottle(house.fertiliser, content=Volume.ml(200), at=AT - timedelta(days=20))
    stock.feeds(bottle, purpose="dose", zone="A", at=AT - timedelta(days=20))
    refresh(showroom=house.showroom, subject="", at=AT)
    wanted = Wanted(
        harm_class="B",
        subject_kind="container",
        subject_key=container_key(bottle.pk),
        sentence="The bottle is nearly empty.",
        because=[{"what": "level", "base": 200_000}],
    )
    sync_alerts(showroom=house.showroom, kind="reorder", wanted={"bottle": wanted}, at=AT)
    return house


built, house = built_once(a_full_house)


def rows(client: Client, path: str, **asked: Any) -> list[dict[str, Any]]:
    answer = client.get(f"/api/v1/{path}", asked)
    assert answer.status_code == 200, answer.content
    found: list[dict[str, Any]] = answer.json()["results"]
    return found


def test_a_tank_says_where_it_stands_what_stands_in_it_and_how_much_it_holds(house: House) -> None:
    """Volumes of 60 x 30 x 36 cm glass: geometry, 64.8 L outside and 51.84 L of water at work."""
    browser = a_browser(house.owner)
    tank = browser.get("/api/v1/tanks/t01").json()
    assert (tank["code"], tank["stage"], tank["room"], tank["zone"]) == (
        "T01", "show", "North Room", "A",
    )  # fmt: skip
    assert tank["outer_volume"] == {"amount": 64_800_000, "unit": "uL", "text": "64.8 L"}
    assert tank["working_volume"]["amount"] == 51_840_000
    assert "id" not in tank


def test_tanks_are_narrowed_by_stage_room_and_zone(house: House) -> None:
    browser = a_browser(house.owner)
    assert [row["code"] for row in rows(browser, "tanks")] == ["T01", "T02", "T09"]
    assert [row["code"] for row in rows(browser, "tanks", stage="vacant")] == ["T09"]
    assert len(rows(browser, "tanks", room="north room", zone="a")) == 3
    assert rows(browser, "tanks", zone="B") == []
    fault = is_problem(browser.get("/api/v1/tanks?stage=frozen"), 400, "invalid")
    assert "frozen" in fault["fields"]["stage"]


def test_amounts_are_written_with_the_gallerys_decimal_mark(house: House) -> None:
    house.showroom.decimal_mark = ","
    house.showroom.save(update_fields=["decimal_mark"])
    tank = a_browser(house.owner).get("/api/v1/tanks/T01").json()
    assert tank["outer_volume"]["text"] == "64,8 L"


def test_a_container_says_its_level_and_is_found_by_its_code(house: House) -> None:
    browser = a_browser(house.owner)
    (row,) = rows(browser, "containers", item="fertiliser")
    assert row["level"] == {"amount": 200_000, "unit": "uL", "text": "200 mL"}
    assert browser.get(f"/api/v1/containers/{row['code']}").json() == row
    assert rows(browser, "containers", state="finished") == []


def test_a_projection_names_its_item_and_its_because(house: House) -> None:
    browser = a_browser(house.owner)
    found = rows(browser, "forecasts", item="fertiliser")
    (row,) = [one for one in found if one["container"] is None]
    assert [one for one in found if one["container"]] == rows(
        browser, "forecasts", container=rows(browser, "containers")[0]["code"]
    )
    assert row["level"]["amount"] == 200_000
    assert row["plan_per_day"]["amount"] == 6000
    assert row["earliest_on"] <= row["likely_on"] <= row["latest_on"]
    assert {"last_measured", "plan"} <= {line["what"] for line in row["because"]}


def test_an_alert_is_answered_once_by_a_manager_and_not_by_a_carer(house: House) -> None:
    alert = Alert.objects.get(showroom=house.showroom, kind="reorder", cause_key="reorder:bottle")
    address = f"/api/v1/alerts/{alert.uid}/acknowledge"
    carer = a_browser(a_carer(house, "Bram Tolliver", "C1"))
    is_problem(carer.post(address, headers=OWN), 403, "not_allowed")
    owner = a_browser(house.owner)
    first = owner.post(address, headers=OWN).json()
    assert first["acknowledged_by"] == "Maud Ellerkamp"
    assert first["state"] == "open"
    assert owner.post(address, headers=OWN).json() == first
    assert [row["uid"] for row in rows(owner, "alerts", acknowledged="true")] == [str(alert.uid)]
    strict = a_browser(house.owner, enforce_csrf_checks=True)
    is_problem(strict.post(address), 403, "from_elsewhere")


def test_an_alert_names_its_subject_by_code(house: House) -> None:
    browser = a_browser(house.owner)
    (container,) = rows(browser, "containers", item="fertiliser")
    (alert,) = rows(browser, "alerts", kind="reorder", state="open")
    assert alert["subject"] == {"kind": "container", "code": container["code"]}
    assert alert["because"] == [{"what": "level", "base": 200_000}]


def test_due_tasks_are_narrowed_by_day_tank_kind_and_state(house: House) -> None:
    browser = a_browser(house.owner)
    asked = {"on": "2026-03-12", "tank": "t01", "kind": "dose", "state": "open"}
    (row,) = rows(browser, "due-tasks", **asked)
    assert (row["tank"], row["kind"], row["harm_class"]) == ("T01", "dose", "B")
    assert browser.get(f"/api/v1/due-tasks/{row['uid']}").json() == row
    assert rows(browser, "due-tasks", on="2026-03-12", harm_class="A", state="done") == []
    fault = is_problem(browser.get("/api/v1/due-tasks?on=yesterday"), 400, "invalid")
    assert list(fault["fields"]) == ["on"]


def test_a_look_of_eight_oclock_is_late_when_its_half_hour_has_gone_by(
    monkeypatch: pytest.MonkeyPatch, house: House
) -> None:
    browser = a_browser(house.owner)
    asked = {"on": "2026-03-12", "kind": "look", "tank": "T01"}
    (now,) = [r for r in rows(browser, "due-tasks", **asked) if r["round_kind"] == "opening"]
    monkeypatch.setattr(clock, "now", lambda: AT + timedelta(hours=6))
    (later,) = [r for r in rows(browser, "due-tasks", **asked) if r["round_kind"] == "opening"]
    assert (now["is_late"], later["is_late"]) == (False, True)


def test_rounds_of_a_day_lead_to_their_pack(house: House) -> None:
    browser = a_browser(house.owner)
    (row,) = rows(browser, "rounds", kind="opening")
    assert row["uid"] == str(opening(house).uid)
    assert browser.get(row["pack"]).status_code == 200
    assert browser.get(f"/api/v1/rounds/{row['uid']}").json() == row
    assert rows(browser, "rounds", on="2026-03-01") == []
    is_problem(browser.get("/api/v1/rounds?kind=evening"), 400, "invalid")


def test_a_guest_designer_reads_own_layouts_and_nothing_else(house: House) -> None:
    guest = a_carer(house, "Gita Rowe", role="guest_designer")
    credit(house, Layout.objects.filter(tank=house.tanks["T02"]).get(), guest)
    browser = a_browser(guest)
    assert [row["tank"] for row in rows(browser, "layouts")] == ["T02"]
    for path in LISTS:
        if path != "layouts":
            is_problem(browser.get(f"/api/v1/{path}"), 403, "not_allowed")


@pytest.mark.parametrize("path", LISTS)
def test_nobody_is_asked_to_sign_in(path: str) -> None:
    answer = Client().get(f"/api/v1/{path}")
    is_problem(answer, 401, "sign_in_first")
    assert answer["WWW-Authenticate"].startswith("Bearer")


@pytest.mark.parametrize("path", LISTS)
def test_a_list_holds_nothing_of_another_gallery(path: str, house: House) -> None:
    other = a_browser(a_carer(a_morning("otherhall", tanks=0), "Iris Vance", "C1"))
    found = rows(other, path)
    assert not any(row.get("tank") for row in found)
    assert not any(row.get("code") == "T01" for row in found)
    if path not in {"items", "due-tasks"}:
        assert found == []


def test_every_row_of_another_gallery_answers_like_one_that_is_not_there(house: House) -> None:
    ours = a_browser(house.owner)
    other = a_browser(a_morning("otherhall", tanks=0).owner)
    nowhere = "019526a1-0000-7000-8000-000000000000"
    names = {
        "tanks": ("T01", "T77"),
        "containers": (rows(ours, "containers")[0]["code"], "ZZZZZZZZ"),
        "alerts": (rows(ours, "alerts")[0]["uid"], nowhere),
        "due-tasks": (rows(ours, "due-tasks")[0]["uid"], nowhere),
        "rounds": (rows(ours, "rounds")[0]["uid"], nowhere),
    }
    for path, (theirs, none) in names.items():
        assert ours.get(f"/api/v1/{path}/{theirs}").status_code == 200
        foreign = is_problem(other.get(f"/api/v1/{path}/{theirs}"), 404, "unknown")
        assert is_problem(other.get(f"/api/v1/{path}/{none}"), 404, "unknown") == foreign
    alert = names["alerts"][0]
    refused = other.post(f"/api/v1/alerts/{alert}/acknowledge", headers=OWN)
    is_problem(refused, 404, "unknown")


def test_pages_are_bounded_and_a_wrong_one_is_named(house: House) -> None:
    browser = a_browser(house.owner)
    answer = browser.get("/api/v1/tanks?page_size=2").json()
    assert (answer["count"], len(answer["results"]), answer["previous"]) == (3, 2, None)
    assert answer["next"].endswith("/api/v1/tanks?page=2&page_size=2")
    for wrong in ("page=0", "page=x", "page=9", "page_size=201", "page_size=-1"):
        fault = is_problem(browser.get(f"/api/v1/tanks?{wrong}"), 400, "invalid")
        assert list(fault["fields"]) == [wrong.partition("=")[0]]


def test_a_program_may_do_what_its_token_says_until_it_is_revoked(house: House) -> None:
    headers = a_program(house, "read")
    assert Client().get("/api/v1/tanks", headers=headers).status_code == 200
    alert = Alert.objects.filter(showroom=house.showroom).first()
    assert alert is not None
    address = f"/api/v1/alerts/{alert.uid}/acknowledge"
    is_problem(Client().post(address, headers=headers), 403, "not_allowed")
    token = ApiToken.objects.get(showroom=house.showroom)
    assert token.used_at == AT
    revoke_token(token=token, by=house.owner, at=AT)
    is_problem(Client().get("/api/v1/tanks", headers=headers), 401, "sign_in_first")
    wrong = {"Authorization": "Bearer guessed"}
    is_problem(Client().get("/api/v1/tanks", headers=wrong), 401, "sign_in_first")


def test_nothing_odd_in_an_address_breaks_an_endpoint(house: House) -> None:
    browser = a_browser(house.owner)
    for path in ("tanks/%00", "items/%00x", "containers/" + "A" * 400, "tanks/%F0%9F%90%9F"):
        is_problem(browser.get(f"/api/v1/{path}"), 404, "unknown")
    for asked in ("room=%00", "zone=%00"):
        is_problem(browser.get(f"/api/v1/tanks?{asked}"), 400, "invalid")
    for path in ("", "nothing", "tanks/", "tanks/T01/x", "rounds/7", "alerts/1"):
        is_problem(browser.get(f"/api/v1/{path}"), 404, "unknown")
        is_problem(Client().delete(f"/api/v1/{path}"), 404, "unknown")


def test_wrong_verbs_and_wrong_forms_are_problems_too(house: House) -> None:
    browser = a_browser(house.owner)
    is_problem(browser.delete("/api/v1/tanks", headers=OWN), 405, "no_such_method")
    is_problem(browser.get("/api/v1/tanks", headers={"Accept": "text/html"}), 406, "not_acceptable")
