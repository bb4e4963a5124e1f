"""Which page of the allow-list belongs to a code? Rows become public values, one by one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, datetime, timedelta
from uuid import UUID

from django.utils.translation import get_language, get_supported_language_variant, override
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.queries.people import showrooms
from gallery_ops.kernel.values.day import local
from gallery_ops.kernel.values.quantity import Mass, quantity
from gallery_ops.overview.drawings import shape_of, younger_days
from gallery_ops.overview.spec_page import (
    Animals,
    Before,
    Device,
    Gift,
    Layer,
    Name,
    Next,
    Picture,
    Plants,
    Size,
    SpecPage,
    State,
    Stones,
    Work,
)
from gallery_ops.overview.spec_words import difficulty_words, how_many, side_words
from inventory.queries.livestock import heads
from inventory.queries.plans import plans_in_force
from maintenance.queries.care import weeks_between
from maintenance.queries.incidents import stopped_by
from tanks.models import Equipment, Layout, PlantGroup, PublicCode, Purpose, Species, Stage, Tank
from tanks.queries import visitors
from tanks.queries.label_text import as_approved
from tanks.queries.layouts import public_code
from tanks.queries.photos import photo_of
from tanks.queries.tanks import TankNow, tank_now
from tanks.services.photo_files import smaller_of

BUILDING = {Stage.BRIEFED, Stage.HARDSCAPE, Stage.PLANTING, Stage.START_UP}
RESTING = {Stage.RECOVERY, Stage.TEARDOWN}
ROOTING = timedelta(days=42)
"""From flooding until a layout is worth a second visit (common practice, no source)."""

_ORDER = {"gas": 0, "dose": 1, "food": 2}


def spec_page(text: str, at: datetime, tongue: str = "") -> SpecPage:
    """The page behind a code as scanned or typed; at most 25 queries.

    Parameters
    ----------
    tongue : language tag of the words around the gallery's own; the gallery's when empty

    Raises
    ------
    Unknown
        when there is no such code.
    """
    code = public_code(text)
    tongue = tongue or supported(code.showroom.language)
    with override(tongue):
        return _page(code, tongue, at)


def picture_of(text: str, uid: UUID, at: datetime) -> tuple[bytes, str]:
    """Bytes and kind of a photo that the page behind this code shows now, at a visitor's size.

    Raises Unknown.
    """
    page = spec_page(text, at)
    if page.work is None or all(shown.uid != uid for shown in page.work.photos):
        raise Unknown("photo")
    photo = photo_of(public_code(text).showroom, uid)
    return smaller_of(photo), photo.media_type


def supported(language: str) -> str:
    """The language if the house has words in it, else English."""
    try:
        return str(get_supported_language_variant(language))
    except LookupError:
        return "en"


def _page(code: PublicCode, tongue: str, at: datetime) -> SpecPage:
    showroom = code.showroom
    page = SpecPage(
        state=State.RESTING,
        showroom=showroom.name,
        place=showroom.place,
        language=showroom.language,
        decimal_mark=showroom.decimal_mark,
        code=code.code,
        tongue=tongue,
    )
    tank = visitors.tank_of(code, at)
    if tank is not None and tank.voided_at is not None:
        raise Unknown("code")
    if code.to_at is not None and code.to_at <= at:
        return _retired(page, tank, at, code.to_at)
    if tank is None:
        return replace(page, state=State.EMPTY)
    if tank.retired_at is not None and tank.retired_at <= at:
        return _retired(page, tank, at, tank.retired_at)
    return _standing(page, showroom, tank_now(tank, at), at)


def gallery_name() -> str:
    """The one gallery of this machine by name; none when there are several."""
    found = list(showrooms()[:2])
    return found[0].name if len(found) == 1 else ""


def _retired(page: SpecPage, tank: Tank | None, at: datetime, since: datetime) -> SpecPage:
    before = visitors.last_published(tank, since) if tank is not None else None
    now = visitors.open_code(tank, at) if tank is not None and tank.retired_at is None else None
    return replace(
        page,
        state=State.RETIRED,
        before=Before(before.title, _designer(before)) if before is not None else None,
        now_at=now.code if now is not None else "",
    )


def _standing(page: SpecPage, showroom: Showroom, now: TankNow, at: datetime) -> SpecPage:
    """A tank that stands in the gallery: neutral unless it is for visitors and published."""
    tank = now.tank
    if tank.purpose != Purpose.DISPLAY:
        return page
    page = replace(page, label=now.code, size=_size(now))
    layout = visitors.layout_with_parts(tank, at)
    if layout is None:
        return replace(page, state=State.EMPTY, next=_next(tank, at))
    published = layout.published_at is not None and layout.published_at <= at
    if layout.stage in RESTING or (layout.stage not in BUILDING and not published):
        return page
    if stopped_by(showroom, tank, at) is not None:
        return page  # an emergency: the same words as on any day of rest
    if layout.stage in BUILDING:
        page = replace(page, state=State.BUILDING, day=now.day, come_back_on=_come_back(layout))
    else:
        page = replace(page, state=State.SHOWN, day=now.day)
    if not published:
        return page
    return replace(page, work=_work(showroom, now, as_approved(layout, at), at))


def _size(now: TankNow) -> Size:
    glass = now.tank
    return Size(
        glass.length_mm,
        glass.width_mm,
        glass.height_mm,
        glass.glass_mm,
        now.volumes.outer_l,
        glass.kind_of_glass,
    )


def _next(tank: Tank, at: datetime) -> Next | None:
    brief = visitors.next_brief(tank, at)
    if brief is None:
        return None
    designer = brief.designer.name if brief.designer is not None else ""
    return Next(brief.title, designer, brief.target_show_on)


def _come_back(layout: Layout) -> date | None:
    if layout.brief is not None and layout.brief.target_show_on is not None:
        return layout.brief.target_show_on
    return layout.flooded_on + ROOTING if layout.flooded_on is not None else None


def _work(showroom: Showroom, now: TankNow, layout: Layout, at: datetime) -> Work:
    animals = _animals(showroom, now.tank, at)
    shape = shape_of(now, layout, at, has_animals=bool(animals))
    equipment = visitors.equipment_of(now.tank, at)
    weeks = weeks_between(showroom, ("water_change", "trim_stems"), layout.stage, now.on)
    return Work(
        title=layout.title,
        designer=_designer(layout),
        year=layout.flooded_on.year if layout.flooded_on is not None else None,
        story=layout.story,
        inspiration=layout.inspiration,
        went_wrong=layout.went_wrong,
        difficulty=difficulty_words(layout.difficulty),
        has_co2=layout.has_co2,
        shape=shape,
        ages=younger_days(shape, now.day),
        plants=_plants(layout, at),
        animals=animals,
        lamps=_devices(equipment, "light"),
        filters=_devices(equipment, "filter"),
        layers=tuple(
            Layer(row.material, row.front_mm, row.back_mm)
            for row in sorted(layout.substrate_layers.all(), key=lambda row: row.order)
        ),
        hardscape=_hardscape(layout, at),
        gifts=_gifts(showroom, now.tank, now.on),
        water_weeks=weeks.get("water_change"),
        trim_weeks=weeks.get("trim_stems"),
        photos=tuple(
            Picture(row.uid, row.credit, row.words, local(row.taken_at, showroom.tz).date())
            for row in visitors.released_photos(layout, at)
        ),
    )


def _designer(layout: Layout) -> str:
    return layout.designer.name if layout.designer is not None else ""


def _name(species: Species) -> Name:
    common = species.vernacular_name
    if not common:
        return Name("", species.scientific_name, "")
    tongue = get_language() or "en"
    said = _(common)
    return Name(said, species.scientific_name, tongue if said != common else "en")


def _holds(row: object, at: datetime) -> bool:
    begun, ended = getattr(row, "from_at"), getattr(row, "to_at")  # noqa: B009 - any Period
    return bool(begun <= at and (ended is None or at < ended))


def _plants(layout: Layout, at: datetime) -> tuple[Plants, ...]:
    groups = sorted(layout.plant_groups.all(), key=lambda row: row.number)
    return tuple(_group(row) for row in groups if _holds(row, at))


def _group(row: PlantGroup) -> Plants:
    names = sorted((_name(species) for species in row.species.all()), key=lambda n: n.scientific)
    place = f"{row.get_place_display()}, {side_words(row.centre_permille)}"
    return Plants(tuple(names), place, str(row.get_fixing_display()), row.provenance)


def _animals(showroom: Showroom, tank: Tank, at: datetime) -> tuple[Animals, ...]:
    counts: dict[int, int] = {}
    for head in heads(showroom, at, tank_ids=[tank.pk]):
        counts[head.species_id] = counts.get(head.species_id, 0) + head.count
    species = Species.objects.in_bulk(list(counts))
    rows = [
        Animals(_name(species[key]), how_many(count), species[key].adult_size_mm)
        for key, count in counts.items()
        if count > 0
    ]
    return tuple(sorted(rows, key=lambda row: row.name.scientific))


def _devices(rows: Iterable[Equipment], kind: str) -> tuple[Device, ...]:
    return tuple(
        Device(
            row.name,
            _figure(row, "hours_per_day"),
            _figure(row, "power_w"),
            _figure(row, "flow_l_per_h"),
        )
        for row in rows
        if row.kind == kind
    )


def _figure(row: Equipment, key: str) -> float | None:
    value = row.figures.get(key)
    return value if isinstance(value, int | float) and value > 0 else None


def _hardscape(layout: Layout, at: datetime) -> tuple[Stones, ...]:
    found = []
    for kind in ("stone", "wood"):
        rows = [row for row in layout.hardscape.all() if row.kind == kind and _holds(row, at)]
        masses = [row.mass_in_mg for row in rows]
        known = [mass for mass in masses if mass is not None]
        if rows:
            mass = Mass(sum(known)) if len(known) == len(rows) else None
            found.append(Stones(kind == "wood", len(rows), mass, max(r.length_mm for r in rows)))
    return tuple(found)


def _gifts(showroom: Showroom, tank: Tank, on: date) -> tuple[Gift, ...]:
    week: dict[tuple[str, str], list[int]] = {}
    for plan in plans_in_force(showroom, on, tank_ids=[tank.pk]):
        days = week.setdefault((plan.purpose, plan.item.dimension), [0] * 7)
        for line in plan.lines.all():
            if line.from_on <= on and (line.to_on is None or on < line.to_on):
                for weekday in range(7):
                    if line.weekdays[weekday] == "1":
                        days[weekday] += line.amount_base
    return tuple(
        Gift(purpose, quantity(dimension, max(days)), sum(1 for day in days if day))
        for (purpose, dimension), days in sorted(week.items(), key=lambda row: _ORDER[row[0][0]])
        if max(days)
    )
