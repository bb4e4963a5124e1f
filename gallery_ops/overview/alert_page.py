"""One alert: its sentence, its because, the steps that come first, and where it leads."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Alert, Showroom
from inventory.models import Container, Supply
from inventory.queries.keys import parse_key
from tanks.queries.tanks import tank_now
from tanks.science.room_air import EIGHT_HOURS_PPM, FIFTEEN_MINUTES_PPM, added_ppm


@dataclass(frozen=True, slots=True)
class RoomNumber:
    """What the air of a room gets if a full cylinder lets go at once, mixed fully."""

    room: str
    volume_m3: int
    ppm: int
    is_over_first: bool
    is_over_second: bool


@dataclass(frozen=True, slots=True)
class AlertPage:
    """An alert with what a person needs beside it."""

    alert: Alert
    steps: list[str]
    skill: str
    tank_code: str
    container_code: str
    room: RoomNumber | None


def alert_page(showroom: Showroom, uid: UUID, at: datetime) -> AlertPage:
    """The page of one alert. Raises Unknown."""
    alert = Alert.objects.of(showroom).filter(uid=uid).select_related("acknowledged_by").first()
    if alert is None:
        raise Unknown(_("alert"))
    container = _container(showroom, alert)
    tank_code, room = alert.subject_key if alert.subject_kind == "tank" else "", None
    if container is not None:
        supply = (
            Supply.objects.of(showroom)
            .still()
            .filter(container=container, tank__isnull=False)
            .select_related("tank__showroom")
            .first()
        )
        if supply is not None and supply.tank is not None:
            now = tank_now(supply.tank, at)
            tank_code = now.code
            if alert.kind == "gas_use" and now.position and now.position.room.volume_m3:
                room = _room(now.position.room.name, now.position.room.volume_m3, container)
    return AlertPage(
        alert=alert,
        steps=_steps(alert.kind),
        skill="C3" if alert.kind == "gas_use" else "",
        tank_code=tank_code,
        container_code=container.code if container else "",
        room=room,
    )


def container_of(showroom: Showroom, page: AlertPage) -> Container:
    """The container that an alert is about, with its item. Raises Unknown when it is about none."""
    found = _container(showroom, page.alert)
    if found is None:
        raise Unknown(_("container"))
    return found


def _container(showroom: Showroom, alert: Alert) -> Container | None:
    named = parse_key(alert.subject_key)
    if named is None or named[0] != "container":
        return None
    found: Container | None = (
        Container.objects.of(showroom)
        .filter(pk=named[1])
        .select_related("cylinder", "item", "showroom")
        .first()
    )
    return found


def _room(name: str, volume_m3: int, container: Container) -> RoomNumber:
    ppm = round(added_ppm(container.capacity_base / 1_000, volume_m3))
    return RoomNumber(name, volume_m3, ppm, ppm > EIGHT_HOURS_PPM, ppm > FIFTEEN_MINUTES_PPM)


def _steps(kind: str) -> list[str]:
    """What comes first (common practice, no source); gas work is for signed-off people."""
    steps = {
        "gas_use": [
            _(
                "Read the room alarm before going in. Never alone. No visitors in the room until a "
                "competent person has decided."
            ),
            _("Close the cylinder valve. Write down the gross mass."),
            _("Soapy water on washer, needle valve, solenoid valve, tubing."),
            _(
                "Before anything is loosened: valve shut, pressure let off until the working gauge "
                "reads 0, eye protection on, outlet away from you."
            ),
            _("New washer, clean thread. Test again."),
            _("Weigh at closing and at opening, two nights."),
        ],
        "room_air_alarm": [
            _("Everybody out of the room and of what lies below it. Nobody goes back in."),
            _("Ring, as the card for gas says: First minute, gas in the room."),
            _("The alarm is read again from outside; a competent person decides who goes in."),
        ],
        "reading_alarm": [
            _("Read it once more, with another instrument or by another person."),
            _("People first where it is wet. Then the animals: breathing, at the surface, colour."),
            _("Write down the new reading: inside its range it closes the alert."),
        ],
        "double_dose": [
            _("Look at the animals: breathing, at the surface, colour."),
            _("Do not try to balance it with something else. Write down product and amount."),
            _("Complete or micro fertiliser up to three times the plan: leave out the next days."),
            _(
                "Algicide, medicine or unknown: change half of the water at the same temperature, "
                "add air, and ring the manager."
            ),
        ],
        "given_stopped": [
            _("Tell whoever looks after the emergency what was given, how much and when."),
            _("Look at the animals: breathing, at the surface, colour."),
            _("Give nothing more there until it is over, and do not try to balance it."),
        ],
        "stock_finding": [
            _("Weigh it again today, on the same scale; regulator as it was said."),
            _("Look at the container and the floor below it, and ask who used it."),
            _("Write down below what was found. It closes the alert."),
        ],
        "variance": [
            _("Weigh it again now, on the same scale; is it this container, and its empty mass?"),
            _("Weigh twenty presses, and look whether another bottle was used."),
            _("Write down below what was found. It closes the alert for these days."),
        ],
        "below_nothing": [
            _("Weigh or count it: from then on the books hold what is really there."),
            _("Was it filled up, or another one opened, without a note? Enter that too."),
        ],
        "press_off": [
            _("Weigh twenty presses once more; the first few after a refill give air."),
            _("Change the instruction of this pump to what was measured."),
        ],
        "too_old": [
            _("Write the date on the lid."),
            _("Open the next one on that day, and buy a smaller one."),
        ],
        "reorder": [_("Order it, then look again: the alert closes when enough is on its way.")],
        "water_drift": [
            _("Measure it again today, with a second kit or another lot."),
            _("Measure what goes in: tap, mixed water and its salts."),
        ],
        "ammonia": [
            _("Look at the animals now: breathing, at the surface, colour."),
            _("Measure ammonia and pH again, the pH also before the lamps go on."),
            _("Feed nothing today; look for something dead, and whether the filter runs."),
            _("Change water of the same warmth, and of no higher pH."),
        ],
        "interlock": [
            _("Look at the timers and the tank: animals first, breathing and at the surface."),
            _("Set the timer, or clean the filter; mains work is for whoever is licensed for it."),
            _("Write down on the page of its equipment what holds now: it closes the alert."),
        ],
        "gas_sign": [
            _("Look at the animals first: breathing, at the surface."),
            _("Read it once more, two hours after the lamps went on or later, with fresh fluid."),
            _("Valve, pressure, bubbles and diffuser: whoever is signed off for gas looks."),
            _("Change the needle in small steps, never in the last hours of a shift."),
        ],
        "decline": [
            _("Look again at stems, ground and glass, and say at its gates what you saw."),
            _("Decide: cut it back hard and let it recover, or plan the layout that follows."),
            _("Put it into decline on the page of its layout: it closes the alert."),
        ],
        "overdue": [_("Do it, or skip it with a reason: both close this alert.")],
    }
    return steps.get(kind, [])
