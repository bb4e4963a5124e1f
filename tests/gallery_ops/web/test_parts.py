"""The parts of every page: they compile, name their parameters, and lead somewhere."""

import re
from datetime import date
from pathlib import Path

import pytest
from django import forms
from django.http import HttpRequest
from django.template import engines
from django.template.loader import get_template, render_to_string
from django.test import Client, RequestFactory
from django.urls import reverse

from gallery_ops.drawing import MARKS, Axis, Level, Stage, State, Stop
from gallery_ops.web import faults, parts
from tests.gallery_ops.drawing.pieces import a_shape

WEB = Path(parts.__file__).parent
PARTS = sorted((WEB / "templates/web/parts").glob("*.html"))
CSS = sorted((WEB / "static/web/css").glob("*.css"))


def shown(source: str, **context: object) -> str:
    return str(engines["django"].from_string(source).render(context, RequestFactory().get("/")))


@pytest.mark.parametrize("part", PARTS, ids=lambda p: p.stem)
def test_each_part_says_its_parameters_on_top_and_carries_no_style_or_script(part: Path) -> None:
    text = part.read_text(encoding="utf-8")
    assert text.startswith("{% comment %}")
    assert "Parameters:" in text.split("{% endcomment %}")[0]
    body = text.split("{% endcomment %}", 1)[1]
    assert not re.search(r"<script|\sstyle=|\son\w+=", body)
    get_template(f"web/parts/{part.name}")


