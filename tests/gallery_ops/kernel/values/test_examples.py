"""Do the examples in the docstrings say what happens, and does the room stay pure?"""

import doctest
import importlib
import subprocess
import sys
from pathlib import Path

import pytest

from gallery_ops.kernel import values

MODULES = sorted(
    path.stem for path in Path(values.__path__[0]).glob("*.py") if path.stem != "__init__"
)


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_of_a_module(name: str) -> None:
    module = importlib.import_module(f"gallery_ops.kernel.values.{name}")
    result = doctest.testmod(module)
    assert result.attempted > 0
    assert result.failed == 0


def test_no_value_needs_django() -> None:
    imports = "; ".join(f"import gallery_ops.kernel.values.{name}" for name in MODULES)
    say = "import sys; print([m for m in sys.modules if m.split('.')[0] == 'django'])"
    done = subprocess.run(
        [sys.executable, "-c", f"{imports}; {say}"],
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(__file__).resolve().parents[4],
    )
    assert done.stdout.strip() == "[]"
