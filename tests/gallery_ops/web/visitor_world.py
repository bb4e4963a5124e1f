"""A planted tank for visitors, and a way to mark every text of the database that must not show."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime

from django.apps import apps
from django.db import models

from gallery_ops.kernel import guards
from gallery_ops.kernel.services.alerts import Wanted, sync_alerts
from gallery_ops.kernel.values.quantity import Mass, Volume
from inventory.services.items import add_supplier, add_supplier_item
from inventory.services.livestock import arrive, die
from maintenance.services.observations import observe
from tanks.models import Layout, PublicCode, Species, Tank
from tanks.services.equipment import put_on
from tanks.services.layouts import (
    add_brief,
    add_designer,
    add_hardscape,
    add_plant_group,
    add_substrate_layer,
    begin_layout,
)
from tanks.services.publishing import give_public_code, publish_layout
from tests.builders.gallery import a_showroom, a_tank, an_owner
from tests.builders.stock import a_cylinder, a_fertiliser, a_food, a_gas, a_plan, a_tub

AT = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
TODAY = datetime(2026, 3, 12, 9, 14, tzinfo=UTC)
FLOODED_ON = date(2025, 8, 12)

# What a visitor reads when the page is shown, by table and column. All other texts are private.
PUBLIC = {
    "kernel.Showroom": {"name", "place"},
    "tanks.TankCode": {"code"},
    "tanks.PublicCode": {"code"},
    "tanks.Designer": {"name"},
    "tanks.Layout": {"title", "story", "inspiration", "went_wrong"},
    "tanks.Brief": {"title"},
    "tanks.PlantGroup": {"provenance"},
    "tanks.Species": {"scientific_name", "vernacular_name"},
    "tanks.Equipment": {"name"},
    "tanks.SubstrateLayer": {"material"},
}
# Columns that programs read: a text of ours there would break the gallery, not leak from it.
FOR_PROGRAMS = {
    "kernel.Showroom": {"code", "zone", "language", "decimal_mark", "currency", "country"},
    "kernel.Person": {"language", "password"},
    "maintenance.TaskTemplate": {"rule"},
    "inventory.UsePlanLine": {"weekdays"},
    "inventory.Supplier": {"delivery_weekdays"},
}
OURS = ("kernel", "tanks", "inventory", "maintenance")


@dataclass
class World:
    """The tank, its layout and its code."""

    tank: Tank
    layout: Layout
    code: PublicCode


def a_plant(name: str, common: str) -> Species:
    """A plant of the catalogue."""
    return Species.objects.create(scientific_name=name, vernacular_name=common, kingdom="plant")


def a_world(code: str = "T11", *, stage: str = "show", flooded_on: date = FLOODED_ON) -> World:
    """A published layout with something in every table that a tank touches."""
    showroom = a_showroom(name="Undershore", at=AT)
    boss = an_owner(showroom, at=AT)
    tank = a_tank(code, showroom=showroom, size_mm=(900, 450, 450, 8), at=AT)
    designer = add_designer(showroom=showroom, name="Corvin Aldaye", by=boss, at=AT)
    layout = begin_layout(
        tank=tank,
        title="Ferry Steps",
        designer=designer,
        stage=stage,
        flooded_on=flooded_on,
        story="Steps that go down into the water.",
        went_wrong="A brown film came in week five.",
        inspiration="A quay at low water.",
        hard_decision="Which step to leave out.",
        never_change="The tall root.",
        lessons="Trim the back in time.",
        difficulty=3,
        by=boss,
        at=AT,
    )
    moss = a_plant("Taxiphyllum barbieri", "Java moss")
    stems = a_plant("Rotala rotundifolia", "round-leaved toothcup")
    for number, species, place in ((1, stems, "background"), (2, moss, "moss")):
        add_plant_group(
            layout=layout,
            species=[species],
            number=number,
            place=place,
            height_mm=200,
            planted_as="cups",
            fixing="planted",
            leaf_colour="light_green",
            trimming="every three weeks",
            if_not_trimmed="it shades the front",
            provenance="Loam & Lantern nursery",
            by=boss,
            at=AT,
        )
    add_hardscape(
        layout=layout, kind="stone", name="step one", mass_in_mg=8_400_000, by=boss, at=AT
    )
    add_substrate_layer(
        layout=layout, order=1, material="coarse sand", front_mm=30, back_mm=60, by=boss, at=AT
    )
    put_on(
        tank=tank,
        kind="light",
        name="pendant lamp",
        figures={"power_w": 100, "hours_per_day": 8},
        words={"serial": "PRIVATE-serial-of-lamp"},
        by=boss,
        at=AT,
    )
    add_brief(
        tank=tank,
        designer=designer,
        title="Sluice Keeper",
        idea="a gate",
        must_not="no moss",
        target_show_on=date(2026, 5, 20),
        by=boss,
        at=AT,
    )
    _stock(tank)
    _trouble(tank)
    publish_layout(layout=layout, by=boss, at=AT, approved_on=AT.date())
    layout.refresh_from_db()
    return World(tank, layout, give_public_code(tank=tank, by=boss, at=AT))


def _stock(tank: Tank) -> None:
    showroom, boss = tank.showroom, an_owner(tank.showroom)
    supplier = add_supplier(
        showroom=showroom, name="Quayhead Gas", contact_private="Nils", by=boss, at=AT
    )
    carbon, food = a_gas(showroom, at=AT), a_food(showroom, at=AT)
    a_cylinder(carbon, tank=tank, serial="PRIVATE-serial-of-cylinder", at=AT)
    a_tub(food, supplier=supplier, at=AT)
    add_supplier_item(supplier=supplier, item=food, pack=Mass.g(100), price_cents=1, by=boss, at=AT)
    a_plan(tank, a_fertiliser(showroom, at=AT), Volume.ml(9), at=AT)
    a_plan(tank, carbon, Mass.g(6), purpose="gas", at=AT)
    a_plan(tank, food, Mass(180), purpose="food", weekdays="1111110", at=AT)
    fish = Species.objects.create(
        scientific_name="Hyphessobrycon amandae",
        vernacular_name="ember tetra",
        kingdom="animal",
        adult_size_mm=20,
    )
    came = arrive(
        tank=tank, species=fish, count=17, supplier=supplier, note="bag torn", by=boss, at=AT
    )
    die(batch=came.batch, tank=tank, count=3, note="PRIVATE-note-of-death", by=boss, at=AT)


def _trouble(tank: Tank) -> None:
    showroom, boss = tank.showroom, an_owner(tank.showroom)
    wanted = Wanted("A", "tank", "T11", "Animals gasp in T11.", [{"what": "seen"}])
    sync_alerts(showroom=showroom, kind="watch", wanted={"gasping": wanted}, at=AT)
    observe(showroom=showroom, kind="note", tank=tank, text="PRIVATE-note-of-tank", by=boss, at=AT)


def mark_every_text() -> set[str]:
    """Every private text and price of the database becomes a word that can be found; all of them.

    Facts are locked against changes, so their locks are off for the moment.
    """
    guards.lift()
    marks: set[str] = set()
    for model in (m for app in OURS for m in apps.get_app_config(app).get_models()):
        label = model._meta.label
        kept = PUBLIC.get(label, set()) | FOR_PROGRAMS.get(label, set())
        for field in _texts(model):
            if field.name in kept:
                continue
            for row in model._default_manager.all():
                mark = f"PRIVATE-{model.__name__}-{field.name}-{row.pk}"[: field.max_length]
                if not mark.endswith(f"-{row.pk}"):
                    mark = f"PRIV{len(marks)}-{row.pk}"[: field.max_length]
                model._default_manager.filter(pk=row.pk).update(**{field.name: mark})
                marks.add(mark)
        for field in model._meta.concrete_fields:
            if field.name.endswith("_cents"):
                model._default_manager.update(**{field.name: 98_765_431})
    marks |= {"98765431", "987,654", "987654"}
    return marks


def _texts(model: type[models.Model]) -> Iterator[models.Field]:
    for field in model._meta.concrete_fields:
        is_text = type(field) in {models.CharField, models.TextField}
        if is_text and not field.choices and (field.max_length or 99) >= 12:
            yield field
