"""Parameters and species as they ship: catalogue files made rows, once and again."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services.checking import write_new
from tanks.models import Parameter, Species

NAME = re.compile(r"[A-Z][a-z-]+ [a-zA-Z.×'\" -]*[a-z.'\"]")
LONGEST = 120
FOLDER = Path(__file__).resolve().parent.parent / "catalogue"


@transaction.atomic
def load_parameters() -> int:
    """Rows for every entry of ``parameters.toml``; gives their number. Overrides are other rows."""
    entries = _read("parameters.toml")["parameter"]
    for order, entry in enumerate(entries):
        key = entry.pop("key")
        Parameter.objects.update_or_create(key=key, defaults={"order": order, **entry})
    return len(entries)


@transaction.atomic
def load_species() -> int:
    """Rows for every entry of ``species.toml`` that is not known yet; gives their number."""
    entries = _read("species.toml")["species"]
    for entry in entries:
        name = entry.pop("scientific_name")
        Species.objects.get_or_create(scientific_name=name, defaults=entry)
    return len(entries)


@transaction.atomic
def name_animal(*, scientific_name: str, vernacular_name: str, by: Membership) -> Species:
    """A species of animal by its scientific name; the one that is known, or a new one.

    Raises
    ------
    Refused
        what is no name of genus and species, or the name of a plant.
    """
    require(by, "record", in_=by.showroom)
    name = " ".join(scientific_name.split())
    if not NAME.fullmatch(name) or len(name) > LONGEST or len(vernacular_name) > LONGEST:
        raise Refused(
            "no_scientific_name",
            _("“%(name)s” is no scientific name.") % {"name": name[:40]},
            {
                "scientific": _(
                    "Genus and species, such as Neocaridina davidi; 120 letters at most."
                )
            },
        )
    known = Species.objects.filter(scientific_name__iexact=name).first()
    if known is None:
        known = Species(scientific_name=name, vernacular_name=vernacular_name, kingdom="animal")
        write_new(known)
    if known.kingdom != "animal":
        raise Refused(
            "no_animal",
            _("%(name)s is a plant.") % {"name": known},
            {"scientific": _("The name of an animal.")},
        )
    return known


def _read(name: str) -> dict[str, Any]:
    with (FOLDER / name).open("rb") as file:
        return tomllib.load(file)
