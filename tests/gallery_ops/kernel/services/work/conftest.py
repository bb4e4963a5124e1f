"""A register of their own for tests of the work to be done, and the knocks that it sends."""

from collections.abc import Iterator

import pytest

from gallery_ops.kernel import register
from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services import work
from tests.builders.people import a_showroom


@pytest.fixture(autouse=True)
def jobs(monkeypatch: pytest.MonkeyPatch) -> Iterator[dict[str, register.Job]]:
    """A register of its own, so that no real job runs."""
    own: dict[str, register.Job] = {}
    monkeypatch.setattr(register, "_jobs", own)
    monkeypatch.setattr(register, "_loaded", [True])
    return own


@pytest.fixture
def knocks(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What would be sent to the broker."""
    sent: list[str] = []
    monkeypatch.setattr(work, "_quiet_until", [0.0])
    monkeypatch.setattr(work.current_app, "send_task", lambda name, **_: sent.append(name))
    return sent


@pytest.fixture
def showroom(db: None) -> Showroom:
    return a_showroom()