def test_a_masthead_shows_only_entries_that_lead_somewhere(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(parts, "_PLACES", (*parts._PLACES, ("gone", "Gone", "no_such_page", "x")))
    words = [p.word for p in parts.places("today", 4)]
    assert "Gone" not in words
    for place in parts.places("alerts", 4):
        assert place.href.startswith("/")
        assert place.count == (4 if place.word == "Alerts" else 0)


def test_marks_of_a_page_are_those_of_the_drawing_module() -> None:
    for name in MARKS:
        assert 'aria-hidden="true"' in shown("{% mark name %}", name=name)
    assert [parts.CLASS_MARKS[c] for c in "ABCD"] == ["class_a", "class_b", "class_c", "class_d"]


def test_a_title_with_angle_brackets_stays_text_in_every_drawing() -> None:
    bad = '<script>alert("x")</script>'
    shape = a_shape(title=bad)
    stop = Stop(shape, State.DONE, f"/tanks/{bad}/")
    level = Level(0.5, sentence=bad)
    axis = Axis(date(2026, 3, 12))
    text = shown(
        '{% front_view shape "wall" label=shape.name %}{% walk stops label=bad %}'
        "{% strip level axis %}",
        shape=shape,
        stops=[stop],
        level=level,
        axis=axis,
        bad=bad,
    )
    assert "<script" not in text
    assert "&lt;script&gt;" in text


def test_a_field_keeps_what_was_typed_and_says_what_is_wrong() -> None:
    class Weigh(forms.Form):
        gross = forms.IntegerField(label="On the scale", help_text="300 to 20,000 g")

    form = Weigh({"gross": "12,x"})
    assert not form.is_valid()
    field = render_to_string("web/parts/field.html", {"field": form["gross"], "unit": "g"})
    assert 'value="12,x"' in field
    assert 'aria-invalid="true"' in field
    described = re.search(r'aria-describedby="([^"]+)"', field)
    assert described is not None
    for ident in described.group(1).split():
        assert f'id="{ident}"' in field
    summary = render_to_string("web/parts/error_summary.html", {"form": form})
    assert 'href="#id_gross"' in summary
    assert 'role="alert"' in summary
    assert 'id="id_gross"' in field


def test_the_scheme_is_kept_on_the_device_and_shown_without_a_script(client: Client) -> None:
    answer = client.post(reverse("choose_look"), {"look": "dim", "next": "/sign-in/"})
    assert (answer.status_code, answer["Location"]) == (302, "/sign-in/")
    cookie = answer.cookies[parts.LOOK_COOKIE]
    assert cookie.value == "dim"
    assert cookie["httponly"]
    request = RequestFactory().get("/")
    request.COOKIES[parts.LOOK_COOKIE] = "dim"
    page = engines["django"].get_template("web/base.html").render({}, request)
    assert '<html lang="en" data-theme="dim">' in page
    plain = engines["django"].get_template("web/base.html").render({}, RequestFactory().get("/"))
    assert "data-theme" not in plain.split("<body")[0]


@pytest.mark.parametrize("look", ["", "neon", "dim; path=/"])
def test_an_unknown_scheme_is_refused_with_words(client: Client, look: str) -> None:
    answer = client.post(reverse("choose_look"), {"look": look})
    assert answer.status_code == 400
    assert "device, light, dark or dim" in answer.content.decode()


@pytest.mark.parametrize("away", ["https://elsewhere.example/", "//elsewhere.example", "\\\\x"])
def test_choosing_a_scheme_never_leads_to_another_site(client: Client, away: str) -> None:
    answer = client.post(reverse("choose_look"), {"look": "dark", "next": away})
    assert answer["Location"] == "/"


@pytest.fixture
def asked() -> HttpRequest:
    return RequestFactory().get("/tanks/T99/")


def test_a_fault_of_ours_gives_a_number_that_stands_in_the_log(
    asked: HttpRequest, caplog: pytest.LogCaptureFixture
) -> None:
    try:
        raise ZeroDivisionError
    except ZeroDivisionError:
        answer = faults.broken(asked)
    assert answer.status_code == 500
    (record,) = [r for r in caplog.records if r.message == "page.broke"]
    number = record.__dict__["number"]
    assert number in answer.content.decode()
    assert record.exc_info is not None
    assert "ZeroDivisionError" not in answer.content.decode()


def test_each_fault_says_what_happened_and_the_way_back(asked: HttpRequest) -> None:
    for status, answer in (
        (400, faults.bad_request(asked)),
        (403, faults.forbidden(asked)),
        (403, faults.form_too_old(asked, "CSRF cookie not set.")),
        (404, faults.not_found(asked)),
    ):
        text = answer.content.decode()
        assert answer.status_code == status
        assert "<h1>" in text
        assert "To the first page" in text


def test_a_page_about_a_fault_that_breaks_itself_still_says_something(
    asked: HttpRequest, monkeypatch: pytest.MonkeyPatch
) -> None:
    def breaks(*args: object, **kwargs: object) -> None:
        raise RuntimeError

    monkeypatch.setattr(faults, "render", breaks)
    answer = faults.not_found(asked)
    assert answer.status_code == 404
    assert answer.content.decode().startswith("Nothing stands here.")


def test_an_unknown_address_answers_in_our_words(client: Client, db: None) -> None:
    answer = client.get("/no/such/page/")
    assert answer.status_code == 404
    assert "Nothing stands here." in answer.content.decode()


@pytest.mark.parametrize("sheet", CSS, ids=lambda p: p.stem)
def test_a_sheet_is_short_and_uses_only_tones_that_exist(sheet: Path) -> None:
    text = sheet.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= 400
    tokens = (WEB / "static/web/css/tokens.css").read_text(encoding="utf-8")
    known = set(re.findall(r"(--[a-z0-9-]+):", tokens)) | set(re.findall(r"(--[a-z0-9-]+):", text))
    assert set(re.findall(r"var\((--[a-z0-9-]+)", text)) <= known
    for url in re.findall(r'url\("([^"]+)"\)', text):
        assert (sheet.parent / url).is_file(), url


def test_every_scheme_gives_every_tone() -> None:
    text = (WEB / "static/web/css/tokens.css").read_text(encoding="utf-8")
    tone = r"(--[a-z0-9-]+): #"
    light = set(re.findall(tone, text.split("@media screen")[0]))
    dark = set(re.findall(tone, text.split('data-theme="dark"]')[1].split("data-theme")[0]))
    dim = set(re.findall(tone, text.split('data-theme="dim"]')[1].split("@media")[0]))
    device = set(re.findall(tone, text.split(":root:not([data-theme])")[1].split("@media")[0]))
    assert light == dark == dim == device
    assert len(light) > 35


def test_a_vacant_tank_has_no_layers_to_colour() -> None:
    assert "gl-e" in shown('{% front_view s "page" %}', s=a_shape(stage=Stage.VACANT))
