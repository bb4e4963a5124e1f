"""Words for visitors in place of exact numbers."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import pgettext


def how_many(count: int) -> str:
    """So many animals in words: near enough for a visitor, silent about one more or less."""
    if count == 1:
        return pgettext("animals", "one")
    steps = (
        (4, _("a few")),
        (8, _("about half a dozen")),
        (15, _("about a dozen")),
        (24, _("about twenty")),
        (39, _("about thirty")),
        (69, _("about fifty")),
    )
    return next((words for most, words in steps if count <= most), _("a great many"))


def side_words(centre_permille: int) -> str:
    """Where along the front: left, in the middle, right."""
    if centre_permille < 350:
        return _("left")
    return _("right") if centre_permille > 650 else _("in the middle")


def difficulty_words(level: int | None) -> str:
    """How hard it is to keep, 1 to 5; nothing when nobody has said."""
    words = (
        _("Easy."),
        _("Fairly easy."),
        _("Middling."),
        _("Hard."),
        _("Very hard."),
    )
    return words[level - 1] if level is not None and 1 <= level <= len(words) else ""
