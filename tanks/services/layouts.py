"""The planted work: begin it, say what it is made of, change its version, close it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any

from django.db import transaction

from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.kernel.models import Membership, Person, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.services.checking import check_row, write_new
from gallery_ops.kernel.services.work import want_work
from tanks.models import (
    Brief,
    Designer,
    Hardscape,
    Layout,
    LayoutVersion,
    PlantGroup,
    Species,
    Stage,
    StageChange,
    Style,
    SubstrateLayer,
    Tank,
)

STORY_FIELDS = (
    "title",
    "inspiration",
    "inspired_by",
    "reference",
    "made_different",
    "story",
    "hard_decision",
    "may_change",
    "never_change",
    "went_wrong",
    "difficulty",
    "lessons",
    "designer",
    "style",
    "profile",
    "has_co2",
    "flooded_on",
)


@transaction.atomic
def add_designer(
    *,
    showroom: Showroom,
    name: str,
    by: Membership,
    at: datetime,
    statement: str = "",
    person: Person | None = None,
) -> Designer:
    """A person to be credited; with ``person`` they may read their own layouts here."""
    require(by, "plan.change", in_=showroom)
    designer = Designer(showroom=showroom, name=name.strip(), statement=statement, person=person)
    write_new(designer)
    audit.record(by=by, at=at, deed="designer.added", subject=designer, after={"name": name})
    return designer


@transaction.atomic
def add_brief(*, tank: Tank, by: Membership, at: datetime, **fields: Any) -> Brief:
    """What the next layout of this tank should be."""
    require(by, "plan.change", in_=tank.showroom)
    brief = Brief(showroom=tank.showroom, tank=tank, made_at=at, **fields)
    write_new(brief)
    audit.record(by=by, at=at, deed="brief.added", subject=brief, after={"title": brief.title})
    return brief


BRIEF_FIELDS = (
    "designer",
    "title",
    "style",
    "idea",
    "wishes",
    "viewing_sides",
    "budget_cents",
    "show_weeks",
    "must_not",
    "target_show_on",
    "agreed_at",
)


@transaction.atomic
def change_brief(*, brief: Brief, by: Membership, at: datetime, **changes: Any) -> Brief:
    """Put the brief right; only what is named changes."""
    require(by, "plan.change", in_=brief.showroom)
    strange = set(changes) - set(BRIEF_FIELDS)
    if strange:
        raise Refused("unknown_field", f"A brief has no {', '.join(sorted(strange))}.")
    row: Brief = Brief.objects.select_for_update().get(pk=brief.pk)
    before = {key: str(getattr(row, key)) for key in changes}
    for key, value in changes.items():
        setattr(row, key, value)
    check_row(row)
    row.save(update_fields=list(changes))
    after = {key: str(value) for key, value in changes.items()}
    audit.record(by=by, at=at, deed="brief.changed", subject=row, before=before, after=after)
    return row


@transaction.atomic
def begin_from_brief(*, brief: Brief, by: Membership, at: datetime) -> Layout:
    """The layout that a brief asks for, with its title, designer, style and idea taken over.

    Raises
    ------
    Refused
        ``no_title`` without one, ``glass_taken`` while another layout stands in the glass.
    """
    require(by, "plan.change", in_=brief.showroom)
    Tank.objects.select_for_update().get(pk=brief.tank_id)
    if not brief.title.strip():
        raise Refused("no_title", "The brief has no title yet.", {"title": "1 to 120 characters."})
    if brief.tank.layouts.filter(voided_at=None).still().exists():
        raise Refused(
            "glass_taken",
            "A layout stands in this glass.",
            {},
            "Close it first: take it out, with its lessons.",
        )
    return begin_layout(
        tank=brief.tank,
        title=brief.title,
        designer=brief.designer,
        style=brief.style or Style.STEM,
        has_co2=brief.style != Style.NO_CO2,
        brief=brief,
        inspiration=brief.idea,
        by=by,
        at=at,
    )


@transaction.atomic
def begin_layout(
    *,
    tank: Tank,
    title: str,
    by: Membership,
    at: datetime,
    stage: str = Stage.BRIEFED,
    designer: Designer | None = None,
    style: str = Style.STEM,
    profile: str = "valley",
    has_co2: bool = True,
    flooded_on: date | None = None,
    **story: Any,
) -> Layout:
    """A new layout in an empty glass, in version 1.0, at the stage that it is in already."""
    require(by, "plan.change", in_=tank.showroom)
    Tank.objects.select_for_update().get(pk=tank.pk)
    if designer is not None and designer.showroom_id != tank.showroom_id:
        raise Unknown("designer")
    layout = Layout(
        showroom=tank.showroom,
        tank=tank,
        title=title.strip(),
        designer=designer,
        style=style,
        profile=profile,
        has_co2=has_co2,
        flooded_on=flooded_on,
        stage=stage,
        from_at=at,
        **story,
    )
    write_new(layout)
    LayoutVersion.objects.create(showroom=tank.showroom, layout=layout, from_at=at)
    StageChange.objects.create(
        showroom=tank.showroom,
        layout=layout,
        stage_to=stage,
        done_at=at,
        done_at_corrected=at,
        entered_at=at,
        person=by.person,
    )
    audit.record(by=by, at=at, deed="layout.begun", subject=layout, after={"title": title})
    want_work(tank.showroom, "due_tasks", at=at)
    return layout


@transaction.atomic
def change_layout(*, layout: Layout, by: Membership, at: datetime, **changes: Any) -> Layout:
    """Write down its story, or put right what was noted."""
    require(by, "plan.change", in_=layout.showroom)
    strange = set(changes) - set(STORY_FIELDS)
    if strange:
        raise Refused("unknown_field", f"A layout has no {', '.join(sorted(strange))}.")
    layout = Layout.objects.select_for_update().get(pk=layout.pk)
    before = {key: getattr(layout, key) for key in changes}
    if before == changes:
        return layout
    for key, value in changes.items():
        setattr(layout, key, value)
    layout.full_clean()
    layout.save(update_fields=list(changes))
    audit.record(
        by=by,
        at=at,
        deed="layout.changed",
        subject=layout,
        before={key: str(value) for key, value in before.items()},
        after={key: str(value) for key, value in changes.items()},
    )
    return layout


@transaction.atomic
def add_plant_group(
    *, layout: Layout, species: Iterable[Species], by: Membership, at: datetime, **fields: Any
) -> PlantGroup:
    """Plants that stand together, with their place, count, fixing and trimming."""
    require(by, "plan.change", in_=layout.showroom)
    group = PlantGroup(showroom=layout.showroom, layout=layout, from_at=at, **fields)
    write_new(group)
    group.species.set(species)
    audit.record(by=by, at=at, deed="plant_group.added", subject=group)
    return group


@transaction.atomic
def add_hardscape(*, layout: Layout, by: Membership, at: datetime, **fields: Any) -> Hardscape:
    """A stone or a piece of wood; its mass [mg] where it was weighed going in."""
    require(by, "plan.change", in_=layout.showroom)
    piece = Hardscape(showroom=layout.showroom, layout=layout, from_at=at, **fields)
    write_new(piece)
    audit.record(by=by, at=at, deed="hardscape.added", subject=piece)
    return piece


@transaction.atomic
def add_substrate_layer(
    *,
    layout: Layout,
    order: int,
    material: str,
    front_mm: int,
    back_mm: int,
    by: Membership,
    at: datetime,
) -> SubstrateLayer:
    """One layer of the ground, counted from below; its depth in front and behind [mm]."""
    require(by, "plan.change", in_=layout.showroom)
    layer = SubstrateLayer(
        showroom=layout.showroom,
        layout=layout,
        order=order,
        material=material,
        front_mm=front_mm,
        back_mm=back_mm,
    )
    write_new(layer)
    audit.record(by=by, at=at, deed="substrate.added", subject=layer, after={"material": material})
    return layer


@transaction.atomic
def close_layout(*, layout: Layout, by: Membership, at: datetime, lessons: str = "") -> Layout:
    """It has been taken out; the glass is vacant from now on."""
    require(by, "plan.change", in_=layout.showroom)
    layout = Layout.objects.select_for_update().get(pk=layout.pk)
    if layout.to_at is not None:
        raise Refused("layout_closed", "This layout is closed already.")
    layout.to_at = at
    layout.lessons = lessons or layout.lessons
    layout.save(update_fields=["to_at", "lessons"])
    layout.versions.still().update(to_at=at)
    layout.plant_groups.still().update(to_at=at)
    layout.hardscape.still().update(to_at=at)
    audit.record(by=by, at=at, deed="layout.closed", subject=layout)
    want_work(layout.showroom, "due_tasks", at=at)
    want_work(layout.showroom, "forecast", at=at)
    return layout
