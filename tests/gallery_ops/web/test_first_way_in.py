"""Can the owner of an empty gallery get in, out, and in again by password?"""

import threading

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.web.forms.first_run import FirstRunForm

pytestmark = pytest.mark.django_db

GALLERY = {
    "name": "Undershore",
    "code": "undershore",
    "place": "Marrowick",
    "zone": "Europe/London",
    "language": "en",
    "decimal_mark": ".",
    "currency": "GBP",
    "country": "GB",
    "cut_off_hour": "4",
    "opens_at": "10:00",
    "closes_at": "18:00",
    "round_from_at": "08:00",
    "owner_name": "Iskra Vann",
    "owner_login": "iskra.vann",
    "password": "quiet stones under moss",
}


@pytest.fixture
def owned(client: Client) -> Client:
    """A gallery that its owner just began."""
    wanted = {name: GALLERY[name] for name in FirstRunForm().fields if name in GALLERY}
    answer = client.post(reverse("first_run"), wanted)
    assert answer.status_code == 302, answer.content.decode()
    return client


def test_the_owner_comes_in_again_by_password(owned: Client) -> None:
    owned.post(reverse("sign_out"))
    answer = owned.post(
        reverse("sign_in"), {"login": "iskra.vann", "password": "quiet stones under moss"}
    )
    assert answer.status_code == 302
    assert "_auth_user_id" in owned.session


def test_a_wrong_password_stays_outside_and_keeps_the_name(owned: Client) -> None:
    owned.post(reverse("sign_out"))
    answer = owned.post(reverse("sign_in"), {"login": "iskra.vann", "password": "loud stones"})
    assert answer.status_code == 422
    assert "iskra.vann" in answer.content.decode()
    assert "_auth_user_id" not in owned.session


def test_a_gallery_begins_only_once(owned: Client) -> None:
    assert owned.get(reverse("first_run")).headers["Location"] == reverse("sign_in")


@pytest.mark.django_db(transaction=True)
def test_two_owners_who_begin_at_once_begin_one_gallery() -> None:
    """Each looks before the other has written: only a lock keeps the second one out."""
    start, answers = threading.Barrier(2), list[int]()

    def begin(login: str) -> None:
        wanted = {name: GALLERY[name] for name in FirstRunForm().fields if name in GALLERY}
        try:
            start.wait(10)
            answer = Client().post(
                reverse("first_run"), {**wanted, "name": f"Of {login}", "owner_login": login}
            )
            answers.append(answer.status_code)
        finally:
            connection.close()

    threads = [threading.Thread(target=begin, args=[login]) for login in ("iskra.vann", "maud")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert Showroom.objects.count() == 1
    assert Membership.objects.count() == 1
    assert len(answers) == 2
