"""Do imports go down only, and would the checker notice one that does not?"""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.house.source import HOUSE, ROOMS, plant

pytestmark = pytest.mark.once

LINT = Path(sys.executable).with_name("lint-imports")
BAD = [
    ("house", "tanks/services/wrong.py", "from inventory.services import use\n"),
    ("floors", "tanks/queries/wrong.py", "import tanks.services\n"),
    ("floors", "inventory/utils.py", ""),
    ("kernel", "gallery_ops/kernel/values/wrong.py", "import gallery_ops.kernel.models\n"),
    ("pure", "inventory/forecast/wrong.py", "from django.db import models\n"),
    ("pure", "gallery_ops/drawing/wrong.py", "from django.utils.html import escape\n"),
    ("doors", "gallery_ops/web/pages/wrong.py", "import tanks.models\n"),
    ("settings", "inventory/services/wrong.py", "import gallery_ops.settings\n"),
]


def lint(root: Path) -> tuple[int, str]:
    done = subprocess.run(
        [str(LINT), "--no-cache"],
        cwd=root,
        env={**os.environ, "PYTHONPATH": str(root)},
        capture_output=True,
        text=True,
    )
    return done.returncode, done.stdout + done.stderr


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The code and its contracts, to break them in peace."""
    root = tmp_path_factory.mktemp("house")
    shutil.copy(HOUSE / "pyproject.toml", root)
    for room in ROOMS:
        shutil.copytree(
            HOUSE / room,
            root / room,
            ignore=lambda _, names: [n for n in names if "." in n and not n.endswith(".py")],
        )
    return root


def test_the_contracts_are_kept(copy: Path) -> None:
    code, said = lint(copy)
    assert code == 0, said


@pytest.mark.parametrize(("contract", "path", "text"), BAD)
def test_a_broken_contract_is_named(copy: Path, contract: str, path: str, text: str) -> None:
    planted = plant(copy, path, text)
    try:
        code, said = lint(copy)
    finally:
        planted.unlink()
    assert code != 0
    assert f"{contract} BROKEN" in said, said
