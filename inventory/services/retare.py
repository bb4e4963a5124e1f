"""An empty container was weighed, or its stamp read again: its tare is put right from now on."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.values.quantity import Mass
from inventory.models import Container, CylinderDetail
from inventory.services import ledger
from inventory.services.containers import change_container

LEAST, MOST = Mass.g(1), Mass.kg(200)


@transaction.atomic
def retare(
    *,
    container: Container,
    by: Membership,
    at: datetime,
    reason: str,
    tare: Mass | None = None,
    regulator: Mass | None = None,
) -> Container:
    """Put the empty mass right, that of the regulator, or both, for weighings from now on.

    Earlier weighings keep the tare that was copied into them.

    Raises
    ------
    Refused
        ``nothing_said``, ``reason_missing``, ``out_of_range``, ``no_cylinder``.
    """
    require(by, "correct", in_=container.showroom)
    if tare is None and regulator is None:
        raise Refused(
            "nothing_said",
            "Empty mass: nothing was given.",
            {"tare": "1 g to 200 kg."},
            "Write the mass of the empty one, or of the regulator.",
        )
    if not reason.strip():
        raise Refused(
            "reason_missing",
            "Reason: nothing was given.",
            {"reason": "How the mass is known now."},
            "Say whether an empty one was weighed or the stamp was read.",
        )
    for field, mass in (("tare", tare), ("regulator", regulator)):
        if mass is not None:
            _check(field, mass, container.showroom.decimal_mark)
    if tare is not None:
        container = change_container(container=container, by=by, at=at, tare_mg=tare.mg)
    if regulator is not None:
        _regulator(container, regulator, by, at)
    audit.record(
        by=by,
        at=at,
        deed="container.retared",
        subject=container,
        after={"tare": tare, "regulator": regulator, "reason": reason.strip()[:200]},
    )
    return container


def _check(field: str, mass: Mass, mark: str) -> None:
    if LEAST <= mass <= MOST:
        return
    word = "Empty mass" if field == "tare" else "Regulator"
    raise Refused(
        "out_of_range",
        f"{word}: {mass.text(mark, 'g')} is not allowed.",
        {field: "Allowed: 1 to 200000 g."},
        "Check the number; it is asked for in grams.",
    )


def _regulator(container: Container, mass: Mass, by: Membership, at: datetime) -> None:
    ledger.lock([container])
    detail = CylinderDetail.objects.filter(container=container).first()
    if detail is None:
        raise Refused(
            "no_cylinder",
            f"Regulator: {container} is no cylinder.",
            {"regulator": "Only a cylinder has one."},
            "Leave it empty.",
        )
    before = detail.regulator_mg
    detail.regulator_mg = mass.mg
    detail.save(update_fields=["regulator_mg"])
    audit.record(
        by=by,
        at=at,
        deed="cylinder.regulator_weighed",
        subject=container,
        before={"regulator_mg": before},
        after={"regulator_mg": mass.mg},
    )
