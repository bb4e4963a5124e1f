"""A guest designer reads their own layouts and nothing else."""

import pytest
from django.test import Client
from django.urls import reverse

from tanks.queries.layouts import layout_at
from tanks.services.layouts import add_designer, change_layout
from tests.builders.gallery import AT, a_person, a_planted_tank, an_owner

pytestmark = pytest.mark.django_db


@pytest.fixture
def house():
    """Two tanks, one of them by the guest."""
    mine = a_planted_tank("T01")
    a_planted_tank("T02", showroom=mine.showroom)
    guest = a_person("guest_designer", showroom=mine.showroom)
    boss = an_owner(mine.showroom)
    designer = add_designer(
        showroom=mine.showroom, name="Corvin Aldaye", person=guest.person, by=boss, at=AT
    )
    change_layout(layout=layout_at(mine, AT), designer=designer, by=boss, at=AT)
    return guest


@pytest.fixture
def client(house):
    client = Client()
    client.force_login(house.person)
    return client


def test_they_see_their_own_and_not_the_other(client):
    words = client.get(reverse("own_layouts")).content.decode()
    assert "Layout of T01" in words
    assert "Layout of T02" not in words


@pytest.mark.parametrize("name", ["day_board", "tank_wall", "stock_forecast", "alert_list"])
def test_staff_pages_are_not_theirs_and_say_whom_to_ask(client, name):
    answer = client.get(reverse(name))
    assert answer.status_code == 403
    assert "Guest designer may not" in answer.content.decode()


def test_no_entry_of_the_masthead_leads_where_they_may_not_go(client):
    assert 'data-jump="t"' not in client.get(reverse("own_layouts")).content.decode()


def test_a_carer_is_no_designer(house):
    carer = a_person("carer", showroom=house.showroom)
    client = Client()
    client.force_login(carer.person)
    assert client.get(reverse("own_layouts")).status_code == 403
    assert 'data-jump="t"' in client.get(reverse("day_board")).content.decode()
