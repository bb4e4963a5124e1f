"""From which address was it asked, with so many proxies of ours in front?

The rule is that of the MDN page on X-Forwarded-For, "Selecting an IP address": count the trusted
proxies from the right; whatever stands left of them may have been written by anybody.
"""

from __future__ import annotations

import pytest
from django.test import Client, RequestFactory
from django.urls import reverse

from gallery_ops.overview.address import client_address
from tests.builders.people import a_showroom, an_owner

SPOOFED = "203.0.113.9"


@pytest.mark.parametrize(
    ("proxies", "header", "found"),
    [
        (0, SPOOFED, "10.0.0.1"),
        (1, "", "10.0.0.1"),
        (1, "198.51.100.7", "198.51.100.7"),
        (1, f"{SPOOFED}, 198.51.100.7", "198.51.100.7"),
        (2, f"{SPOOFED}, 198.51.100.7, 192.0.2.4", "198.51.100.7"),
        (2, "198.51.100.7", "10.0.0.1"),
        (1, "198.51.100.7:4711", "198.51.100.7"),
        (1, "[2001:db8::7]:4711", "2001:db8::7"),
        (1, "2001:db8::7", "2001:db8::7"),
        (1, "unknown", ""),
    ],
)
def test_the_outermost_of_our_proxies_is_believed(
    settings: object, rf: RequestFactory, proxies: int, header: str, found: str
) -> None:
    settings.TRUSTED_PROXIES = proxies  # type: ignore[attr-defined]
    more = {"X-Forwarded-For": header} if header else {}
    assert client_address(rf.get("/", headers=more, REMOTE_ADDR="10.0.0.1")) == found


@pytest.mark.django_db
@pytest.mark.parametrize("door", ["sign_in", "admin:login"])
def test_wrong_passwords_lock_the_one_address_behind_the_proxy_and_no_other(
    settings: object, door: str
) -> None:
    settings.AXES_ENABLED = True  # type: ignore[attr-defined]
    settings.TRUSTED_PROXIES = 1  # type: ignore[attr-defined]
    owner = an_owner(a_showroom())
    owner.person.set_password("quiet stones under moss")
    owner.person.is_staff = True
    owner.person.save()
    field = "login" if door == "sign_in" else "username"
    right = {field: owner.person.login, "password": "quiet stones under moss"}

    def tried(address: str, **typed: str) -> int:
        asked = {"headers": {"X-Forwarded-For": address}, "REMOTE_ADDR": "10.0.0.1"}
        return Client().post(reverse(door), {**right, **typed}, **asked).status_code

    for _turn in range(5):
        tried("198.51.100.7", password="loud stones")
    assert tried("198.51.100.7") != 302
    assert tried("198.51.100.8") == 302
