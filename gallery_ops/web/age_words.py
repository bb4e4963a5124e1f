"""How old does a layout look, and from what is that read? Its signs, put into words."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from gallery_ops.web.words import number
from tanks.science.decline import IN_A_ROW, Sign

NAMES = {
    "trims": gettext_lazy("Trimmed twice as often as at first"),
    "bare_stems": gettext_lazy("Bare lower stems"),
    "algae": gettext_lazy("Algae week after week"),
    "black_patches": gettext_lazy("Gas or black patches in the ground"),
    "appeal": gettext_lazy("It pleases less"),
    "age": gettext_lazy("Older than a layout usually stands"),
}


@dataclass(frozen=True, slots=True)
class ShownSign:
    """A sign as the page of the gates shows it."""

    key: str
    words: str
    shows: bool | None
    because: str


def shown_sign(sign: Sign) -> ShownSign:
    """One sign with what it was read off, or why nobody can tell."""
    if sign.shows is not None:
        said = because({"sign": sign.key, **sign.figures})
    elif sign.key == "trims":
        said = _("Too few trims on record.")
    elif sign.key in {"algae", "appeal"}:
        said = _("Fewer than %(n)s weeks on record.") % {"n": IN_A_ROW}
    else:
        said = _("Nobody has said.")
    return ShownSign(sign.key, str(NAMES[sign.key]), sign.shows, said)


def because(r: Mapping[str, Any]) -> str:
    """What a sign was read off and the figure that it is held against; empty for yes or no."""
    key = str(r["sign"])
    if key == "trims":
        return _("%(last)s days between the last two, at first %(first)s") % {
            "last": number(r["last"], 0),
            "first": number(r["first"], 0),
        }
    if key in {"algae", "appeal"}:
        told = ", ".join(number(value, 1) for value in r["values"])
        words = {"told": told, "n": len(r["values"]), "limit": number(r["limit"], 1)}
        if key == "algae":
            return _("%(told)s of 4 in the last %(n)s weeks; asked about from %(limit)s") % words
        return _("%(told)s of 5 in the last %(n)s weeks; asked about up to %(limit)s") % words
    if key == "bare_stems":
        return _("%(value)s %% of them; asked about above %(limit)s %%") % {
            "value": number(r["value"], 0),
            "limit": number(r["limit"], 0),
        }
    if key == "age":
        return _("%(value)s months since it was flooded; asked about above %(limit)s") % {
            "value": number(r["value"], 1),
            "limit": number(r["limit"], 1),
        }
    return ""


def sign_of_age(r: Mapping[str, Any]) -> str:
    """A sign that shows, in one line of a because."""
    said, name = because(r), str(NAMES.get(str(r["sign"]), r["sign"]))
    return f"{name}: {said}" if said else name


def signs_together(r: Mapping[str, Any]) -> str:
    """How many show, how many are asked for, how many nobody can tell, and what closes it."""
    n, untold = int(r["n"]), int(r["untold"])
    said = ngettext("%(n)d sign shows", "%(n)d signs show", n) % {"n": n}
    said += ", " + _("asked about from %(n)s on") % {"n": number(r["asked"], 0)}
    if untold:
        said += ". " + ngettext(
            "%(n)d cannot be told, and does not count",
            "%(n)d cannot be told, and do not count",
            untold,
        ) % {"n": untold}
    closes = _("It closes when fewer show, or when the layout is put into decline or taken down")
    return f"{said}. {closes}"


AGE_TERMS: dict[str, tuple[str, Callable[[Mapping[str, Any]], str]]] = {
    "sign_of_age": ("Sign of age", sign_of_age),
    "signs_together": ("Together", signs_together),
}
"""Key -> the term of its line and its sentence."""
