"""What belongs to another gallery answers on every page exactly as what does not exist."""

from __future__ import annotations

import re
import time

import pytest

from gallery_ops.kernel import clock
from tests.builders.fleet import a_fleet
from tests.gallery_ops.web.pages.addresses import (
    OWN,
    UNKNOWN,
    Address,
    addresses,
    ask,
    named,
    signed_in,
)

pytestmark = pytest.mark.django_db

CHANGING = re.compile(rb'name="csrfmiddlewaretoken" value="[^"]+"|nonce-\w+|[0-9a-f]{12,}')


@pytest.fixture(autouse=True)
def on_the_morning(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T08:08")
    monkeypatch.setattr(clock, "_started", time.monotonic())


def test_a_strangers_things_are_as_unknown_as_those_that_nobody_has() -> None:
    mine, theirs = a_fleet(2, "mine", with_work=False), a_fleet(3, "theirs", with_work=False)
    client = signed_in(mine.owner)
    own = named(mine.owner, mine.tanks[0])
    strange = named(theirs.owner, theirs.tanks[2])
    held = [address for address in addresses() if address.kind in OWN]
    assert {address.kind for address in held} == set(OWN)
    for address in held:
        stranger, nobody = (ask(client, address, things) for things in (strange, UNKNOWN))
        assert (address.name, stranger.status_code) == (address.name, 404)
        assert (address.name, nobody.status_code) == (address.name, 404)
        assert _plain(stranger.content, strange, address) == _plain(
            nobody.content, UNKNOWN, address
        )
        assert ask(client, address, own).status_code != 404, address.name


def _plain(content: bytes, things: dict[str, str], address: Address) -> bytes:
    """The page without what differs each time, and without the name that was asked for."""
    without = content.replace(things[address.kind].encode(), b"")
    return CHANGING.sub(b"", without)
