"""Twelve bottles and eight cylinders in one sitting on a tablet, by taps and digits alone."""

from __future__ import annotations

import time
from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import Browser, Page

from gallery_ops.kernel import clock
from gallery_ops.kernel.values.quantity import Mass
from inventory.models import Weighing
from inventory.services.weighing import record_weighing
from tests.builders.gallery import AT, a_person, a_showroom, a_tank, an_owner
from tests.builders.stock import a_bottle, a_cylinder, a_fertiliser, a_gas, a_scale, feeds
from tests.gallery_ops.web.pages.addresses import signed_in

pytestmark = [pytest.mark.browser, pytest.mark.once, pytest.mark.django_db(transaction=True)]

LAST_WEEK = AT - timedelta(days=7)
BOTTLES, CYLINDERS = 12, 8


@pytest.fixture(autouse=True)
def on_the_morning(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T08:08")
    monkeypatch.setattr(clock, "_started", time.monotonic())


class Hand:
    """A thumb that counts its taps; digits are typed into the field that has the focus."""

    def __init__(self, page: Page) -> None:
        self.page, self.taps = page, 0

    def tap(self, what: str) -> None:
        self.taps += 1
        self.page.tap(what)

    def weigh(self, gross_g: int) -> None:
        self.page.wait_for_selector("#gross")
        assert self.page.input_value("#gross") == ""
        self.page.keyboard.type(str(gross_g))
        if self.page.locator("input[name=regulator]").count():
            self.tap("label:has(input[name=regulator][value=on])")
        self.tap("button[name=write]")


def a_house() -> Any:
    """A scale, twelve bottles and eight cylinders with regulators, all weighed last week."""
    showroom = a_showroom(at=LAST_WEEK)
    an_owner(showroom, at=LAST_WEEK)
    fertiliser = a_fertiliser(showroom, count_class="A", at=LAST_WEEK)
    gas = a_gas(showroom, count_class="A", at=LAST_WEEK)
    scale, carer = a_scale(showroom, at=LAST_WEEK), a_person(showroom=showroom, at=LAST_WEEK)
    for n in range(BOTTLES):
        tank = a_tank(f"T{n + 1:02}", showroom=showroom, at=LAST_WEEK)
        bottle = a_bottle(fertiliser, name=f"Bottle {n + 1}", at=LAST_WEEK)
        feeds(bottle, purpose="dose", tank=tank, at=LAST_WEEK)
        record_weighing(container=bottle, gross=Mass.g(500), scale=scale, by=carer, at=LAST_WEEK)
        if n < CYLINDERS:
            cylinder = a_cylinder(gas, tank=tank, regulator=Mass.g(412), at=LAST_WEEK)
            record_weighing(
                container=cylinder,
                gross=Mass.g(2200),
                regulator_on=True,
                scale=scale,
                by=carer,
                at=LAST_WEEK,
            )
    return carer


def test_a_bottle_is_one_tap_and_a_cylinder_two(live_server: Any, browser: Browser) -> None:
    carer = a_house()
    session = signed_in(carer).cookies["sessionid"].value
    context = browser.new_context(has_touch=True, viewport={"width": 820, "height": 1180})
    context.add_cookies([{"name": "sessionid", "value": session, "url": live_server.url}])
    page = context.new_page()
    page.goto(live_server.url + reverse("weigh_list"))
    assert "0 of 20 measured this week." in page.inner_text("h1")
    hand = Hand(page)
    hand.tap("a.btn-act")
    for n in range(BOTTLES + CYLINDERS):
        page.wait_for_selector(f".crumb:has-text('weighing {n + 1} of 20')")
        is_cylinder = page.inner_text("h1").startswith("Cylinder")
        at_hand = page.locator("button[name=write]").bounding_box()
        assert at_hand is not None
        assert at_hand["y"] + at_hand["height"] < 1180  # without scrolling
        hand.weigh(2180 if is_cylinder else 480)
    page.wait_for_selector("h1:has-text('All of this week is measured.')")
    assert hand.taps == 1 + BOTTLES + 2 * CYLINDERS
    context.close()
    found = Weighing.objects.filter(entered_at__gt=AT).values_list("gross_mg", flat=True)
    assert sorted(found) == [480_000] * BOTTLES + [2_180_000] * CYLINDERS


def test_plus_begins_at_the_last_value_and_says_so(live_server: Any, browser: Browser) -> None:
    carer = a_house()
    session = signed_in(carer).cookies["sessionid"].value
    context = browser.new_context(has_touch=True, viewport={"width": 820, "height": 1180})
    context.add_cookies([{"name": "sessionid", "value": session, "url": live_server.url}])
    page = context.new_page()
    page.goto(live_server.url + reverse("weigh_list"))
    page.tap("a.btn-act")
    page.wait_for_selector("button[data-way=less]:visible")
    assert page.input_value("#gross") == ""
    page.tap("button[data-way=less]")
    assert page.input_value("#gross") == "500"
    assert "Begun at the last value." in page.inner_text("[data-step-words]")
    page.tap("button[data-way=less]")
    page.tap("button[data-way=less]")
    page.tap("button[data-way=more]")
    assert page.input_value("#gross") == "499"
    context.close()
