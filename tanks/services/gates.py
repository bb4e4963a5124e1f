"""Words at a gate, the figures of this gallery, and the passing of a gate."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from django.db import transaction

from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.kernel.models import Membership, Role, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.services.checking import write_new
from gallery_ops.kernel.services.work import want_work
from gallery_ops.kernel.values.day import business_day
from tanks.models import GateThreshold, GateWord, Layout, Stage, Tank
from tanks.queries.gates import Standing, gates_of, own_limits, standing
from tanks.science.gate_list import GATES, LIMITS
from tanks.science.gates import Proof, Records, is_open
from tanks.services.layouts import close_layout
from tanks.services.stages import advance_stage

SIGNS: dict[str, tuple[float, float] | None] = {
    "algae": (0, 4),
    "appeal": (1, 5),
    "bare_stems": (0, 100),
    "black_patches": None,
}
"""What a person says of an ageing layout (gate G8), and its range; None is yes or no."""
LARGEST = 10_000.0


@transaction.atomic
def say_at_gate(
    *,
    tank: Tank,
    gate: str,
    key: str,
    by: Membership,
    at: datetime,
    was_so: bool = True,
    number: float | None = None,
    text: str = "",
    let_pass: bool = False,
) -> GateWord:
    """A word on one thing that a gate asks for; the last one counts.

    Raises
    ------
    Unknown
        a gate or a thing that there is not.
    Refused
        a number where one is wanted and none is given, or one that cannot be; letting pass
        without a reason; a thing that is read from records and is not for a person to say.
    """
    require(by, "plan.change" if let_pass else "record", in_=tank.showroom)
    text = text.strip()[:300]
    if gate == "G8":
        _check_sign(key, number)
    else:
        _check_word(gate, key, number, text, let_pass=let_pass)
    layout = tank.layouts.filter(voided_at=None).still().first()
    word = GateWord(
        showroom=tank.showroom,
        tank=tank,
        layout=layout,
        gate=gate,
        key=key,
        was_so=was_so,
        number=number,
        text=text,
        let_pass=let_pass,
        role=Role(by.role).value if let_pass else "",
        done_at=at,
        done_at_corrected=at,
        entered_at=at,
        person=by.person,
    )
    write_new(word)
    if gate == "G8":
        want_work(tank.showroom, "decline", at=at)
    if let_pass:
        after = {"gate": gate, "key": key}
        audit.record(by=by, at=at, deed="gate.let_pass", subject=tank, after=after, reason=text)
    return word


def _check_word(gate: str, key: str, number: float | None, text: str, *, let_pass: bool) -> None:
    asked = next((a for a in GATES[gate].asks if a.key == key), None) if gate in GATES else None
    if asked is None:
        raise Unknown("proof")
    if let_pass:
        if len(text) < 3:
            raise Refused(
                "no_reason",
                f"{asked.words}: no reason was written.",
                {key: "3 to 300 characters."},
                "Write why this may be let pass, or leave it missing.",
            )
        return
    if not asked.is_said:
        raise Refused(
            "read_from_records",
            f"{asked.words}: this is read from what is written down, nobody can say it.",
            {key: "Write down the reading that is missing."},
            "Measure it on the round, or let it pass with a reason.",
        )
    if asked.is_number and (number is None or not 0 <= number <= LARGEST):
        unit = LIMITS[asked.limit].unit
        raise Refused(
            "no_number",
            f"{asked.words}: no number that can be.",
            {key: f"Allowed: 0 to {LARGEST:,.0f} {unit}.".replace(" .", ".")},
            "Type the number that was measured.",
        )


def _check_sign(key: str, number: float | None) -> None:
    if key not in SIGNS:
        raise Unknown("sign")
    pair = SIGNS[key]
    if pair is not None and (number is None or not pair[0] <= number <= pair[1]):
        raise Refused(
            "no_number",
            "That score cannot be.",
            {key: f"Allowed: {pair[0]:g} to {pair[1]:g}."},
            "Look again and type it once more.",
        )


@transaction.atomic
def set_limit(
    *, showroom: Showroom, key: str, number: float, reason: str, by: Membership, at: datetime
) -> GateThreshold:
    """This gallery asks for another figure from now on.

    Raises
    ------
    Unknown
        a figure that there is not.
    Refused
        a number outside the range in which it makes sense, or no reason.
    """
    require(by, "plan.change", in_=showroom)
    if key not in LIMITS:
        raise Unknown("limit")
    about = LIMITS[key]
    if not about.low <= number <= about.high:
        raise Refused(
            "limit_out_of_range",
            f"{about.words}: {number:g} {about.unit} is not allowed.",
            {key: f"Allowed: {about.low:g} to {about.high:g} {about.unit}.".replace(" .", ".")},
        )
    if len(reason.strip()) < 3:
        raise Refused(
            "no_reason",
            f"{about.words}: no reason was written.",
            {"reason": "3 to 200 characters."},
            "Write why this gallery asks for another figure.",
        )
    Showroom.objects.select_for_update().get(pk=showroom.pk)
    before = own_limits(showroom).get(key, about.number)
    GateThreshold.objects.of(showroom).filter(key=key).still().update(to_at=at)
    row: GateThreshold = GateThreshold.objects.create(
        showroom=showroom,
        key=key,
        number=number,
        reason=reason.strip()[:200],
        made_by=by.person,
        from_at=at,
    )
    want_work(showroom, "decline", at=at)
    audit.record(
        by=by,
        at=at,
        deed="gate.limit",
        subject=row,
        before={key: before},
        after={key: number},
        reason=reason,
    )
    return row


NEXT: dict[str, Stage] = {
    Stage.BRIEFED: Stage.HARDSCAPE,
    Stage.HARDSCAPE: Stage.PLANTING,
    Stage.PLANTING: Stage.START_UP,
    Stage.START_UP: Stage.GROW_IN,
    Stage.GROW_IN: Stage.SHOW,
    Stage.RECOVERY: Stage.SHOW,
}
"""Stage -> the stage that its gates open."""


@transaction.atomic
def pass_gates(*, layout: Layout, records: Records, by: Membership, at: datetime) -> Layout:
    """Every proof of the present stage is in or let pass: the layout goes on.

    Flooding begins the day counter; taking down closes the layout with its lessons.

    Parameters
    ----------
    records : what is on record of the tank, gathered by whoever asks

    Raises
    ------
    Refused
        ``gate_shut`` with each proof that is missing; ``no_gate`` where the stage has none.
    """
    require(by, "plan.change", in_=layout.showroom)
    layout = Layout.objects.select_for_update().get(pk=layout.pk)
    if not gates_of(layout.stage) or (layout.stage not in NEXT and layout.stage != Stage.TEARDOWN):
        raise Refused("no_gate", f"No gate stands before {layout.get_stage_display()}.")
    found = standing(layout.tank, layout, records)
    missing = [line for one in found for line in one.lines if line.state == "missing"]
    if missing:
        raise Refused(
            "gate_shut",
            f"{len(missing)} of {sum(len(one.lines) for one in found)} proofs are missing.",
            {line.asked.key: f"{line.asked.words}: {line.because}" for line in missing},
            "Show them, or let them pass one by one with a reason.",
        )
    if layout.stage == Stage.TEARDOWN:
        return close_layout(layout=layout, by=by, at=at, lessons=_lessons(found))
    goes_to = NEXT[layout.stage]
    if goes_to == Stage.START_UP and layout.flooded_on is None:
        showroom = layout.showroom
        layout.flooded_on = business_day(at, showroom.tz, showroom.cut_off_hour)
        layout.save(update_fields=["flooded_on"])
    advance_stage(layout=layout, to=goes_to, by=by, at=at, evidence=_evidence(found))
    layout.refresh_from_db()
    return layout


def _evidence(found: list[Standing]) -> list[str]:
    return [_line(one.gate.code, line) for one in found for line in one.lines]


def _line(gate: str, line: Proof) -> str:
    state = "let pass: " if line.state == "let_pass" else ""
    return f"{gate} {line.asked.words}: {state}{line.because or 'yes'}"


def _lessons(found: list[Standing]) -> str:
    for one in found:
        for line in one.lines:
            if line.asked.key == "lessons" and line.said is not None:
                return line.said.text
    return ""


def is_ready(tank: Tank, records: Records, own: Mapping[str, float]) -> bool:
    """Is every proof of an empty glass in or let pass?"""
    return all(is_open(one.lines) for one in standing(tank, None, records, own))
