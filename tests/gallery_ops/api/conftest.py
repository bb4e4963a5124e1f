"""The clock of these tests stands at 08:08."""

import pytest

from gallery_ops.kernel import clock
from tests.gallery_ops.api.asking import AT


@pytest.fixture(autouse=True)
def _morning(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: AT)
