"""Nobody guesses a code: wrong ones are counted by address and all together, and rest."""

from __future__ import annotations

from datetime import timedelta

import pytest

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Device, EnrolmentTry, Membership
from gallery_ops.kernel.services import devices
from gallery_ops.kernel.values.codes import new_code
from tests.builders.people import AT, a_showroom, an_owner

HERE, THERE = "198.51.100.7", "198.51.100.8"


@pytest.fixture
def owner(db: None) -> Membership:
    return an_owner(a_showroom())


def a_code(owner: Membership) -> str:
    return devices.make_enrolment_code(
        showroom=owner.showroom, by=owner, at=AT, lives=timedelta(hours=2)
    )


def try_one(code: str, address: str, at: object = AT) -> str:
    try:
        devices.enrol_device(code=code, name="tablet", at=at, address=address)  # type: ignore[arg-type]
    except Refused as no:
        return no.code
    return "enrolled"


def test_after_ten_wrong_codes_an_address_rests_for_a_quarter_of_an_hour(
    owner: Membership,
) -> None:
    good = a_code(owner)
    assert {try_one(new_code(), HERE) for _ in range(10)} == {"code_wrong"}
    assert try_one(good, HERE) == "too_many_tries"
    assert try_one(good, HERE, AT + timedelta(minutes=14)) == "too_many_tries"
    assert not Device.objects.exists()
    assert try_one(good, HERE, AT + timedelta(minutes=15)) == "enrolled"


def test_another_address_is_not_kept_waiting(owner: Membership) -> None:
    for _ in range(10):
        try_one(new_code(), HERE)
    assert try_one(a_code(owner), THERE) == "enrolled"


def test_a_hundred_from_everywhere_keep_all_waiting_and_it_is_said(owner: Membership) -> None:
    for n in range(100):
        assert try_one(new_code(), f"203.0.113.{n}") == "code_wrong"
    with pytest.raises(Refused, match="for 15 minutes") as no:
        devices.enrol_device(code=a_code(owner), name="tablet", at=AT, address=THERE)
    assert "code" in no.value.fields


def test_a_slip_of_the_thumb_is_no_try(owner: Membership) -> None:
    good = a_code(owner)
    wrong_check = good[:-1] + ("2" if good[-1] != "2" else "3")
    for _ in range(30):
        assert try_one(wrong_check, HERE) == "out_of_range"
    assert try_one(good, HERE) == "enrolled"


def test_tries_are_kept_a_day_and_never_with_the_address(owner: Membership) -> None:
    try_one(new_code(), HERE)
    try_one(new_code(), HERE, AT + timedelta(days=2))
    (row,) = EnrolmentTry.objects.all()
    assert row.at == AT + timedelta(days=2)
    assert HERE not in row.address_hash
