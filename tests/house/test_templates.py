"""Would the template checks notice an inline script, a word that we avoid, a tag left open?"""

import re
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from tests.house.source import HOUSE, plant

pytestmark = pytest.mark.once

BAD = [
    ('<p style="width: 3px">a</p>', "style="),
    ("<style>p { color: red }</style>", "<style>"),
    ("<script>go()</script>", "without src"),
    ('<a onclick="go()">a</a>', "on...="),
    ('<a hx-on:click="go()">a</a>', "hx-on"),
    ("<a href='javascript:go()'>a</a>", "javascript:"),
    ("{{ note|safe }}", "|safe"),
    ("{% if a %}", "does not compile"),
    ("<p>\n<b>Quite safe</b></p>", "a.html:2: the word 'safe'"),
    ('<img alt="Health score of T01">', "Health score"),
    ('{% load i18n %}{% translate "Open a ticket" %}', "ticket"),
]
GOOD = [
    '<script type="module" src="{{ a }}"></script>',
    '<button type="submit" class="ai">Keep on this tablet</button>',
    "{# never say safe here #}<p>Kept on this tablet.</p>",
    '<svg><rect width="3" fill="none"/></svg>',
    "<p>Said again, maintained</p>",
]


def refusal(folder: Path) -> str:
    with pytest.raises(CommandError) as refused:
        call_command("check_templates", str(folder))
    return str(refused.value)


@pytest.mark.parametrize(("text", "found"), BAD)
def test_a_bad_template_is_named(text: str, found: str, tmp_path: Path) -> None:
    plant(tmp_path, "templates/web/a.html", text)
    assert found in refusal(tmp_path)


@pytest.mark.parametrize("text", GOOD)
def test_a_good_template_is_let_through(text: str, tmp_path: Path) -> None:
    plant(tmp_path, "templates/web/a.html", text)
    call_command("check_templates", str(tmp_path), stdout=StringIO())


def test_words_of_a_script_are_read_but_not_its_names(tmp_path: Path) -> None:
    plant(tmp_path, "js/a.js", 'const safe = "safe";\nsay("All is safe now");\n')
    assert refusal(tmp_path).endswith("a.js:2: the word 'safe' is avoided")


def test_some_words_are_avoided_on_some_pages_only(tmp_path: Path) -> None:
    plant(tmp_path, "templates/web/tank/a.html", "<p>in sync</p>")
    call_command("check_templates", str(tmp_path), stdout=StringIO())
    plant(tmp_path, "templates/web/round/a.html", "<p>in sync</p>")
    assert "'sync'" in refusal(tmp_path)


def test_the_way_up_at_the_head_of_a_page_is_a_crumb_with_its_space() -> None:
    first = re.compile(r'block main %}\s*(?:{%[^%]*%}\s*)*<p class="([^"]*)"><a ')
    pages = (HOUSE / "gallery_ops/web/templates/web").rglob("*.html")
    found = {page: said[1] for page in pages if (said := first.search(page.read_text("utf-8")))}
    assert len(found) > 40
    assert [page.name for page, css in found.items() if "crumb" not in css.split()] == []


def test_the_templates_of_the_house_are_good() -> None:
    call_command("check_templates", stdout=StringIO())
