"""What is looked at at one stop: what is right there, what it was, and whether it counts yet."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any

from django.utils.translation import gettext as _

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import local
from maintenance.queries.pack_words import reading_text
from maintenance.schedule.looks import Look, gas_from, look_catalogue, valid_from
from tanks.models import Equipment, Reading
from tanks.queries.rooms import RoomAir

Json = dict[str, Any]
DROP_CHECKER = "drop_checker"
GAS_FROM = "on_h"
"""Figure of a tank's gas timer: when its gas starts [h after midnight, local]."""


class Looks:
    """The looks of one round, for one showroom and day; one query."""

    def __init__(
        self, showroom: Showroom, kind: str, on: date, at: datetime, tank_ids: Iterable[int]
    ) -> None:
        self.showroom, self.kind, self.on = showroom, kind, on
        self.catalogue = look_catalogue()
        self.here = self.catalogue.rounds[kind]
        self.gas_from_h = _gas_from_h(showroom, at, tank_ids)

    def of_tank(
        self, tank_id: int, has: frozenset[str], readings: Mapping[tuple[int, str], Reading]
    ) -> list[Json]:
        """The looks of a tank; ``has`` : gas, no_gas, feeder, own_tools."""
        found = []
        for look in self.catalogue.of_tank(self.kind, has):
            said = self._look(look, self._last(tank_id, look, readings))
            if look.key == DROP_CHECKER:
                said |= self._drop_checker(tank_id, said["last"])
            found.append(said)
        return found

    def of_room(self) -> list[Json]:
        """The looks of a room."""
        return [self._look(look, None) for look in self.catalogue.of_room(self.kind)]

    def _look(self, look: Look, last: Json | None) -> Json:
        expect = self.here.expect(look.key, self.showroom.language)
        return {"look": look.key, "expect": expect, "last": last}

    def _drop_checker(self, tank_id: int, last: Json | None) -> Json:
        """Blue before gas is right; two hours after it has started, green is.

        After the opening a last word from before the gas would mislead, and is left out.
        """
        rule = self.catalogue.drop_checker
        gas_at = gas_from(
            self.on, self.showroom.opens_at, self.showroom.tz, self.gas_from_h.get(tank_id)
        )
        counts_at = valid_from(gas_at)
        tz = self.showroom.tz
        hour = local(counts_at, tz).time()
        if last and self.kind != "opening":
            said_at = local(datetime.fromisoformat(last["at"]), tz).time()
            last = last if said_at >= hour else None
        return {
            "last": last,
            "expect": _("blue before gas is right; tells nothing before %(at)s")
            % {"at": f"{local(counts_at, tz):%H:%M}"},
            "valid_from": counts_at.isoformat(),
            "once_valid": _("green by now, gas since %(at)s")
            % {"at": f"{local(gas_at, tz):%H:%M}"},
            "right": list(rule.right),
            "always": list(rule.always),
        }

    def _last(
        self, tank_id: int, look: Look, readings: Mapping[tuple[int, str], Reading]
    ) -> Json | None:
        found = [row for field in look.fields if (row := readings.get((tank_id, field)))]
        if not found:
            return None
        newest = max(found, key=lambda reading: reading.done_at_corrected)
        mark = self.showroom.decimal_mark
        return {
            "text": ", ".join(reading_text(reading, mark) for reading in found),
            "at": newest.done_at_corrected.isoformat(),
            "by": newest.person.given_name,
        }


def air_hint(air: RoomAir | None) -> Json | None:
    """What the meter of a room showed last: a hint."""
    if air is None or air.read is None:
        return None
    return {
        "text": f"{air.read.co2_ppm:,} ppm",
        "value": air.read.co2_ppm,
        "at": air.read.done_at_corrected.isoformat(),
        "by": air.read.person.given_name,
    }


def _gas_from_h(showroom: Showroom, at: datetime, tank_ids: Iterable[int]) -> dict[int, float]:
    rows = Equipment.objects.of(showroom).at(at).filter(kind="gas", tank_id__in=list(tank_ids))
    return {
        tank_id: float(figures[GAS_FROM])
        for tank_id, figures in rows.order_by("pk").values_list("tank_id", "figures")
        if GAS_FROM in figures
    }
