"""The drawing as a file: both schemes inside, named by its content, tones of the style sheet."""

import re
from base64 import b64encode
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

from gallery_ops.drawing import Detail, Stage, content_hash, standalone
from gallery_ops.drawing.palette import DARK, LIGHT, NAMES
from gallery_ops.drawing.standalone import STYLE, STYLE_HASH
from tests.gallery_ops.drawing.pieces import PLANTS, a_shape
from tests.gallery_ops.drawing.test_front_view import SVG, parsed

TOKENS = Path(__file__).parents[3] / "gallery_ops/web/static/web/css/tokens.css"


def tones_of(scheme: str) -> dict[str, str]:
    """Tones that the style sheet gives to a scheme."""
    text = TOKENS.read_text(encoding="utf-8")
    block = text[text.index(scheme) :]
    found: dict[str, str] = {}
    for name, tone in re.findall(r"--([a-z0-9-]+): (#[0-9a-f]{6});", block):
        found.setdefault(name, tone)
    return found


def test_tones_are_those_of_the_style_sheet() -> None:
    assert {name: tones_of("color-scheme: light")[name] for name in NAMES} == LIGHT
    assert {name: tones_of("prefers-color-scheme: dark")[name] for name in NAMES} == DARK


def test_the_file_has_a_name_both_schemes_and_one_style_that_a_policy_can_allow() -> None:
    root = parsed(standalone(a_shape(plants=PLANTS), numbered=True))
    title = root.find(SVG + "title")
    assert title is not None
    assert title.text == "T11 Ferry Steps, drawn front view, 90 x 45 cm"
    styles = root.findall(SVG + "style")
    assert [s.text for s in styles] == [STYLE]
    assert "prefers-color-scheme:dark" in STYLE
    digest = b64encode(sha256(STYLE.encode()).digest()).decode()
    assert f"sha256-{digest}" == STYLE_HASH
    assert "<script" not in standalone(a_shape())


def test_every_class_of_a_drawing_has_its_look_in_the_file() -> None:
    text = standalone(a_shape(plants=PLANTS), numbered=True)
    for css in set(re.findall(r'<(?:path|stop) class="([^" ]+)', text)):
        assert f".{css}{{" in STYLE, css


def test_the_name_changes_with_anything_that_is_drawn() -> None:
    tank = a_shape()
    names = {
        content_hash(tank),
        content_hash(tank, Detail.WALL),
        content_hash(tank, numbered=True),
        content_hash(replace(tank, stage=Stage.DECLINE)),
        content_hash(replace(tank, height_mm=460)),
        content_hash(replace(tank, plants=PLANTS)),
        content_hash(replace(tank, title="Ferry")),
    }
    assert len(names) == 7
    assert all(re.fullmatch("[0-9a-f]{20}", name) for name in names)
    assert content_hash(a_shape()) == content_hash(tank)
