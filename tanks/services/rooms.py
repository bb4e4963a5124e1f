"""The air of a room: how much of it somebody measured, and what its gas alarm showed."""

from __future__ import annotations

from datetime import date, datetime
from typing import Unpack
from uuid import UUID

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Device, Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.services.facts import Said, columns_of_taking_back
from gallery_ops.kernel.services.work import want_work
from gallery_ops.kernel.values.day import business_day
from tanks.models import Room, RoomAirCheck

LEAST_M3, MOST_M3 = 1, 100_000
LEAST_PPM, MOST_PPM = 300, 100_000


@transaction.atomic
def measure_room(
    *,
    room: Room,
    volume_m3: int,
    measured_by: str,
    measured_on: date,
    has_gas_alarm: bool,
    by: Membership,
    at: datetime,
) -> Room:
    """Somebody measured the air of a room [m3], and said whether a gas alarm hangs in it.

    Raises
    ------
    Refused
        a volume outside 1 to 100,000 m3, nobody named, a day that is still to come.
    """
    require(by, "plan.change", in_=room.showroom)
    today = business_day(at, room.showroom.tz, room.showroom.cut_off_hour)
    if not LEAST_M3 <= volume_m3 <= MOST_M3:
        raise Refused(
            "room_out_of_range",
            f"Volume: {volume_m3:,} m³ is not allowed.",
            {"volume_m3": f"Allowed: {LEAST_M3} to {MOST_M3:,} m³."},
            "Length times width times height, less what stands in it; measure, do not guess.",
        )
    if not 2 <= len(measured_by.strip()) <= 80:
        raise Refused(
            "nobody_measured",
            "Measured by: nobody was named.",
            {"measured_by": "2 to 80 characters."},
        )
    if measured_on > today:
        raise Refused(
            "measured_later",
            f"Measured on: {measured_on:%-d %B %Y} is still to come.",
            {"measured_on": "Today or before."},
        )
    room = Room.objects.select_for_update().get(pk=room.pk)
    before = {"volume_m3": room.volume_m3, "has_gas_alarm": room.has_gas_alarm}
    room.volume_m3, room.has_gas_alarm = volume_m3, has_gas_alarm
    room.volume_measured_by, room.volume_measured_on = measured_by.strip(), measured_on
    room.save()
    audit.record(
        by=by,
        at=at,
        deed="room.measured",
        subject=room,
        before=before,
        after={"volume_m3": volume_m3, "has_gas_alarm": has_gas_alarm},
    )
    return room


@transaction.atomic
def check_room_air(
    *,
    room: Room,
    by: Membership,
    at: datetime,
    co2_ppm: int | None = None,
    is_test: bool = False,
    rang: bool | None = None,
    done_at: datetime | None = None,
    done_at_corrected: datetime | None = None,
    device: Device | None = None,
    action_id: UUID | None = None,
) -> RoomAirCheck:
    """The gas alarm of a room was read, or tested.

    Raises
    ------
    Refused
        a figure outside 300 to 100,000 ppm, a test that does not say whether it rang, nothing said.
    """
    require(by, "record", in_=room.showroom)
    if action_id is not None:
        known: RoomAirCheck | None = (
            RoomAirCheck.objects.of(room.showroom).filter(action_id=action_id).first()
        )
        if known is not None:
            return known
    if co2_ppm is not None and not LEAST_PPM <= co2_ppm <= MOST_PPM:
        raise Refused(
            "air_out_of_range",
            f"Room air: {co2_ppm:,} ppm is not allowed.",
            {"co2_ppm": f"Allowed: {LEAST_PPM} to {MOST_PPM:,} ppm."},
            "Outdoor air has about 420. Is it the figure of the gas alarm?",
        )
    if is_test and rang is None:
        raise Refused(
            "test_unsaid",
            "Test: nobody said whether the alarm rang.",
            {"rang": "It rang, or it did not."},
        )
    if co2_ppm is None and not is_test:
        raise Refused(
            "nothing_read",
            "Room air: nothing was read.",
            {"co2_ppm": f"{LEAST_PPM} to {MOST_PPM:,} ppm, as the alarm shows it."},
        )
    row: RoomAirCheck = RoomAirCheck.objects.create(
        showroom=room.showroom,
        room=room,
        co2_ppm=co2_ppm,
        is_test=is_test,
        rang=rang if is_test else None,
        done_at=done_at or at,
        done_at_corrected=done_at_corrected or done_at or at,
        entered_at=at,
        person=by.person,
        device=device,
        action_id=action_id,
    )
    if is_test:
        showroom = room.showroom
        day = business_day(row.done_at_corrected, showroom.tz, showroom.cut_off_hour)
        Room.objects.filter(pk=room.pk).update(gas_alarm_tested_on=day)
    want_work(room.showroom, "water", at=at)
    return row


@transaction.atomic
def take_back_room_air(
    *, check: RoomAirCheck, by: Membership, at: datetime, **said: Unpack[Said]
) -> RoomAirCheck:
    """It was a slip: a further fact says that the first does not count. Both stay."""
    require(by, "record", in_=check.showroom)
    known: RoomAirCheck | None = RoomAirCheck.objects.filter(corrects=check).first()
    if known is not None:
        return known
    back: RoomAirCheck = RoomAirCheck.objects.create(
        **columns_of_taking_back(check, by, at, said),
        room=check.room,
        co2_ppm=check.co2_ppm,
        is_test=check.is_test,
        rang=check.rang,
    )
    want_work(check.showroom, "water", at=at)
    return back
