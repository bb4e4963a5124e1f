"""Which gates stand before a tank, what was said at them, and which figures hold here?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import business_day
from tanks.models import GateThreshold, GateWord, Layout, Stage, Tank
from tanks.science.gate_list import GATES, LIMITS, Gate, Limit
from tanks.science.gates import Proof, Records, Said, is_open, proofs

BEFORE: dict[str, tuple[str, ...]] = {
    "": ("G0",),
    Stage.BRIEFED: ("G1", "G2"),
    Stage.HARDSCAPE: ("G3",),
    Stage.PLANTING: ("G4", "G5"),
    Stage.START_UP: ("G6",),
    Stage.GROW_IN: ("G7",),
    Stage.RECOVERY: ("G7",),
    Stage.TEARDOWN: ("G9",),
}
"""Stage -> its gates; an empty glass has no stage."""


@dataclass(frozen=True, slots=True)
class Standing:
    """One gate and how each of its proofs stands."""

    gate: Gate
    lines: tuple[Proof, ...]

    @property
    def is_open(self) -> bool:
        """May a person pass it?"""
        return is_open(self.lines)

    @property
    def shown(self) -> int:
        """How many proofs are in or let pass."""
        return sum(line.state != "missing" for line in self.lines)


def gates_of(stage: str) -> tuple[str, ...]:
    """Codes of the gates that a stage has before it."""
    return BEFORE.get(stage, ())


def own_limits(showroom: Showroom) -> dict[str, float]:
    """Figures that this gallery set for itself."""
    return dict(GateThreshold.objects.of(showroom).still().values_list("key", "number"))


@dataclass(frozen=True, slots=True)
class InForce:
    """One figure: the usual one, and this gallery's own where it has one."""

    key: str
    limit: Limit
    own: GateThreshold | None

    @property
    def number(self) -> float:
        """The one that holds."""
        return self.own.number if self.own else self.limit.number


def limits_in_force(showroom: Showroom) -> list[InForce]:
    """Every figure, in the order of the gates; one query."""
    rows = GateThreshold.objects.of(showroom).still().select_related("made_by")
    own = {row.key: row for row in rows}
    return [InForce(key, limit, own.get(key)) for key, limit in LIMITS.items()]


def words_of(tank: Tank, layout: Layout | None) -> dict[tuple[str, str], Said]:
    """The last word on each thing of each gate, for this layout or for the empty glass.

    For the empty glass only what was said since the layout before it went counts.
    """
    rows = GateWord.objects.standing().filter(tank=tank, layout=layout)
    if layout is None:
        last = tank.layouts.filter(voided_at=None, to_at__isnull=False).order_by("-to_at").first()
        if last is not None:
            rows = rows.filter(done_at_corrected__gte=last.to_at)
    found: dict[tuple[str, str], Said] = {}
    for row in rows.select_related("person").order_by("done_at_corrected", "pk"):
        found[(row.gate, row.key)] = Said(
            at=row.done_at_corrected,
            who=row.person.name,
            was_so=row.was_so,
            number=row.number,
            text=row.text,
            let_pass=row.let_pass,
        )
    return found


def standing(
    tank: Tank,
    layout: Layout | None,
    records: Records,
    own: Mapping[str, float] | None = None,
) -> list[Standing]:
    """The gates before this tank with their proofs."""
    limits = own_limits(tank.showroom) if own is None else own
    said = words_of(tank, layout)
    return [
        Standing(
            GATES[code],
            proofs(
                GATES[code],
                records,
                {key: word for (gate, key), word in said.items() if gate == code},
                limits,
            ),
        )
        for code in gates_of(layout.stage if layout else "")
    ]


@dataclass(frozen=True, slots=True)
class AgeWords:
    """What was said of a layout's signs of age.

    weekly : sign -> its last number in each week that has one, oldest first; a week is one of ISO
        8601, Monday to Sunday by business days, so that several looks in one week are one week on
        record, also when each of them was bad
    number, was_so : sign -> what was said of it last
    """

    weekly: Mapping[str, list[float]]
    number: Mapping[str, float | None]
    was_so: Mapping[str, bool]


def age_words(showroom: Showroom, layout_ids: Collection[int]) -> dict[int, AgeWords]:
    """Layout -> what was said at gate G8; those without a word are left out. One query."""
    rows = (
        GateWord.objects.of(showroom)
        .standing()
        .filter(layout_id__in=list(layout_ids), gate="G8")
        .order_by("done_at_corrected", "pk")
        .values_list("layout_id", "key", "done_at_corrected", "was_so", "number")
    )
    weeks: dict[int, dict[str, dict[tuple[int, int], float]]] = defaultdict(
        lambda: defaultdict(dict)
    )
    numbers: dict[int, dict[str, float | None]] = defaultdict(dict)
    words: dict[int, dict[str, bool]] = defaultdict(dict)
    for layout_id, key, moment, was_so, number in rows:
        numbers[layout_id][key], words[layout_id][key] = number, was_so
        if number is not None:
            on = business_day(moment, showroom.tz, showroom.cut_off_hour).isocalendar()
            weeks[layout_id][key][on.year, on.week] = number
    return {
        layout_id: AgeWords(
            weekly={key: list(of.values()) for key, of in weeks[layout_id].items()},
            number=numbers[layout_id],
            was_so=words[layout_id],
        )
        for layout_id in numbers
    }


def scores(layout: Layout, key: str) -> list[float]:
    """What was last said of one sign of decline in each week that has a word, oldest first."""
    found = age_words(layout.showroom, [layout.pk]).get(layout.pk)
    return found.weekly.get(key, []) if found else []
