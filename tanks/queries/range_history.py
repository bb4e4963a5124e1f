"""Who set which range of a tank when and why, and which ranges held when something was read?

Read from the audit trail (``range.set``); what can be at all, and the usual figures, are the same
for every gallery and have no history here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q

from gallery_ops.kernel.models import AuditEntry
from tanks.models import Parameter, ParameterRange, Tank
from tanks.queries.glasses import same_tank
from tanks.queries.reading_sheet import ON_A_SHEET
from tanks.queries.readings import Ranges, merged

SIDES = ("ask_low", "ask_high", "alarm_low", "alarm_high")
DEED = "range.set"
OF_TANK, OF_STYLE = "tank", "style"


@dataclass(frozen=True, slots=True)
class Change:
    """One setting of a range: of a tank or of its style, before and after.

    A side that is None is the usual one; ``before`` is None where nothing of its own held.
    """

    at: datetime
    who: str
    parameter: Parameter
    whose: str
    before: Mapping[str, float | None] | None
    after: Mapping[str, float | None]
    reason: str


class RangesThen:
    """The ranges of one tank at any moment, in a layout of this style; four queries."""

    def __init__(self, tank: Tank, style: str) -> None:
        self.parameters = {row.key: row for row in Parameter.objects.all()}
        glasses = same_tank(tank)
        self.now: dict[tuple[str, str], ParameterRange] = {
            (OF_TANK if row.tank_id else OF_STYLE, row.parameter.key): row
            for row in ParameterRange.objects.of(tank.showroom)
            .filter(Q(tank=tank) | Q(tank=None, style=style))
            .select_related("parameter")
        }
        kept = {f"{glass}:{key}": (OF_TANK, key) for glass in glasses for key in self.parameters}
        kept |= {f"{style}:{key}": (OF_STYLE, key) for key in self.parameters}
        self.entries: dict[tuple[str, str], list[AuditEntry]] = defaultdict(list)
        for row in (
            AuditEntry.objects.of(tank.showroom)
            .filter(deed=DEED, subject_kind__in=(OF_TANK, OF_STYLE), subject_key__in=list(kept))
            .select_related("person")
            .order_by("at", "pk")
        ):
            whose, key = kept[row.subject_key]
            if row.subject_kind == whose:
                self.entries[(whose, key)].append(row)

    def at(self, key: str, moment: datetime) -> Ranges:
        """What held for this parameter at that moment."""
        parameter = self.parameters[key]
        return merged(
            parameter,
            self._row(OF_STYLE, parameter, moment),
            self._row(OF_TANK, parameter, moment),
        )

    def changes(self) -> list[Change]:
        """Every setting of what is measured in the water, newest first."""
        found = [
            Change(
                at=row.at,
                who=row.person.name if row.person else "",
                parameter=self.parameters[key],
                whose=whose,
                before=row.before,
                after=row.after or {},
                reason=row.reason,
            )
            for (whose, key), rows in self.entries.items()
            if key in ON_A_SHEET
            for row in rows
        ]
        return sorted(found, key=lambda one: (one.at, one.parameter.order), reverse=True)

    def _row(self, whose: str, parameter: Parameter, moment: datetime) -> ParameterRange | None:
        """The sides that were set last by then; before the first setting what it changed from."""
        entries = self.entries.get((whose, parameter.key))
        if not entries:
            return self.now.get((whose, parameter.key))
        past = [row for row in entries if row.at <= moment]
        sides = past[-1].after if past else entries[0].before
        if sides is None:
            return None
        return ParameterRange(parameter=parameter, **{side: sides.get(side) for side in SIDES})
