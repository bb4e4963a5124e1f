"""Are all words for visitors and the sign-in there in German, and is the compiled file current?"""

from __future__ import annotations

import gettext
import re
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import pytest
from babel.messages.catalog import Catalog
from babel.messages.extract import extract_python
from babel.messages.pofile import read_po
from django.utils.translation.template import templatize

from tanks.models import Fixing, GroupPlace
from tests.house.source import HOUSE

pytestmark = pytest.mark.once

FOLDER = HOUSE / "gallery_ops/locale/de/LC_MESSAGES"
SPOKEN = ("gettext", "_", "ngettext", "pgettext", "npgettext")
KEYWORDS = {"pgettext": ((1, "c"), 2), "ngettext": (1, 2), "npgettext": ((1, "c"), 2, 3)}


def german() -> Catalog:
    with (FOLDER / "django.po").open("rb") as file:
        return read_po(file, locale="de")


def said_in(path: Path) -> Iterator[str]:
    """The first text of every call for a translation; a context is left out."""
    text = path.read_text("utf-8")
    if path.suffix == ".html":
        text = templatize(text, origin=str(path))
    for _, name, found, _ in extract_python(BytesIO(text.encode()), list(SPOKEN), [], {}):
        parts = found if isinstance(found, tuple) else (found,)
        yield str(parts[1] if name.endswith("pgettext") and len(parts) > 1 else parts[0])


def translated_files() -> list[Path]:
    web = HOUSE / "gallery_ops/web/templates/web"
    return [
        *sorted((web / "visitor").glob("*.html")),
        *sorted((web / "sign").glob("[pt]*.html")),
        web / "base_public.html",
        web / "label/label.html",
        HOUSE / "gallery_ops/overview/spec_words.py",
    ]


@pytest.mark.parametrize("path", translated_files(), ids=lambda path: path.name)
def test_every_word_of_a_translated_page_is_there_in_german(path: Path) -> None:
    known = {message.id[0] if message.pluralizable else message.id for message in german()}
    assert [text for text in said_in(path) if text not in known] == []


def test_the_check_reads_more_than_a_few_words() -> None:
    assert sum(1 for path in translated_files() for _ in said_in(path)) > 70


def test_the_words_of_lists_are_there_in_german() -> None:
    known = german()
    for label in (*GroupPlace.labels, *Fixing.labels):
        assert str(label) in known


def test_the_compiled_file_is_the_written_one() -> None:
    with (FOLDER / "django.mo").open("rb") as file:
        compiled = gettext.GNUTranslations(file)
    checked = 0
    for message in german():
        if not message.id:
            continue
        if message.pluralizable:
            said = [compiled.ngettext(*message.id, n) for n in (1, 2)]
            assert said == list(message.string)
        elif message.context:
            assert compiled.pgettext(message.context, message.id) == message.string
        else:
            assert compiled.gettext(message.id) == message.string
        assert all(message.string if isinstance(message.string, tuple) else [message.string])
        checked += 1
    assert checked > 100


def test_a_placeholder_is_the_same_in_both_languages() -> None:
    for message in german():
        if not message.id:
            continue
        source = message.id[1] if message.pluralizable else message.id
        target = message.string[1] if message.pluralizable else message.string
        found = [sorted(re.findall(r"%\(\w+\)[sd]", text)) for text in (source, target)]
        assert found[0] == found[1]
