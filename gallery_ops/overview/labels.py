"""What stands on the label beside a glass, and what is missing before it may be printed?"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gallery_ops.drawing import TankShape
from gallery_ops.kernel.models import Showroom
from gallery_ops.overview.drawings import shapes
from tanks.models import Layout, Purpose, Tank
from tanks.queries.label_text import as_approved, changed_since
from tanks.queries.layouts import open_layouts_with_parts
from tanks.queries.tanks import TankNow, fleet
from tanks.queries.visitors import open_codes

MOST_WORDS = 100
MOST_IN_A_SENTENCE = 25
LONG_WORDS = 50
"""From here on the text is set smaller, so that it stays inside the label."""
_SENTENCE = re.compile(r"[.!?:;]+(?:\s|$)")


@dataclass(frozen=True, slots=True)
class Label:
    """One label. ``code`` is empty while the tank has none."""

    tank_code: str
    title: str
    designer: str
    year: int | None
    length_mm: int
    text: str
    code: str
    shape: TankShape
    missing: tuple[str, ...]

    @property
    def words(self) -> int:
        """Words of the text."""
        return len(self.text.split())

    @property
    def is_long(self) -> bool:
        """Set in smaller letters."""
        return self.words > LONG_WORDS

    @property
    def length_cm(self) -> float:
        """Outer length of the glass [cm]."""
        return self.length_mm / 10


def labels(showroom: Showroom, at: datetime, wanted: Iterable[str] = ()) -> list[Label]:
    """Labels of the tanks with these codes, or of all that visitors see; 20 queries at most.

    Codes that no tank has are left out; the page says which.
    """
    codes = {code.strip().upper() for code in wanted if code.strip()}
    rows = [row for row in fleet(showroom, at) if _is_wanted(row, codes)]
    standing = open_layouts_with_parts(showroom, at, with_labels=True)
    told = {layout.tank_id: as_approved(layout, at) for layout in standing}
    changed = {layout.tank_id for layout in standing if changed_since(layout, at)}
    looks = shapes(showroom, at, rows, told.values())
    public = open_codes(showroom, [row.tank for row in rows], at)
    return [
        _label(
            row,
            told.get(row.tank.pk),
            looks[row.code],
            public.get(row.tank.pk, ""),
            at,
            is_changed=row.tank.pk in changed,
        )
        for row in rows
    ]


def tanks_without_code(showroom: Showroom, at: datetime, wanted: Iterable[str] = ()) -> list[Tank]:
    """Those of the tanks above that still need a code."""
    codes = {code.strip().upper() for code in wanted if code.strip()}
    tanks = [row.tank for row in fleet(showroom, at) if _is_wanted(row, codes)]
    public = open_codes(showroom, tanks, at)
    return [tank for tank in tanks if tank.pk not in public]


def longest_sentence(text: str) -> int:
    """Words of the longest sentence.

    >>> longest_sentence("Stand back. Look right of the root for the shoal.")
    8
    """
    return max((len(part.split()) for part in _SENTENCE.split(text)), default=0)


def _is_wanted(row: TankNow, codes: set[str]) -> bool:
    if codes:
        return row.code.upper() in codes
    return row.layout is not None and row.tank.purpose == Purpose.DISPLAY


def _label(
    row: TankNow,
    layout: Layout | None,
    shape: TankShape,
    code: str,
    at: datetime,
    *,
    is_changed: bool,
) -> Label:
    designer = layout.designer.name if layout is not None and layout.designer is not None else ""
    flooded_on = layout.flooded_on if layout is not None else None
    text = layout.story if layout is not None else ""
    return Label(
        tank_code=row.code,
        title=layout.title if layout is not None else "",
        designer=designer,
        year=flooded_on.year if flooded_on is not None else None,
        length_mm=row.tank.length_mm,
        text=text,
        code=code,
        shape=shape,
        missing=tuple(_missing(row, text, designer, code, at, is_changed=is_changed)),
    )


def _missing(
    row: TankNow, text: str, designer: str, code: str, at: datetime, *, is_changed: bool
) -> list[str]:
    layout = row.layout
    if layout is None:
        return [_("No layout stands in it."), *([] if code else [_("It has no code yet.")])]
    long_one = longest_sentence(text)
    published = layout.published_at is not None and layout.published_at <= at
    said = (
        (not code, _("It has no code yet.")),
        (not text, _("It has no text.")),
        (not designer, _("No designer is named.")),
        (not published, _("Its designer has not approved it: visitors read that it rests.")),
        (
            published and layout.approved_on is None,
            _("The day of the designer's approval is not kept."),
        ),
        (
            is_changed,
            _("It was changed since: the label still says what was approved."),
        ),
        (len(text.split()) > MOST_WORDS, _too_many(len(text.split()))),
        (
            long_one > MOST_IN_A_SENTENCE,
            _("A sentence has %(n)s words: 25 at most read well while standing.") % {"n": long_one},
        ),
    )
    return [sentence for is_so, sentence in said if is_so]


def _too_many(words: int) -> str:
    over = words - MOST_WORDS
    return ngettext(
        "%(words)s words, and 100 fit: take out %(over)s word.",
        "%(words)s words, and 100 fit: take out %(over)s words.",
        over,
    ) % {"words": words, "over": over}
