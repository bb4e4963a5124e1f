"""The front view: always the same, small, well formed, and nothing in it that a policy refuses."""

import hashlib
import re
import subprocess
import sys
from dataclasses import replace
from xml.etree import ElementTree as Xml  # parses our own text only

import pytest

from gallery_ops.drawing import Detail, Rock, Stage, TankShape, content_hash, front_view, svg
from gallery_ops.drawing.standalone import STYLE
from gallery_ops.drawing.types import Hardscape
from tests.gallery_ops.drawing.pieces import PLANTS, a_shape, every_shape

SVG = "{http://www.w3.org/2000/svg}"


def parsed(text: str) -> Xml.Element:
    if "xmlns" not in text:
        text = text.replace("<svg", '<svg xmlns="http://www.w3.org/2000/svg"', 1)
    return Xml.fromstring(text)  # noqa: S314 - our own text


def numbers(d: str) -> list[float]:
    return [float(x) for x in re.findall(r"-?\d+\.?\d*", d)]


@pytest.mark.parametrize("length_cm", [30, 45, 60, 90, 180])
def test_no_number_of_a_group_covers_another(length_cm: int) -> None:
    crowd = (PLANTS[0], PLANTS[0], *PLANTS)
    tank = replace(a_shape(plants=crowd), length_mm=10 * length_cm)
    keys = [
        [float(x) for x in found]
        for found in re.findall(
            r'translate\((\S+) (\S+)\) scale\((\S+)\)"><circle r="(\S+)"', svg(tank, numbered=True)
        )
    ]
    assert len(keys) == len(crowd)
    for i, (x, y, scale, r) in enumerate(keys):
        assert y - scale * r >= 0
        for a, b, _scale, _r in keys[:i]:
            assert (x - a) ** 2 + (y - b) ** 2 >= (2 * scale * r) ** 2


@pytest.mark.parametrize("detail", list(Detail))
def test_every_drawing_is_well_formed_and_carries_no_style_or_script(detail: Detail) -> None:
    for tank in every_shape():
        root = parsed(svg(tank, detail, label="A & B", lamp=detail is Detail.PAGE, numbered=True))
        for element in root.iter():
            assert element.tag in {
                SVG + name
                for name in ("svg", "path", "rect", "linearGradient", "stop", "g", "circle", "text")
            }
            assert not [a for a in element.attrib if a == "style" or a.startswith("on")]


def test_the_same_tank_is_the_same_picture_in_another_process() -> None:
    tank = a_shape(plants=PLANTS)
    program = (
        "from tests.gallery_ops.drawing.pieces import PLANTS, a_shape\n"
        "from gallery_ops.drawing import content_hash, front_view\n"
        "import sys, hashlib\n"
        "tank = a_shape(plants=PLANTS)\n"
        "text = front_view(tank) + content_hash(tank)\n"
        "sys.stdout.write(hashlib.sha256(text.encode()).hexdigest())\n"
        "assert 'django' not in sys.modules\n"
    )
    here = hashlib.sha256((front_view(tank) + content_hash(tank)).encode()).hexdigest()
    for seed in ("0", "77"):
        there = subprocess.run(
            [sys.executable, "-c", program],
            capture_output=True,
            text=True,
            check=True,
            env={"PYTHONHASHSEED": seed, "PATH": ""},
        )
        assert there.stdout == here


def test_another_code_or_another_version_is_another_picture() -> None:
    tank = a_shape()
    texts = {front_view(tank), front_view(replace(tank, code="T12"))}
    texts.add(front_view(replace(tank, version="2.0")))
    assert len(texts) == 3


def test_sizes_stay_within_what_a_page_can_carry() -> None:
    largest = dict.fromkeys(Detail, 0)
    woods = tuple(Hardscape(Rock.WOOD, at) for at in (0.16, 0.84))
    for size in ((600, 300, 360), (1200, 450, 450), (1800, 600, 600), (2000, 700, 700)):
        for i in range(12):
            tank = a_shape(f"S{i}", size=size, hardscape=woods, plants=PLANTS if i % 3 == 0 else ())
            for detail in Detail:
                largest[detail] = max(largest[detail], len(front_view(tank, detail)))
    assert largest[Detail.WALK] <= 20_000
    assert largest[Detail.WALL] <= 50_000
    assert largest[Detail.PAGE] <= 60_000


