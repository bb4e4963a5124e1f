"""The stages of a layout's life: only a gate moves it on, or a person who says why."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership, Role
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services.work import want_work
from tanks.models import Layout, Stage, StageChange

FORWARD: dict[str, tuple[str, ...]] = {
    Stage.BRIEFED: (Stage.HARDSCAPE, Stage.PLANTING, Stage.TEARDOWN),
    Stage.HARDSCAPE: (Stage.PLANTING, Stage.TEARDOWN),
    Stage.PLANTING: (Stage.START_UP, Stage.TEARDOWN),
    Stage.START_UP: (Stage.GROW_IN, Stage.TEARDOWN),
    Stage.GROW_IN: (Stage.SHOW, Stage.DECLINE, Stage.TEARDOWN),
    Stage.SHOW: (Stage.RECOVERY, Stage.DECLINE, Stage.TEARDOWN),
    Stage.RECOVERY: (Stage.SHOW, Stage.DECLINE, Stage.TEARDOWN),
    Stage.DECLINE: (Stage.RECOVERY, Stage.SHOW, Stage.TEARDOWN),
    Stage.TEARDOWN: (),
}
"""Which stage may follow which (common practice, no source)."""


@transaction.atomic
def advance_stage(
    *,
    layout: Layout,
    to: str,
    by: Membership,
    at: datetime,
    evidence: Sequence[str] = (),
    override_reason: str = "",
) -> StageChange:
    """Move a layout into its next stage and write down why.

    Raises
    ------
    Refused
        ``stage_order`` when ``to`` does not follow and nobody with the right gave a reason.
    """
    require(by, "plan.change", in_=layout.showroom)
    layout = Layout.objects.select_for_update().get(pk=layout.pk)
    if to == layout.stage:
        raise Refused("stage_same", f"This layout is in {layout.get_stage_display()} already.")
    if to not in FORWARD[layout.stage] and not override_reason:
        allowed = ", ".join(str(Stage(stage).label) for stage in FORWARD[layout.stage]) or "none"
        raise Refused(
            "stage_order",
            f"{Stage(to).label} does not follow {layout.get_stage_display()}.",
            {"to": f"Allowed: {allowed}."},
            "Choose one of these, or give the reason for passing over the order.",
        )
    change = StageChange.objects.create(
        showroom=layout.showroom,
        layout=layout,
        stage_from=layout.stage,
        stage_to=to,
        evidence=list(evidence),
        override_role=Role(by.role).value if override_reason else "",
        override_reason=override_reason,
        done_at=at,
        done_at_corrected=at,
        entered_at=at,
        person=by.person,
    )
    layout.stage = to
    layout.save(update_fields=["stage"])
    want_work(layout.showroom, "due_tasks", at=at)
    want_work(layout.showroom, "decline", at=at)
    return change
