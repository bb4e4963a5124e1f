"""Does a visitor read what is public, in every state, and never a word more?"""

from __future__ import annotations

import re
import time
from datetime import date
from gzip import compress
from pathlib import Path
from typing import Any

import pytest
from django.contrib.staticfiles import finders
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from gallery_ops.kernel import clock
from gallery_ops.kernel.values.quantity import Volume
from gallery_ops.overview.drawings import known
from gallery_ops.overview.spec_words import how_many
from tanks.models import Layout, Photo, PublicCode, Tank
from tanks.services.layouts import change_layout, close_layout
from tanks.services.photos import review_photo
from tanks.services.publishing import publish_layout, withdraw_layout
from tests.builders.gallery import a_planted_tank, an_owner
from tests.builders.stock import a_fertiliser, a_plan
from tests.built_once import built_once
from tests.gallery_ops.web.pages.addresses import a_photo
from tests.gallery_ops.web.visitor_world import AT, TODAY, World, a_world, mark_every_text

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def at_09_14(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", TODAY.strftime("%Y-%m-%dT%H:%M"))
    monkeypatch.setattr(clock, "_started", time.monotonic())


built, world = built_once(a_world)


def read(code: str, lang: str = "en", status: int = 200, **more: object) -> str:
    answer = Client().get(reverse("public_tank", args=[code]), {"lang": lang}, **more)
    assert answer.status_code == status
    assert not answer.cookies
    return answer.content.decode()


def words_of(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def hide(world: World) -> None:
    withdraw_layout(layout=world.layout, by=an_owner(world.tank.showroom), at=TODAY)


def empty(world: World) -> None:
    close_layout(layout=world.layout, by=an_owner(world.tank.showroom), at=AT)


def build(world: World) -> None:
    Layout.objects.update(stage="start_up", flooded_on=date(2026, 3, 3))


def build_unseen(world: World) -> None:
    build(world)
    hide(world)


def retire(world: World) -> None:
    PublicCode.objects.update(to_at=AT)


STATES = {
    "shown": (lambda _: None, "Ferry Steps"),
    "building": (build, "Day 9."),
    "building, not approved": (build_unseen, "Something new is growing here"),
    "resting": (hide, "This tank is resting"),
    "empty": (empty, "This glass is empty"),
    "retired": (retire, "This label is out of use"),
}


def test_the_page_answers_in_the_order_of_a_visitor(world: World) -> None:
    text = words_of(read(world.code.code).partition("<main")[2])
    asked = [
        "T11",
        "Ferry Steps",
        "Corvin Aldaye, 2025.",
        "212 days under water.",
        "Steps that go down into the water.",
        "90 × 45 × 45 cm, 182 litres, 8 mm glass.",
        "35.4 × 17.7 × 17.7 in",
        "8 hours a day. 100 W.",
        "Middling. Needs CO 2 .",
        "Round-leaved toothcup Rotala rotundifolia Background, in the middle. "
        "Planted in substrate. From: Loam & Lantern nursery.",
        "Ember tetra Hyphessobrycon amandae About a dozen. 2 cm when grown.",
        "3 cm in front, 6 cm behind",
        "1 piece, 8.4 kg.",
        "CO 2 , 6 g a day",
        "9 mL a day",
        "0.18 g on 6 days of the week",
        "day 0",
        "day 90",
        "A brown film came in week five.",
    ]
    places = [text.replace("&amp;", "&").find(part) for part in asked]
    assert -1 not in places, asked[places.index(-1)]
    assert places == sorted(places)


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("lang", ["en", "de"])
def test_no_private_text_of_the_database_reaches_a_visitor(
    world: World, state: str, lang: str
) -> None:
    change, said = STATES[state]
    change(world)
    marks = mark_every_text()
    assert len(marks) > 60
    html = read(world.code.code, lang)
    if lang == "en":
        assert said in words_of(html)
    found = sorted(mark for mark in {*marks, "PRIV"} if mark in html)
    assert found == []
    for person in ("gallery-", "Person "):  # how the builders call staff and showrooms
        assert person not in html


def approved_anew(world: World) -> None:
    """What the layout says now is what visitors read."""
    by = an_owner(world.tank.showroom)
    publish_layout(layout=world.layout, by=by, at=AT, approved_on=AT.date())


def test_the_probe_would_find_a_text_that_leaks(world: World) -> None:
    """A private text in a public column is seen, so the test above can fail."""
    mark_every_text()
    Layout.objects.update(story="PRIVATE-story")
    approved_anew(world)
    assert "PRIVATE-story" in read(world.code.code)


@pytest.mark.parametrize("state", ["building, not approved", "resting", "retired"])
def test_nothing_of_an_unapproved_layout_is_told(world: World, state: str) -> None:
    change, _ = STATES[state]
    change(world)
    html = read(world.code.code)
    hidden = ["Steps that go down", "brown film", "toothcup", "tetra", "/drawings/"]
    assert [part for part in hidden if part in html] == []
    if state != "retired":  # it was read under this code, so its name may still be told
        assert "Ferry Steps" not in html
        assert "Corvin" not in html


def test_what_is_being_built_says_its_day_and_when_to_come_back(world: World) -> None:
    build(world)
    text = words_of(read(world.code.code))
    assert "Day 9. It is still being built." in text
    assert "Come back after 14 April." in text
    assert "Kommen Sie nach dem 14. April wieder." in words_of(read(world.code.code, "de"))


def test_an_empty_glass_says_what_comes_next(world: World) -> None:
    empty(world)
    text = words_of(read(world.code.code))
    assert "Next: Sluice Keeper , Corvin Aldaye." in text
    assert "About May 2026." in text


def test_recovery_and_teardown_rest_like_a_withdrawn_layout(world: World) -> None:
    """During an incident the words are the same as on any day of rest."""
    hide(world)
    resting = words_of(read(world.code.code))
    for stage in ("recovery", "teardown"):
        Layout.objects.update(published_at=AT, stage=stage)
        assert words_of(read(world.code.code)) == resting


def test_a_holding_tank_never_shows_what_is_in_it(world: World) -> None:
    Tank.objects.update(purpose="quarantine")
    assert "Ferry" not in read(world.code.code)


def test_an_old_code_leads_to_the_new_one(world: World) -> None:
    retire(world)
    new = PublicCode.objects.create(
        showroom=world.tank.showroom, tank=world.tank, code="22222222", from_at=AT
    )
    html = read(world.code.code)
    assert "It belonged to:" in html
    assert f'href="{reverse("public_tank", args=[new.code])}?lang=en"' in html
    assert "Ferry Steps" in read(new.code)


def test_a_retired_tank_says_so_though_its_code_is_open(world: World) -> None:
    empty(world)
    Tank.objects.update(retired_at=AT)
    assert "The tank is no longer shown." in read(world.code.code)


def test_a_code_of_a_place_shows_what_stands_there(world: World) -> None:
    position = world.tank.placements.get().position
    PublicCode.objects.filter(pk=world.code.pk).update(tank=None, position=position)
    assert "Ferry Steps" in read(world.code.code)


@pytest.mark.parametrize("typed", ["{0}-{1}", " {0} {1} ", "{0}{1}"])
def test_small_letters_blanks_and_hyphens_do_not_matter(world: World, typed: str) -> None:
    code = world.code.code
    text = typed.format(code[:4], code[4:]).lower()
    for url, data in (
        (reverse("public_tank", args=[text]), {}),
        (reverse("public_enter"), {"code": text}),
    ):
        answer = Client().get(url, data)
        assert (answer.status_code, answer["Location"]) == (
            302,
            reverse("public_tank", args=[code]),
        )


@pytest.mark.parametrize("typed", ["ABCD", "AB/CD", "7KQ4-M2X0", "22222223", "<b>x</b>", "x" * 500])
def test_a_mistyped_code_gets_a_field_a_sentence_and_keeps_what_was_typed(
    world: World, typed: str
) -> None:
    for url, data in (
        (reverse("public_tank", args=[typed]), {}),
        (reverse("public_enter"), {"code": typed}),
    ):
        answer = Client().get(url, data)
        html = answer.content.decode()
        assert answer.status_code == 404
        assert "Code: eight letters and digits, without 0, O, 1, I and L." in html
        assert 'name="code"' in html
        assert "<b>x" not in html
        assert typed[:4].replace("<", "&lt;").replace(">", "&gt;") in html


def test_a_well_formed_code_of_nobody_gets_the_field_too(world: World) -> None:
    assert "Code: no tank has this one." in read("22222222", status=404)
    assert "Kein Becken hat diesen Code" in read("22222222", "de", 404)


def test_the_language_follows_the_address_then_the_device_then_the_gallery(world: World) -> None:
    url = reverse("public_tank", args=[world.code.code])
    german = {"headers": {"accept-language": "pl, de-AT;q=0.8, en;q=0.5"}}
    assert 'lang="de"' in Client().get(url, **german).content.decode()[:60]
    assert 'lang="en"' in Client().get(url, {"lang": "en"}, **german).content.decode()[:60]
    assert 'lang="en"' in Client().get(url, {"lang": "xx"}).content.decode()[:60]
    world.tank.showroom.language = "de"
    world.tank.showroom.save()
    assert 'lang="de"' in Client().get(url).content.decode()[:60]


def test_a_text_in_another_language_says_so(world: World) -> None:
    html = read(world.code.code, "de")
    assert '<span lang="en">Steps that go down into the water.</span>' in html
    assert "(English)" in html
    assert "<b>Javamoos</b>" in html
    assert "182 Liter, 8 mm Glas." in html
    assert "8,4 kg" in html
    assert "(English)" not in read(world.code.code, "en")


def test_caches_may_keep_it_for_a_minute_and_ask_again(world: World) -> None:
    url = reverse("public_tank", args=[world.code.code])
    first = Client().get(url)
    assert first["Cache-Control"] == "public, max-age=60"
    assert "Cookie" not in first["Vary"]
    again = Client().get(url, headers={"if-none-match": first["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    change_layout(layout=world.layout, story="New.", by=an_owner(world.tank.showroom), at=AT)
    approved_anew(world)
    assert Client().get(url, headers={"if-none-match": first["ETag"]}).status_code == 200


def test_somebody_signed_in_gets_the_same_page_and_no_cookie(world: World) -> None:
    url = reverse("public_tank", args=[world.code.code])
    client = Client()
    owner = an_owner(world.tank.showroom)
    client.force_login(owner.person, backend="django.contrib.auth.backends.ModelBackend")
    seen = client.get(url)
    assert seen.content == Client().get(url).content
    assert "Set-Cookie" not in str(seen.headers)
    assert not seen.cookies


def test_no_script_no_inline_style_and_every_picture_has_words(world: World) -> None:
    html = read(world.code.code)
    assert "<script" not in html
    assert " style=" not in html
    pictures = re.findall(r"<img [^>]+>", html)
    assert len(pictures) == 5
    assert all(' alt="' in picture and ' width="' in picture for picture in pictures)
    known.forget()  # another process answers, which gave none of these addresses out
    for src in re.findall(r'src="(/drawings/[^"]+)"', html):
        assert Client().get(src).status_code == 200


def test_a_photo_is_shown_while_a_person_has_released_it_and_the_page_shows_the_work(
    world: World, settings: Any, tmp_path: Path
) -> None:
    settings.MEDIA_ROOT = tmp_path
    owner = an_owner(world.tank.showroom)
    photo = a_photo(owner, subject="")
    Photo.objects.filter(pk=photo.pk).update(tank=world.tank, layout=world.layout)
    address = reverse("public_photo", args=[world.code.code, photo.uid])

    def seen() -> tuple[bool, int]:
        answer = Client().get(address)
        assert not answer.cookies
        return address in read(world.code.code), answer.status_code

    def release(outcome: str) -> None:
        review_photo(
            showroom=owner.showroom, photo=photo.uid, outcome=outcome, by=owner, at=AT,
            credit="Corvin Aldaye", alternative_text="Steps under water",
        )  # fmt: skip

    assert seen() == (False, 404)
    release("public")
    assert seen() == (True, 200)
    html = read(world.code.code, "de")
    assert "Foto: Corvin Aldaye" in words_of(html)
    assert 'alt="Steps under water"' in html
    release("private")
    assert seen() == (False, 404)
    release("public")
    hide(world)
    assert seen() == (False, 404)


def test_the_first_view_stays_under_60_kb(world: World) -> None:
    """Page, style sheets and drawing, as they go over the wire; letters come after them."""
    packed = {"headers": {"accept-encoding": "gzip"}}
    answer = Client().get(reverse("public_tank", args=[world.code.code]), **packed)
    html = read(world.code.code)
    hero = re.search(r'src="(/drawings/[^"]+)"', html)
    assert hero is not None
    size = len(answer.content) + len(Client().get(hero.group(1), **packed).content)
    for name in re.findall(r'href="/static/([^"]+\.css)"', html):
        size += len(compress(Path(str(finders.find(name))).read_bytes()))
    assert 5_000 < size < 60_000


@pytest.mark.once
def test_its_queries_do_not_grow_with_the_gallery(world: World) -> None:
    def count() -> int:
        with CaptureQueriesContext(connection) as asked:
            read(world.code.code)
        return len(asked)

    read(world.code.code)
    few = count()
    item = a_fertiliser(world.tank.showroom)
    for number in range(9):
        tank = a_planted_tank(f"X{number}", showroom=world.tank.showroom)
        a_plan(tank, item, Volume.ml(3))
    assert count() == few
    assert few <= 30


def test_numbers_of_animals_are_words_that_keep_a_loss_to_themselves() -> None:
    assert how_many(14) == how_many(13) == "about a dozen"
    assert [how_many(n) for n in (1, 2, 6, 20, 30, 50, 400)] == [
        "one",
        "a few",
        "about half a dozen",
        "about twenty",
        "about thirty",
        "about fifty",
        "a great many",
    ]