def test_two_tanks_on_one_page_never_share_the_id_of_a_gradient() -> None:
    ids: list[str] = []
    for code in [f"T{i:03}" for i in range(200)]:
        for detail in Detail:
            ids += re.findall(r' id="([^"]+)"', front_view(a_shape(code), detail))
    assert len(ids) == 600
    assert len(set(ids)) == len(ids)
    twice = front_view(a_shape(), key="b")
    assert re.findall(r' id="([^"]+)"', twice) != re.findall(
        r' id="([^"]+)"', front_view(a_shape())
    )


def test_proportion_is_that_of_the_glass() -> None:
    tank = a_shape(size=(1200, 450, 450))
    glass = re.search(r'class="gl"[^>]* d="([^"]+)"', front_view(tank))
    assert glass is not None
    assert glass.group(1) == "M0 0V45H120V0"
    small = parsed(svg(a_shape("S", size=(600, 300, 300)), px_per_cm=2))
    large = parsed(svg(a_shape("L", size=(1200, 600, 600)), px_per_cm=2))
    margin = 2 * 0.6 * 2
    assert float(large.get("width", 0)) - margin == pytest.approx(
        2 * (float(small.get("width", 0)) - margin), abs=2
    )


def test_the_edge_has_the_tint_of_its_kind_of_glass_and_nothing_else_differs() -> None:
    plain = a_shape()
    tinted = {
        kind: front_view(replace(plain, kind_of_glass=kind)) for kind in ("float", "low_iron")
    }
    for kind, css in (("float", "gl gl-f"), ("low_iron", "gl gl-c")):
        assert tinted[kind].replace(f'class="{css}"', 'class="gl"') == front_view(plain)
        assert content_hash(replace(plain, kind_of_glass=kind)) != content_hash(plain)
        assert css.split()[1] in STYLE
    empty = front_view(replace(a_shape(stage=Stage.VACANT), kind_of_glass="float"))
    assert "gl-f" not in empty


def test_nothing_grows_out_of_the_glass_or_above_the_rim() -> None:
    for tank in every_shape():
        if tank.stage.is_empty:
            continue
        text = front_view(tank, Detail.PAGE)
        for d in re.findall(r'class="wd"[^>]* d="M([^"]+)"', text):
            xs, ys = numbers(d)[0::2], numbers(d)[1::2]
            ends = [(xs[0], ys[0]), (xs[-1], ys[-1])]
            assert all(-0.1 <= x <= tank.length + 0.1 for x, _ in ends), (tank.code, d)
            assert all(0 <= y <= tank.height for _, y in ends), (tank.code, d)


def test_each_stage_of_a_layout_looks_different() -> None:
    same = {stage: front_view(a_shape(stage=stage), Detail.WALL) for stage in Stage}
    assert same[Stage.VACANT] == same[Stage.BRIEFED]  # nothing stands in the glass
    built = [text for stage, text in same.items() if not stage.is_empty]
    assert len(set(built)) == len(built) - 1  # hardscape and teardown: stones, no water
    assert same[Stage.HARDSCAPE] == same[Stage.TEARDOWN]
    assert 'class="lv"' not in same[Stage.HARDSCAPE]
    assert 'class="lv"' in same[Stage.SHOW]
    assert "gl-e" in same[Stage.VACANT]


def test_a_young_layout_stands_lower_than_a_grown_one() -> None:
    def top(stage: Stage) -> float:
        hill = re.search(r'class="p1" d="([^"]+)"', front_view(a_shape(stage=stage, hardscape=())))
        assert hill is not None
        points = [numbers(p)[-1] for p in hill.group(1).split("Q")[1:]]
        return min(points)

    heights = [top(s) for s in (Stage.START_UP, Stage.GROW_IN, Stage.RECOVERY, Stage.SHOW)]
    assert heights == sorted(heights, reverse=True)


def test_real_heights_of_plant_groups_replace_the_profile() -> None:
    low = tuple(replace(g, height_mm=80) if g.place == "background" else g for g in PLANTS)

    def tallest(tank: TankShape) -> float:
        stems = re.search(r'class="q5" d="([^"]+)"', front_view(tank))
        assert stems is not None
        return min(float(y) for y in re.findall(r"M[\d.]+ ([\d.]+)L", stems.group(1)))

    assert tallest(a_shape(plants=low)) > tallest(a_shape(plants=PLANTS)) + 8


def test_a_size_that_no_glass_has_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="length_mm: 0 mm"):
        a_shape(size=(0, 450, 450))
