"""Are files short, addresses without keys, and do hashed names reach every import?"""

import hashlib
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.house.source import HOUSE, ROOMS, Breach, files, plant

pytestmark = pytest.mark.once

WALL_LINES = 400
# dist/htmx.min.js of npm's htmx.org 2.0.11, tarball integrity checked when it was taken.
HTMX_SHA256 = "d6fdc75f204e6bdefa99b69bf1e6d4ac69b8a364f77929f45c13476b4000f717"


def too_long(root: Path) -> list[Breach]:
    folders = (*ROOMS, "tests", "deploy")
    paths = [path for ending in (".py", ".js", ".mjs") for path in files(root, ending, folders)]
    counted = [(path, len(path.read_text(encoding="utf-8").splitlines())) for path in paths]
    return [
        Breach(str(path.relative_to(root)), lines, f"{lines} lines; split it by noun or deed")
        for path, lines in counted
        if lines > WALL_LINES
    ]


def unmarked_packages(root: Path) -> list[str]:
    """Folders with Python files but without `__init__.py`: git keeps no empty folder."""
    folders = {path.parent for path in files(root, ".py")}
    return sorted(
        str(folder.relative_to(root)) for folder in folders if not (folder / "__init__.py").exists()
    )


def keys_in_addresses(root: Path) -> Iterator[Breach]:
    """`<int:pk>`, `<int:id>`, `<pk>`, `<tank_id>`: a database key in an address."""
    pattern = re.compile(r"<(?:int:\w+|(?:\w+:)?(?:pk|id|\w+_id|\w+_pk))>|\(\?P<(?:pk|id)>")
    for path in files(root, "urls.py"):
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            if match := pattern.search(line):
                yield Breach(str(path.relative_to(root)), number, f"{match.group()} in an address")


def imports_that_hashing_misses(root: Path) -> Iterator[Breach]:
    """Imports without a semicolon stay unhashed in silence; JSDoc imports need the full name."""
    statement = re.compile(
        r"^\s*(?:import|export)\b[^;'\"]*?\bfrom\s*['\"][^'\"]+['\"](.?)|^\s*import\s*['\"][^'\"]+['\"](.?)",
        re.MULTILINE,
    )
    typed = re.compile(r"import\(\s*['\"]([^'\"]+)['\"]\s*\)")
    computed = re.compile(r"import\(\s*(?!['\"])|import\(\s*['\"][^'\"]*['\"]\s*\+")
    for path in files(root, ".js"):
        text = path.read_text(encoding="utf-8")

        def breach(match: re.Match[str], what: str, path: Path = path, text: str = text) -> Breach:
            return Breach(str(path.relative_to(root)), text.count("\n", 0, match.start()) + 1, what)

        for match in statement.finditer(text):
            if (match.group(1) or match.group(2)) != ";":
                yield breach(match, "import without a semicolon")
        for match in typed.finditer(text):
            if not match.group(1).endswith(".js"):
                yield breach(match, f"import({match.group(1)!r}) without the full file name")
        for match in computed.finditer(text):
            yield breach(match, "import() of a computed name")


def test_no_hand_written_file_is_longer_than_the_wall() -> None:
    assert not [str(breach) for breach in too_long(HOUSE)]


def test_a_file_over_the_wall_is_found(tmp_path: Path) -> None:
    plant(tmp_path, "tanks/services/everything.py", "x = 1\n" * (WALL_LINES + 1))
    plant(tmp_path, "tanks/migrations/0001_long.py", "x = 1\n" * (WALL_LINES + 1))
    assert [breach.path for breach in too_long(tmp_path)] == ["tanks/services/everything.py"]


def test_every_room_is_a_package() -> None:
    assert unmarked_packages(HOUSE) == []


def test_a_room_without_its_mark_is_found(tmp_path: Path) -> None:
    plant(tmp_path, "tanks/__init__.py", "")
    plant(tmp_path, "tanks/queries/fleet.py", "")
    assert unmarked_packages(tmp_path) == ["tanks/queries"]


def test_no_address_holds_a_database_key() -> None:
    assert not [str(breach) for breach in keys_in_addresses(HOUSE)]


@pytest.mark.parametrize(
    ("address", "is_bad"),
    [
        ("tanks/<int:pk>/", True),
        ("tanks/<int:number>/", True),
        ("rounds/<uuid:round_id>/", True),
        ("tanks/<pk>/", True),
        ("tanks/<str:code>/", False),
        ("drawings/<slug:digest>.svg", False),
    ],
)
def test_a_key_in_an_address_is_found(tmp_path: Path, address: str, is_bad: bool) -> None:
    plant(tmp_path, "gallery_ops/web/urls.py", f'path("{address}", view),\n')
    assert bool(list(keys_in_addresses(tmp_path))) is is_bad


def test_hashing_finds_every_import_of_our_modules() -> None:
    assert not [str(breach) for breach in imports_that_hashing_misses(HOUSE)]


@pytest.mark.parametrize(
    ("line", "is_bad"),
    [
        ('import { a } from "./x.js"\n', True),
        ('import {\n  a,\n  b\n} from "./x.js"\n', True),
        ('import "./x.js"\n', True),
        ('/** @type {import("./types")} */\n', True),
        ('const m = await import("./" + name);\n', True),
        ("const m = await import(name);\n", True),
        ('import { a } from "./x.js";\n', False),
        ('import {\n  a,\n  b\n} from "./x.js";\n', False),
        ('export * from "./x.js";\n', False),
        ('/** @type {import("./x.js").A} */\n', False),
        ('const m = await import("./x.js");\n', False),
    ],
)
def test_an_import_that_hashing_misses_is_found(tmp_path: Path, line: str, is_bad: bool) -> None:
    plant(tmp_path, "gallery_ops/web/static/web/js/a.js", line)
    assert bool(list(imports_that_hashing_misses(tmp_path))) is is_bad


def test_the_vendored_file_is_the_one_that_was_checked() -> None:
    vendored = HOUSE / "gallery_ops/web/static/web/js/vendor/htmx.min.js"
    assert hashlib.sha256(vendored.read_bytes()).hexdigest() == HTMX_SHA256
