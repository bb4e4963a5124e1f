"""What was handed to whoever walks a round, and stands elsewhere or is of another day?

A task that needs a skill is handed to a person, and that person may walk another zone. The tablet
of that walk gets it: at its own stop, or as an extra stop of the zone where the tank stands.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.values.day import day_bounds
from maintenance.models import DueTask, Round, Skip, SkipReason, Stop
from maintenance.queries.handed import Handed
from maintenance.queries.rota import who_works

GIVES = ("dose", "feed")


@dataclass(frozen=True, slots=True)
class HandedHere:
    """stops : of other zones, in the order of their walks. zones : stop -> its zone's code.

    tasks : tank -> what was handed over there, worst class first.
    """

    stops: list[Stop] = field(default_factory=list)
    zones: dict[int, str] = field(default_factory=dict)
    tasks: dict[int, list[DueTask]] = field(default_factory=dict)


def handed_here(
    round_: Round, you: Membership, given: Mapping[int, Handed], own: Collection[int]
) -> HandedHere:
    """What the walk of this round takes along; six queries, one where nothing is handed over.

    you : whoever asks for the pack. Besides it counts who began the round, and who has a shift in
    its zone that day. given : key of the due task -> to whom. own : tanks that the round passes.

    What was done that day stays in the pack, so that it can be seen and taken back on that walk. A
    task of another kind of round of that day waits for that one. Of the same task of several days
    the newest stands for all.
    """
    showroom, on = round_.showroom, round_.business_on
    to = {key: str(one.to_uid) for key, one in given.items()} | _done(round_)
    if not to:
        return HandedHere()
    people = {str(you.person.uid)} | {
        shift.person_uid for shift in who_works(showroom, on) if shift.zone_code == round_.zone.code
    }
    if round_.person is not None:
        people.add(str(round_.person.uid))
    wanted = [key for key, uid in to.items() if uid in people]
    rows = (
        DueTask.objects.of(showroom)
        .filter(pk__in=wanted, tank__isnull=False)
        .select_related("template")
        .order_by("template__harm_class", "-due_on", "pk")
    )
    tasks: dict[int, list[DueTask]] = {}
    for row in rows:
        is_now = row.due_on < on or row.template.round_kind in {"", round_.kind}
        mine = tasks.setdefault(row.tank_id, [])
        if is_now and all(row.template_id != other.template_id for other in mine):
            mine.append(row)
    tasks = {tank: rows for tank, rows in tasks.items() if rows}
    found = HandedHere(tasks=tasks)
    elsewhere = set(tasks) - set(own)
    if not elsewhere:
        return found
    stops = (
        Stop.objects.of(showroom)
        .filter(tank_id__in=elsewhere, round__business_on=on, round__kind=round_.kind)
        .select_related("tank", "position", "room", "round__zone")
        .order_by("round__zone__walking_order", "order", "pk")
    )
    for stop in stops:
        found.stops.append(stop)
        found.zones[stop.pk] = stop.round.zone.code
    return found


def _done(round_: Round) -> dict[int, str]:
    """Tasks that were handed over and done on the day of the round, and to whom they were."""
    showroom = round_.showroom
    begins, _ends = day_bounds(round_.business_on, showroom.tz, showroom.cut_off_hour)
    return dict(
        Skip.objects.of(showroom)
        .standing()
        .filter(reason=SkipReason.NEEDS_SKILL, due_task__state="done")
        .filter(due_task__completions__done_at_corrected__gte=begins)
        .exclude(links_to="")
        .order_by("pk")
        .values_list("due_task_id", "links_to")
    )


def with_handed(
    own: Mapping[int, list[DueTask]], handed: Mapping[int, list[DueTask]]
) -> dict[int, list[DueTask]]:
    """Tasks by tank, those handed over behind the round's own; the same one stands once."""
    found = {tank: list(rows) for tank, rows in own.items()}
    for tank, rows in handed.items():
        have = found.setdefault(tank, [])
        taken = {row.template_id for row in have}
        gives = {row.template.kind for row in have if row.template.kind in GIVES}
        have += [
            row for row in rows if row.template_id not in taken and row.template.kind not in gives
        ]
    return found
