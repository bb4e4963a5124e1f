"""Does the label lead to the visitor's page, and is what is missing said before it is printed?

Level Q and the quiet zone of four modules: ISO/IEC 18004. At most 100 words a label and 25 a
sentence: job map of the house, after published museum guidance.
"""

from __future__ import annotations

import re
import time

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from gallery_ops.kernel import clock
from gallery_ops.kernel.models import Membership
from gallery_ops.overview.labels import longest_sentence
from gallery_ops.overview.who import SHOWROOM_KEY
from gallery_ops.web.qr import LEAST_MM, QUIET_MODULES, module_mm, square, square_svg
from tanks.models import Layout, PublicCode
from tests.builders.gallery import a_person, a_planted_tank, a_tank, an_owner
from tests.built_once import built_once
from tests.gallery_ops.web.squares import PIXELS, picture, read_back
from tests.gallery_ops.web.visitor_world import TODAY, World, a_world

pytestmark = pytest.mark.django_db
ADDRESS = "https://undershore.example/v/7KQ4M2XP/"


@pytest.fixture(autouse=True)
def at_09_14(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", TODAY.strftime("%Y-%m-%dT%H:%M"))
    monkeypatch.setattr(clock, "_started", time.monotonic())


built, world = built_once(a_world)


def desk(member: Membership) -> Client:
    client = Client()
    client.force_login(member.person, backend="django.contrib.auth.backends.ModelBackend")
    session = client.session
    session[SHOWROOM_KEY] = member.showroom_id
    session.save()
    return client


def sheet(world: World, query: str = "", status: int = 200) -> str:
    answer = desk(an_owner(world.tank.showroom)).get(f"{reverse('label_sheet')}{query}")
    assert answer.status_code == status
    return answer.content.decode()


def squares_in(html: str) -> list[str]:
    return re.findall(r'<svg [^>]*class="qr".*?</svg>', html, re.DOTALL)


@pytest.mark.parametrize("text", [ADDRESS, "http://127.0.0.1:8000/v/7KQ4M2XP/", "http://a.b/v/A/"])
def test_the_square_reads_back_at_level_q(text: str) -> None:
    assert read_back(picture(square_svg(text))) == (text, "Q")


def test_the_square_still_reads_with_a_part_of_it_hidden() -> None:
    """A tenth of the pattern under glare; level Q is made for more, level L for less."""
    pixels = picture(square_svg(ADDRESS))
    high, wide = pixels.shape
    pixels[int(high * 0.42) : int(high * 0.62), int(wide * 0.4) : int(wide * 0.62)] = 255
    assert read_back(pixels) == (ADDRESS, "Q")


def test_four_modules_of_white_stand_around_the_pattern() -> None:
    pixels = picture(square_svg(ADDRESS))
    modules = len(square(ADDRESS).matrix)
    assert pixels.shape == ((modules + 8) * PIXELS,) * 2
    quiet = QUIET_MODULES * PIXELS
    for side in (pixels, pixels.T, pixels[::-1], pixels.T[::-1]):
        assert (side[:quiet] == 255).all()
        assert (side[quiet : quiet + PIXELS] == 0).any()


def test_the_pattern_measures_at_least_25_mm_for_any_address() -> None:
    for text in (
        "http://a.b/v/A/",
        ADDRESS,
        "https://" + "long-name." * 12 + "example/v/7KQ4M2XP/",
    ):
        svg = square_svg(text)
        modules = len(square(text).matrix)
        side = float(re.search(r'width="([\d.]+)mm"', svg).group(1))  # type: ignore[union-attr]
        assert side * modules / (modules + 8) >= LEAST_MM - 0.01
        assert 27 <= module_mm(modules) * modules < 28
        assert " style=" not in svg


def test_the_printed_square_opens_the_visitors_page(world: World) -> None:
    html = sheet(world, "?tank=T11")
    text, level = read_back(picture(squares_in(html)[0]))
    assert (text, level) == (f"http://testserver/v/{world.code.code}/", "Q")
    assert "Ferry Steps" in Client().get(text).content.decode()
    code = world.code.code
    assert f"{code[:4]}-{code[4:]}" in html
    assert "testserver/v" in html


def test_the_address_of_visitors_comes_from_the_settings(world: World, settings: object) -> None:
    settings.PUBLIC_URL = "https://undershore.example"  # type: ignore[attr-defined]
    html = sheet(world, "?tank=T11")
    text, _ = read_back(picture(squares_in(html)[0]))
    assert text == f"https://undershore.example/v/{world.code.code}/"
    assert "undershore.example/v" in html


def test_an_address_that_no_telephone_reaches_is_said(world: World) -> None:
    client = desk(an_owner(world.tank.showroom))
    html = client.get(reverse("label_sheet"), headers={"host": "127.0.0.1:8000"}).content.decode()
    assert "which no visitor&#x27;s phone can reach" in html or "which no visitor's phone" in html
    assert "which no visitor" not in sheet(world)


@pytest.mark.parametrize(("size", "per_sheet"), [("a6", 4), ("a5", 2), ("strip", 6), ("x", 4)])
def test_labels_are_laid_on_sheets_of_a4(world: World, size: str, per_sheet: int) -> None:
    for number in range(6):
        a_planted_tank(f"S{number}", showroom=world.tank.showroom)
    desk(an_owner(world.tank.showroom)).post(reverse("label_sheet"))
    html = sheet(world, f"?size={size}")
    assert len(squares_in(html)) == 7
    assert html.count('<section class="sheet ') == -(-7 // per_sheet)


def test_what_is_missing_is_said_by_tank(world: World) -> None:
    words = " ".join(["word"] * 103)
    Layout.objects.update(published_at=None, designer=None, story=words)
    text = sheet(world)
    for part in (
        "No designer is named.",
        "Its designer has not approved it: visitors read that it rests.",
        "103 words, and 100 fit: take out 3 words.",
        "A sentence has 103 words",
    ):
        assert part in text
    Layout.objects.update(story="")
    assert "It has no text." in sheet(world)


def test_a_complete_label_lacks_nothing(world: World) -> None:
    text = sheet(world)
    assert "lack" not in text
    assert "7 to 7 words each (limit 100)." in text


def test_a_tank_without_code_gets_one_here(world: World) -> None:
    a_planted_tank("T50", showroom=world.tank.showroom)
    text = sheet(world, "?tank=T50")
    assert "It has no code yet." in text
    assert squares_in(text) == []
    owner = desk(an_owner(world.tank.showroom))
    answer = owner.post(f"{reverse('label_sheet')}?tank=T50", follow=True)
    html = answer.content.decode()
    assert "1 tank has a code now." in html
    assert len(squares_in(html)) == 1
    owner.post(f"{reverse('label_sheet')}?tank=T50")
    assert PublicCode.objects.count() == 2


def test_a_carer_may_print_but_not_give_codes(world: World) -> None:
    a_planted_tank("T50", showroom=world.tank.showroom)
    carer = desk(a_person("carer", showroom=world.tank.showroom))
    html = carer.get(reverse("label_sheet")).content.decode()
    assert len(squares_in(html)) == 1
    assert "A manager can give them a code here." in html
    assert carer.post(reverse("label_sheet")).status_code == 403
    assert PublicCode.objects.count() == 1


def test_an_unknown_tank_and_one_of_another_showroom_answer_alike(world: World) -> None:
    a_tank("Z1")
    for code in ("Z1", "Q9"):
        text = sheet(world, f"?tank={code}")
        assert f"No tank is called {code}." in text
        assert squares_in(text) == []


def test_nobody_prints_without_signing_in(world: World) -> None:
    answer = Client().get(reverse("label_sheet"))
    assert answer.status_code == 302
    assert reverse("sign_in") in answer["Location"]


@pytest.mark.once
def test_the_queries_of_the_sheet_do_not_grow(world: World) -> None:
    owner = desk(an_owner(world.tank.showroom))

    def count() -> int:
        with CaptureQueriesContext(connection) as asked:
            assert owner.get(reverse("label_sheet")).status_code == 200
        return len(asked)

    owner.get(reverse("label_sheet"))
    few = count()
    for number in range(9):
        a_planted_tank(f"S{number}", showroom=world.tank.showroom)
    owner.post(reverse("label_sheet"))
    owner.get(reverse("label_sheet"))
    assert count() == few


def test_words_of_the_longest_sentence() -> None:
    assert longest_sentence("") == 0
    assert longest_sentence("One two three. Four five! Six?") == 3
    assert longest_sentence("It is 2.5 cm long") == 5
