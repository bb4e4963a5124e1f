"""A container was opened, finished, partly thrown away, or its empty mass put right."""

from __future__ import annotations

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.values.quantity import Mass, quantity
from inventory.models import Container, MovementKind
from inventory.services.containers import finish, open_container
from inventory.services.counting import waste
from inventory.services.retare import retare
from maintenance.actions.context import Said

GONE = {"finish": MovementKind.COUNT, "waste": MovementKind.WASTE, "expiry": MovementKind.EXPIRY}


def apply(said: Said) -> None:
    """Do what it says."""
    body = said.body
    container = said.container(body["container"])
    if body["what"] == "open":
        open_container(container=container, **said.moments())
    elif body["what"] == "retare":
        _retare(said, container)
    elif body["what"] == "finish" or body["amount_base"] is None:
        _finish(said, container)
    else:
        waste(
            container=container,
            amount=quantity(container.item.dimension, body["amount_base"]),
            reason=body["reason"] or "",
            kind=GONE[body["what"]],
            **said.moments(),
        )


def _finish(said: Said, container: Container) -> None:
    """All of it is gone: empty, or what was left went with it."""
    reason = (said.body["reason"] or "").strip()
    if not reason and said.body["what"] != "finish":
        raise Refused(
            "reason_missing",
            "Reason: nothing was given.",
            {"reason": "Say what happened."},
            "A few words are enough.",
        )
    finish(
        container=container,
        kind=GONE[said.body["what"]],
        reason=(reason or "empty")[:200],
        **said.moments(),
    )


def _retare(said: Said, container: Container) -> None:
    tare, regulator = said.body.get("tare_mg"), said.body.get("regulator_mg")
    retare(
        container=container,
        tare=None if tare is None else Mass(tare),
        regulator=None if regulator is None else Mass(regulator),
        reason=said.body["reason"] or "",
        by=said.by,
        at=said.at,
    )
