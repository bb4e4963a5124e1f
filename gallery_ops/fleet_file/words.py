"""How is a change said: what it is called, what stood there, what would stand there?"""

from __future__ import annotations

from collections.abc import Iterable

from django.utils.translation import gettext as _

from gallery_ops.kernel.values.quantity import Mass, Volume
from tanks.models import Stage, Style, Tank

PURPOSES = {"dose": "dose_ul_day", "gas": "co2_mg_day", "food": "food_mg_day"}
"""Purpose of a plan -> the field of a row that says its daily amount."""


def word_of(what: str) -> str:
    """The name of a thing that can change, as the pages call it."""
    return {
        "length_mm": _("length"),
        "width_mm": _("width"),
        "height_mm": _("height"),
        "glass_mm": _("glass"),
        "kind_of_glass": _("kind of glass"),
        "title": _("title"),
        "stage": _("stage"),
        "style": _("style"),
        "designer": _("designer"),
        "has_co2": _("CO2"),
        "flooded_on": _("flooded on"),
        "room": _("room"),
        "zone": _("zone"),
        "place": _("place"),
        "order": _("place in the walk"),
        "layout": _("layout"),
        "dose": _("dose a day"),
        "gas": _("CO2 a day"),
        "food": _("food a day"),
    }[what]


def column_word(key: str) -> str:
    """What a known column holds."""
    return {
        "code": _("code"),
        "title": _("title"),
        "room": _("room"),
        "zone": _("zone"),
        "place": _("place"),
        "order": _("place in the walk"),
        "dims": _("length x width x height"),
        "length": _("length"),
        "width": _("width"),
        "depth": _("depth"),
        "height": _("height"),
        "glass": _("glass"),
        "kind_of_glass": _("kind of glass"),
        "stage": _("stage"),
        "flooded": _("flooded on"),
        "dose": _("dose a day"),
        "full_dose": _("full dose a day"),
        "co2": _("CO2 a day"),
        "cylinder": _("size of the cylinder"),
        "food": _("food a day"),
        "style": _("style"),
        "designer": _("designer"),
        "water_change": _("water change a week"),
        "evaporation": _("evaporation a day"),
        "energy": _("electricity a day"),
        "nominal": _("label volume"),
        "internal": _("inner volume"),
        "working": _("working volume"),
    }[key]


def amount_text(purpose: str, base: int | None, mark: str) -> str:
    """A daily amount as people read it."""
    if base is None:
        return _("no plan")
    return Volume(base).text(mark) if purpose == "dose" else Mass(base).text(mark)


def stage_text(stage: str) -> str:
    """The name of a stage; a vacant tank has none."""
    if stage in Stage.values:
        return str(Stage(stage).label)
    return {"vacant": _("vacant"), "out_of_service": _("out of service")}[stage]


def style_text(style: str) -> str:
    """The name of a style."""
    return str(Style(style).label)


def kind_of_glass_text(kind: str) -> str:
    """The name of a kind of glass."""
    return str(dict(Tank._meta.get_field("kind_of_glass").choices or [])[kind])


def mm_text(mm: int, mark: str) -> str:
    """A length in centimetres, as tanks are spoken of: 605 is "60.5 cm"."""
    text = f"{mm // 10}{mark}{mm % 10}" if mm % 10 else f"{mm // 10}"
    return f"{text} cm"


def numbered(rows: Iterable[int], one: str, many: str) -> str:
    """Row numbers in runs: "Row 4" or "Rows 2 to 5, 9"."""
    runs: list[list[int]] = []
    for row in sorted(set(rows)):
        if runs and runs[-1][-1] == row - 1:
            runs[-1].append(row)
        else:
            runs.append([row])
    spans: list[str] = []
    for run in runs:
        if len(run) > 2:
            ends = {"first": run[0], "last": run[-1]}
            spans.append(_("%(first)s to %(last)s") % ends)
        else:
            spans += [str(row) for row in run]
    single = len(spans) == 1 and len(runs[0]) == 1
    return f"{one if single else many} {', '.join(spans)}"
