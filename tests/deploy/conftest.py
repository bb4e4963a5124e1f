"""The programs in deploy/ import each other by name, as they do when started."""

import os
import sys
from pathlib import Path

import pytest

DEPLOY = Path(__file__).resolve().parents[2] / "deploy"
sys.path.insert(0, str(DEPLOY))


@pytest.fixture
def plain_environment(tmp_path: Path) -> dict[str, str]:
    """The machine's environment without anything that speaks to Gallery Ops, data in tmp_path."""
    ours = ("GALLERY_OPS_", "DATABASE_URL", "REDIS_URL", "DJANGO_SETTINGS_MODULE")
    kept = {k: v for k, v in os.environ.items() if not k.startswith(ours)}
    return {**kept, "GALLERY_OPS_DATA": str(tmp_path / "data")}
