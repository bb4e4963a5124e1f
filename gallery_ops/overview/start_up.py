"""The start-up of a tank: its steps, where it stands, and what is proposed now."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from inventory.services.start_up import accept_step, lay_ramp
from tanks.models import Layout, StartUpStep
from tanks.queries.gates import scores
from tanks.queries.readings import history
from tanks.queries.start_up import as_steps, steps_of
from tanks.queries.tanks import TankNow, tank_by_code
from tanks.science.start_up import Proposal, propose
from tanks.services.start_up import change_step, copy_regime

STAGES = {"planting", "start_up", "grow_in"}


@dataclass(frozen=True, slots=True)
class StartUp:
    """Steps of a layout; ``accepted`` is the order of the last one taken, 0 for none."""

    steps: list[StartUpStep]
    accepted: int
    proposal: Proposal | None

    @property
    def following(self) -> int:
        """Order of the step that may be taken next; 0 for none."""
        step = self.proposal.step if self.proposal else None
        return step.order if step else 0


def start_up(now: TankNow) -> StartUp | None:
    """None where the tank is at another time of its life."""
    layout = now.layout
    if layout is None or layout.stage not in STAGES:
        return None
    rows = steps_of(layout)
    accepted = max((row.order for row in rows if row.accepted_at is not None), default=0)
    if not rows or now.day is None:
        return StartUp(rows, accepted, None)
    algae, ammonia = scores(layout, "algae"), history(now.tank, "ammonia_n", layout.from_at)
    proposal = propose(
        as_steps(rows),
        accepted=accepted,
        day=now.day,
        algae=algae[-1] if algae else None,
        tan_mg_per_l=ammonia[-1].value if ammonia else None,
    )
    return StartUp(rows, accepted, proposal)


def copy_steps(*, by: Membership, code: str, at: datetime, is_inert: bool) -> None:
    """The usual steps become those of the layout that stands in this tank."""
    layout = _layout(by, code, at)
    copy_regime(layout=layout, by=by, at=at, is_inert=is_inert)


def take_step(*, by: Membership, code: str, order: int, at: datetime, reason: str) -> None:
    """A person takes the step that is proposed, or the next one with a reason of their own.

    Raises
    ------
    Refused
        ``needs_reason`` where its day has not come or something speaks against it.
    """
    now = tank_by_code(by.showroom, code, at)
    found = start_up(now)
    proposal = found.proposal if found else None
    if proposal is not None and proposal.kind in {"hold", "stay"} and len(reason.strip()) < 3:
        raise Refused(
            "needs_reason",
            f"Step {order}: {proposal.because}",
            {"reason": "3 to 300 characters."},
            "Wait, or write why you take it all the same.",
        )
    accept_step(
        layout=_layout(by, code, at), order=order, by=by, at=at, reason=reason.strip()[:300]
    )


def alter_step(*, by: Membership, code: str, at: datetime, order: int, **figures: float) -> None:
    """Other figures for a step that is still to come; the ramp ahead is laid anew."""
    layout = _layout(by, code, at)
    change_step(
        layout=layout,
        order=order,
        by=by,
        at=at,
        from_day=int(figures["from_day"]),
        change_percent=int(figures["change_percent"]),
        changes_per_week=figures["changes_per_week"],
        dose_permille=round(figures["dose_percent"] * 10),
        light_minutes=round(figures["light_h"] * 60),
    )
    if layout.flooded_on is not None and any(row.accepted_at for row in steps_of(layout)):
        lay_ramp(layout=layout, by=by, at=at)


def _layout(by: Membership, code: str, at: datetime) -> Layout:
    layout = tank_by_code(by.showroom, code, at).layout
    if layout is None:
        raise Refused("no_layout", f"{code}: nothing stands in this tank.")
    return layout
