"""Whoever asks too often is told to wait, with a time; and others are not kept waiting."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.core.cache import cache
from django.test import Client
from django.urls import reverse

from gallery_ops.api import throttling
from gallery_ops.api.throttling import MOST
from gallery_ops.kernel.services.tokens import make_token
from tests.gallery_ops.api.asking import (
    AT,
    House,
    a_batch,
    a_morning,
    a_note,
    a_tablet,
    enrolled,
    send,
    verdicts,
)

pytestmark = pytest.mark.django_db
FEW = dict.fromkeys(MOST, 3)


@pytest.fixture(autouse=True)
def a_small_house(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Three a minute, a clock that stands at ten seconds past, and nothing counted before."""
    monkeypatch.setattr(throttling, "MOST", FEW)
    monkeypatch.setattr(throttling.time, "time", lambda: 1_773_302_890.0)
    cache.clear()
    yield
    cache.clear()


@pytest.fixture
def house() -> House:
    return a_morning(tanks=3)


def test_the_stated_limits_are_generous() -> None:
    assert MOST == {"nobody": 120, "program": 600, "person": 1200, "tablet": 600}


def test_a_program_over_its_limit_waits_until_the_next_minute(house: House) -> None:
    def ask(secret: str) -> tuple[int, str]:
        answer = Client().get(reverse("api_tanks"), headers={"Authorization": f"Bearer {secret}"})
        return answer.status_code, answer.headers.get("Retry-After", "")

    first, second = (
        make_token(
            showroom=house.showroom, membership=house.owner, name=name, scopes=["read"],
            by=house.owner, at=AT,
        ).secret
        for name in ("scales", "screen")
    )  # fmt: skip
    assert [ask(first)[0] for _ in range(3)] == [200, 200, 200]
    status, wait = ask(first)
    assert (status, wait) == (429, "51")
    assert ask(second)[0] == 200


def test_a_tablet_over_its_limit_keeps_what_it_has_and_sends_it_later(house: House) -> None:
    tablet = enrolled(house)
    batch = a_batch(str(tablet.device.uid), a_note(house, seq=1))
    for _turn in range(3):
        assert send(a_tablet(tablet), batch).status_code == 200
    late = a_batch(str(tablet.device.uid), a_note(house, seq=2))
    answer = send(a_tablet(tablet), late)
    assert (answer.status_code, answer.headers["Retry-After"]) == (429, "51")
    assert answer.headers["Content-Type"] == "application/problem+json"
    cache.clear()
    assert verdicts(send(a_tablet(tablet), late)) == ["accepted"]


def test_wrong_secrets_are_counted_by_address(house: House) -> None:
    def ask(address: str) -> int:
        secret = {"Authorization": "Bearer wrong"}
        return Client().get(reverse("api_tanks"), headers=secret, REMOTE_ADDR=address).status_code

    assert [ask("198.51.100.7") for _ in range(4)] == [401, 401, 401, 429]
    assert ask("198.51.100.8") == 401
