"""How are the air of a room, and the register as a whole, said and drawn?"""

from __future__ import annotations

from datetime import datetime

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gallery_ops.drawing.cylinder import Post, room_line_svg
from gallery_ops.overview.cylinder_page import CylinderPage, OneLetsGo, RoomGas, RoomView
from gallery_ops.web import words
from inventory.queries.cylinder_register import CylinderRow
from tanks.queries.rooms import RoomAir
from tanks.science.room_air import EIGHT_HOURS_PPM, FIFTEEN_MINUTES_PPM

STEP_MARKS = ("", "over", "over_second")
STEP_TONES = ("", "m-watch", "m-harm")


def posts() -> tuple[Post, Post]:
    """The two limits with their times."""
    return (
        Post(EIGHT_HOURS_PPM, _("%(ppm)s, 8 hours") % {"ppm": words.number(EIGHT_HOURS_PPM, 0)}),
        Post(
            FIFTEEN_MINUTES_PPM,
            _("%(ppm)s, 15 minutes") % {"ppm": words.number(FIFTEEN_MINUTES_PPM, 0)},
        ),
    )


def room_line(number: OneLetsGo | None) -> str:
    """The ground line of a room with its number, or with none."""
    if number is None:
        return room_line_svg(None, 0, posts(), sentence=_("This room has no number."))
    ppm = words.number(number.ppm, 0)
    sentence = _("%(ppm)s ppm on a line from 1,000 to 100,000 with the limits 5,000 and 15,000") % {
        "ppm": ppm
    }
    return room_line_svg(number.ppm, number.step, posts(), sentence=sentence, number=ppm)


def step_words(step: int) -> tuple[str, str]:
    """Where a number lies, strong part and the rest."""
    return (
        (_("Below 5,000,"), _("if it mixes evenly.")),
        (_("Above 5,000,"), _("the 8-hour limit. Below 15,000, the 15-minute limit.")),
        (
            _("Above 15,000,"),
            _("the 15-minute limit. Needs an alarm in the room, and two people for each change."),
        ),
    )[step]


def air_words(air: RoomAir, now: datetime) -> str:
    """Volume and who measured it; alarm read and tested."""
    room = air.room
    out = []
    if room.volume_m3:
        out.append(_("%(m3)s m³") % {"m3": words.number(room.volume_m3, 0)} + _who_measured(air))
    else:
        out.append(_("Volume not measured"))
    if room.has_gas_alarm is None:
        alarm = _("Whether a gas alarm hangs here: not written down")
    elif not room.has_gas_alarm:
        alarm = _("No gas alarm hangs here")
    else:
        alarm = _("Room alarm %(read)s, %(tested)s") % {
            "read": _read(air, now),
            "tested": _tested(air, now),
        }
    out.append(alarm)
    return ". ".join(out)


def _who_measured(air: RoomAir) -> str:
    on, who = air.room.volume_measured_on, air.room.volume_measured_by
    if on is None:
        return _(", by whom and when: not written down")
    if not who:
        return _(", measured %(year)s") % {"year": on.year}
    return _(", measured %(year)s by %(who)s") % {"year": on.year, "who": who}


def _read(air: RoomAir, now: datetime) -> str:
    if air.read is None:
        return _("not read yet")
    return _("read %(when)s, %(ppm)s ppm") % {
        "when": words.when(air.read.done_at_corrected, now),
        "ppm": words.number(air.read.co2_ppm or 0, 0),
    }


def _tested(air: RoomAir, now: datetime) -> str:
    if air.test is not None and air.test.rang is False:
        day = words.when(words.local(air.test.done_at_corrected).date(), now)
        return _("it did NOT ring when tested %(day)s") % {"day": day}
    tested = air.room.gas_alarm_tested_on
    return _("tested %(day)s") % {"day": words.day_month(tested)} if tested else _("never tested")


