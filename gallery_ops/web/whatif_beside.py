"""What else would change beside stock, in words: hours of work, and the air of a room."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gallery_ops.drawing.cylinder import room_line_svg
from gallery_ops.overview.whatif_page import RoomIfSo
from gallery_ops.web import room_words, words
from inventory.queries.what_if import Choices
from maintenance.queries.labour import Labour, Week

HOUR = Decimal(60)


@dataclass(frozen=True, slots=True)
class Beside:
    """One column under the strips: its head, what is so strongly, what follows."""

    head: str
    now: str
    then: str
    rest: str
    mark: str = ""
    tone: str = ""
    line: str = ""


def labour_words(labour: Labour) -> Beside:
    """Hours of the week that changes most, minutes a day, and what the rota holds."""
    week = labour.told
    head = _("Labour, week %(n)d, from %(day)s") % {
        "n": week.number,
        "day": words.day_month(week.first),
    }
    per_day = _("%(n)s minutes a day") % {"n": words.number(week.then / 7, 0)}
    parts = []
    if week.then == week.now:
        then = _("stays at %(n)s") % {"n": _hours(week.now)}
        parts.append(f"{per_day}.")
    else:
        then = _("then %(n)s") % {"n": _hours(week.then)}
        was = words.number(week.now / 7, 0)
        parts.append(_("%(then)s, was %(now)s.") % {"then": per_day, "now": was})
    parts.append(_rota(week))
    if labour.start_up is not None and labour.grown:
        parts.append(
            _(
                "The first week of the new one asks %(hours)s, %(times)s times as much as once it "
                "has started up."
            )
            % {
                "hours": _hours(labour.start_up),
                "times": words.number(labour.start_up / labour.grown, 1),
            }
        )
    return Beside(head, _hours(week.now) if week.then != week.now else "", then, " ".join(parts))


def _hours(minutes: Decimal) -> str:
    return _("%(n)s\u00a0h") % {"n": words.number(minutes / HOUR, 1)}


def _rota(week: Week) -> str:
    if week.on_rota is None:
        return _("No shift is planned for that week yet.")
    rota = Decimal(week.on_rota)
    if week.then <= rota:
        return _("The rota holds %(n)s.") % {"n": _hours(rota)}
    short = _hours(week.then - rota)
    if week.now <= rota:
        return _("The rota holds %(n)s: %(short)s short.") % {"n": _hours(rota), "short": short}
    return _("%(was)s short becomes %(short)s short.") % {
        "was": _hours(week.now - rota),
        "short": short,
    }


def room_beside(room: RoomIfSo | None, choices: Choices) -> Beside:
    """The number of one room if its biggest full cylinder lets go, as it is and if so."""
    if room is None:
        return Beside(
            _("Room"),
            "",
            _("No room has a number yet."),
            _("Measure a room before a cylinder stands in it."),
        )
    head = _("Room, %(name)s") % {"name": room.air.room.name}
    if not room.air.has_number:
        return Beside(
            head,
            "",
            _("This room has no number."),
            _("Measure it before a cylinder stands here."),
            "too_old",
            "m-harm",
        )
    if room.then_ppm is None:
        return Beside(head, "", _("No cylinder stands here."), _without_room(choices))
    ppm = _ppm(room.then_ppm)
    strong, rest = room_words.step_words(room.then_step)
    is_same = room.now_ppm == room.then_ppm
    now = _ppm(room.now_ppm) if room.now_ppm is not None and not is_same else ""
    then = _("stays at %(ppm)s") if is_same else _("then %(ppm)s")
    said = [f"{strong} {rest}"]
    if room.fill is not None:
        said.append(
            _("With a cylinder of %(fill)s, as the tank here that is nearest in size.")
            % {"fill": words.amount(room.fill)}
        )
    else:
        said.append(_without_room(choices))
    said.append(_("A sum, not a clearance. A competent person decides."))
    return Beside(
        head=head,
        now=now,
        then=then % {"ppm": ppm},
        rest=" ".join(part for part in said if part),
        mark=room_words.STEP_MARKS[room.then_step],
        tone=room_words.STEP_TONES[room.then_step],
        line=room_line_svg(
            room.then_ppm,
            room.then_step,
            room_words.posts(),
            sentence=_("%(ppm)s on a line from 1,000 to 100,000 with the limits 5,000 and 15,000")
            % {"ppm": ppm},
            number=words.number(room.then_ppm, 0),
        ),
    )


def _ppm(ppm: int) -> str:
    return _("%(n)s ppm") % {"n": words.number(ppm, 0)}


def _without_room(choices: Choices) -> str:
    if choices.tanks is None:
        return _("None of these choices brings a cylinder.")
    return ngettext(
        "Choose the room of the new tank to see its number.",
        "Choose the room of the new tanks to see its number.",
        choices.tanks.count,
    )
