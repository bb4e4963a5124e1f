"""Do the pure rooms load without Django, and do pages load without the heavy libraries?"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.house.source import HOUSE, plant

pytestmark = pytest.mark.once

PURE = (
    "gallery_ops.kernel.values",
    "gallery_ops.drawing",
    "gallery_ops.fleet_file.read",
    "tanks.science",
    "inventory.forecast",
    "maintenance.schedule",
)
HEAVY = {"pandas", "scipy", "openpyxl", "fpdf"}

LOAD_ROOM = """
import importlib, json, pkgutil, sys
room = importlib.import_module(sys.argv[1])
for found in pkgutil.walk_packages(getattr(room, "__path__", []), room.__name__ + "."):
    importlib.import_module(found.name)
print(json.dumps(sorted({name.split(".")[0] for name in sys.modules})))
"""
LOAD_PAGES = """
import django, json, sys
django.setup()
from django.urls import get_resolver
get_resolver().url_patterns
len(get_resolver().reverse_dict)
print(json.dumps(sorted({name.split(".")[0] for name in sys.modules})))
"""


def loaded_by(program: str, *words: str, root: Path = HOUSE) -> set[str]:
    """Names of the top-level modules that `program` loads in an interpreter of its own."""
    bare = {k: v for k, v in os.environ.items() if k != "DJANGO_SETTINGS_MODULE"}
    if program is LOAD_PAGES:
        bare["DJANGO_SETTINGS_MODULE"] = "gallery_ops.settings"
    done = subprocess.run(
        [sys.executable, "-c", program, *words],
        cwd=root,
        env={**bare, "PYTHONPATH": str(root)},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    return set(json.loads(done.stdout.splitlines()[-1]))


@pytest.mark.parametrize("room", PURE)
def test_a_pure_room_loads_without_django(room: str) -> None:
    assert not {"django", "rest_framework", "celery"} & loaded_by(LOAD_ROOM, room)


def test_a_room_that_loads_django_is_found(tmp_path: Path) -> None:
    plant(tmp_path, "tanks/__init__.py", "")
    plant(tmp_path, "tanks/science/__init__.py", "")
    plant(tmp_path, "tanks/science/deep.py", "from django.utils import timezone\n")
    assert "django" in loaded_by(LOAD_ROOM, "tanks.science", root=tmp_path)


def test_pages_and_endpoints_load_without_the_heavy_libraries() -> None:
    loaded = loaded_by(LOAD_PAGES)
    assert "django" in loaded
    assert not HEAVY & loaded