def lede(page: CylinderPage) -> tuple[str, str]:
    """The answer of the page in two or three sentences."""
    n, spare = page.at_tanks, len(page.spares)
    stand = ngettext("One cylinder stands at a tank", "%(n)s cylinders stand at tanks", n) % {
        "n": _count(n).capitalize()
    }
    if n == 0:
        stand = _("No cylinder stands at a tank")
    wait = (
        ngettext("one full one waits.", "%(n)s full ones wait.", spare) % {"n": _count(spare)}
        if spare
        else _("no full one waits.")
    )
    more = []
    if page.leaking:
        names = ", ".join(_name(row) for row in page.leaking)
        more.append(
            ngettext(
                "The one at %(names)s loses gas.", "Those at %(names)s lose gas.", len(page.leaking)
            )
            % {"names": names}
        )
    if page.to_test:
        k = len(page.to_test)
        more.append(
            ngettext(
                "One must be tested before it is filled again.",
                "%(n)s must be tested before they are filled again.",
                k,
            )
            % {"n": _count(k).capitalize()}
        )
    if not more and page.rows:
        more.append(_("All use what they usually use."))
    return f"{stand}, {wait}", " ".join(more)


def quiet_words(view: RoomView) -> str:
    """The folded rest of a room in one line."""
    names = []
    for row in view.quiet:
        name = ", ".join(row.codes)
        if row.exchange_by is not None and (row.exchange_by - row.today).days <= 31:
            name += _(" (exchange by %(day)s)") % {"day": words.day_month(row.exchange_by)}
        names.append(name)
    return ", ".join(names)


def carried_words(view: RoomView) -> str:
    """What the next larger cylinder would be, if it were carried through this room."""
    if view.carried is None:
        return ""
    fill, ppm = view.carried
    return _("A full one of %(fill)s carried through would be %(ppm)s.") % {
        "fill": words.amount(fill),
        "ppm": words.number(ppm, 0),
    }


def store_words(page: CylinderPage) -> str:
    """What waits, what is empty, what is away."""
    full = len(page.spares)
    empty = sum(1 for row in page.store if row.detail.is_marked_empty)
    begun = len(page.store) - full - empty
    parts = [_("%(n)s full") % {"n": _count(full)}] if full else [_("no full one waits")]
    if begun:
        parts.append(_("%(n)s begun or out of test") % {"n": _count(begun)})
    if empty:
        parts.append(_("%(n)s marked EMPTY") % {"n": _count(empty)})
    if page.away:
        parts.append(_("%(n)s away for a refill") % {"n": _count(len(page.away))})
    said = ", ".join(parts)
    return f"{said[:1].upper()}{said[1:]}."


def spare_words(page: CylinderPage, row: CylinderRow) -> str:
    """Whether a full one of its fill waits in the store."""
    if not row.fed:
        return ""
    same = [one for one in page.spares if one.fill == row.fill]
    if same:
        return _("%(serial)s waits full") % {"serial": same[0].detail.serial}
    return _("no full one of %(fill)s waits") % {"fill": words.amount(row.fill)}


def inputs_words(gas: RoomGas) -> str:
    """What went into the largest sum."""
    if not gas.each:
        return ""
    row = gas.each[0][0].row
    return _("%(fill)s of gas, all of a full one; room %(m3)s m³%(who)s") % {
        "fill": words.amount(row.fill),
        "m3": words.number(gas.air.room.volume_m3 or 0, 0),
        "who": _who_measured(gas.air),
    }


def count_words(n: int) -> str:
    """A number under thirteen in letters, capital first."""
    return _count(n).capitalize()


def _name(row: CylinderRow) -> str:
    return ", ".join(row.codes) or row.detail.serial


_COUNTED = (
    "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
    "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
    "twenty",
)  # fmt: skip


def _count(n: int) -> str:
    return _(_COUNTED[n]) if n < len(_COUNTED) else words.number(n, 0)
