"""Does a changed module reach the browser under a new name, through every import?"""

import re
from pathlib import Path

import pytest

from gallery_ops.web.static_files import HashedModuleFiles

pytestmark = pytest.mark.once

MODULES = {
    "js/main.js": 'import { stop } from "./stop.js";\nstop();\n',
    "js/stop.js": (
        '/** @typedef {import("./main.js").Round} Round */\n'
        '// import { gone } from "./gone.js";\n'
        'import { h } from "./parts/dom.js";\n'
        'export const stop = async () => h(await import("./late.js"));\n'
    ),
    "js/late.js": '/** @type {import("./stop.js").Stop} */\nexport const late = 1;\n',
    "js/parts/dom.js": 'export { h } from "./deep.js";\n',
    "js/parts/deep.js": "export const h = (x) => x;\n",
}


def collect(folder: Path, modules: dict[str, str]) -> dict[str, str]:
    """Hashed name of each module, after collecting them into `folder`."""
    storage = HashedModuleFiles(location=str(folder), base_url="/static/")
    for name, text in modules.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    for _, _, processed in storage.post_process({name: (storage, name) for name in modules}):
        if isinstance(processed, Exception):
            raise processed
    return {name: storage.hashed_files[name] for name in modules}


def test_every_import_names_a_hashed_file_that_exists(tmp_path: Path) -> None:
    hashed = collect(tmp_path, MODULES)
    for name in hashed.values():
        path = tmp_path / name
        code = re.sub(r"/\*\*.*?\*/|^//.*?$", "", path.read_text(), flags=re.DOTALL | re.MULTILINE)
        for imported in re.findall(r'(?:from |import\()"([^"]+)"', code):
            target = (path.parent / imported).resolve().relative_to(tmp_path)
            assert str(target) in hashed.values()


def test_a_change_deep_down_renames_everything_above(tmp_path: Path) -> None:
    before = collect(tmp_path / "a", MODULES)
    changed = {**MODULES, "js/parts/deep.js": "export const h = (x) => [x];\n"}
    after = collect(tmp_path / "b", changed)
    renamed = {name for name in MODULES if before[name] != after[name]}
    assert renamed == {"js/main.js", "js/stop.js", "js/parts/dom.js", "js/parts/deep.js"}


def test_types_that_name_each_other_in_comments_do_no_harm(tmp_path: Path) -> None:
    hashed = collect(tmp_path, MODULES)
    text = (tmp_path / hashed["js/stop.js"]).read_text()
    assert '{import("./main.js").Round}' in text
    assert '// import { gone } from "./gone.js";' in text


def test_an_import_of_a_missing_file_stops_the_collecting(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="missing"):
        collect(tmp_path, {"js/main.js": 'import { a } from "./missing.js";\n'})
