"""Does a PIN let the right person in, and rest after five wrong tries?"""

import hashlib
import hmac
import threading
from datetime import timedelta

import pytest
from django.db import connections
from django.test import override_settings

from gallery_ops.kernel.errors import Forbidden, Refused, Unknown
from gallery_ops.kernel.models import Device, Membership, SignInTry
from gallery_ops.kernel.queries.people import name_tiles
from gallery_ops.kernel.services import pins
from gallery_ops.kernel.services.devices import revoke_device
from gallery_ops.kernel.services.people import end_membership
from gallery_ops.kernel.services.pins import pin_verifier, set_pin, verify_pin
from tests.builders.people import AT, a_device, a_member, a_showroom, an_owner

PIN, WRONG = "730519", "730518"
MINUTE = timedelta(minutes=1)


@pytest.fixture
def owner(db: None) -> Membership:
    return an_owner(a_showroom())


@pytest.fixture
def carer(owner: Membership) -> Membership:
    carer = a_member(owner, "carer")
    set_pin(membership=carer, pin=PIN, by=owner, at=AT)
    return carer


@pytest.fixture
def device(owner: Membership) -> Device:
    return a_device(owner)


def refused(carer: Membership, device: Device, pin: str, at: object = AT) -> Refused:
    with pytest.raises(Refused) as caught:
        verify_pin(membership=carer, device=device, pin=pin, at=at)  # type: ignore[arg-type]
    return caught.value


@override_settings(PIN_ITERATIONS=1)
def test_the_function_gives_the_published_vector() -> None:
    """PBKDF2-HMAC-SHA256 of "passwd" and "salt", one round: RFC 7914, section 11."""
    assert pins.pin_base("passwd", b"salt").hex() == (
        "55ac046e56e3089fec1691c22544b605f94185216dde0465e68b9d57c20dacbc"
    )


def test_the_right_pin_lets_in(carer: Membership, device: Device) -> None:
    verify_pin(membership=carer, device=device, pin=PIN, at=AT)
    assert SignInTry.objects.get().right


def test_five_wrong_tries_rest_the_name_on_that_device_for_five_minutes(
    owner: Membership, carer: Membership, device: Device
) -> None:
    for left in (4, 3, 2, 1):
        error = refused(carer, device, WRONG)
        assert error.code == "pin_wrong"
        assert f": {left}." in error.remedy
    assert refused(carer, device, WRONG).code == "pin_locked"
    locked = refused(carer, device, PIN, AT + 4 * MINUTE)
    assert (locked.code, locked.remedy) == (
        "pin_locked",
        "Try again in 1 min, or use another device.",
    )
    assert SignInTry.objects.count() == 5
    other = a_device(owner, "tablet of zone B")
    verify_pin(membership=carer, device=other, pin=PIN, at=AT)
    verify_pin(membership=carer, device=device, pin=PIN, at=AT + 5 * MINUTE)


def test_after_the_rest_there_are_five_tries_again(carer: Membership, device: Device) -> None:
    for _ in range(5):
        refused(carer, device, WRONG)
    later = AT + 6 * MINUTE
    assert [refused(carer, device, WRONG, later).code for _ in range(5)] == [
        "pin_wrong",
        "pin_wrong",
        "pin_wrong",
        "pin_wrong",
        "pin_locked",
    ]


def test_a_right_one_in_between_begins_the_count_anew(carer: Membership, device: Device) -> None:
    for _ in range(4):
        refused(carer, device, WRONG)
    verify_pin(membership=carer, device=device, pin=PIN, at=AT)
    assert refused(carer, device, WRONG).code == "pin_wrong"


@pytest.mark.parametrize(
    "pin", ["", "12345", "1234567", "abcdef", "111111", "123456", "987654", "890123", "٣٣٣٣٣٤"]
)
def test_a_pin_has_six_digits_that_are_no_row(carer: Membership, pin: str) -> None:
    with pytest.raises(Refused) as caught:
        set_pin(membership=carer, pin=pin, by=carer, at=AT)
    assert caught.value.fields["pin"]


def test_who_sets_whose_pin(owner: Membership, carer: Membership) -> None:
    manager = a_member(owner, "manager")
    set_pin(membership=carer, pin=PIN, by=carer, at=AT)
    set_pin(membership=carer, pin=PIN, by=manager, at=AT)
    with pytest.raises(Forbidden):
        set_pin(membership=manager, pin=PIN, by=carer, at=AT)
    with pytest.raises(Refused, match="Only an owner"):
        set_pin(membership=owner, pin=PIN, by=manager, at=AT)
    with pytest.raises(Unknown):
        set_pin(membership=carer, pin=PIN, by=an_owner(a_showroom("elsewhere")), at=AT)


def test_without_a_pin_there_is_no_tile_and_no_way_in(
    owner: Membership, carer: Membership, device: Device
) -> None:
    assert [m.pk for m in name_tiles(owner.showroom, AT)] == [carer.pk]
    assert refused(owner, device, PIN).code == "pin_not_set"
    assert pin_verifier(owner, device) is None


def test_strangers_leavers_and_revoked_devices_are_unknown(
    owner: Membership, carer: Membership, device: Device
) -> None:
    foreign = a_device(an_owner(a_showroom("elsewhere")))
    with pytest.raises(Unknown):
        verify_pin(membership=carer, device=foreign, pin=PIN, at=AT)
    left = a_member(owner, "carer", login="left")
    set_pin(membership=left, pin=PIN, by=owner, at=AT)
    end_membership(membership=left, by=owner, at=AT + MINUTE)
    with pytest.raises(Unknown):
        verify_pin(membership=left, device=device, pin=PIN, at=AT + MINUTE)
    revoke_device(device=device, by=owner, at=AT)
    with pytest.raises(Unknown):
        verify_pin(membership=carer, device=device, pin=PIN, at=AT)


def test_the_verifier_of_one_tablet_fits_no_other(
    owner: Membership, carer: Membership, device: Device
) -> None:
    """HMAC(device's salt, base): recomputed here from its parts with the standard library."""
    carer.refresh_from_db()
    here = pin_verifier(carer, device)
    base = hashlib.pbkdf2_hmac("sha256", PIN.encode(), bytes(carer.pin_salt or b""), 1000)
    assert here == hmac.new(bytes(device.pin_salt), base, hashlib.sha256).digest()
    assert here != pin_verifier(carer, a_device(owner, "tablet of zone B"))
    assert base not in (here, device.pin_salt)


@pytest.mark.django_db(transaction=True)
def test_tries_at_the_same_time_do_not_get_more_than_five(monkeypatch) -> None:
    owner = an_owner(a_showroom())
    device, carer = a_device(owner), a_member(owner, "carer")
    set_pin(membership=carer, pin=PIN, by=owner, at=AT)
    codes: list[str] = []

    def guess() -> None:
        try:
            for _ in range(4):
                try:
                    verify_pin(membership=carer, device=device, pin=WRONG, at=AT)
                except Refused as error:
                    codes.append(error.code)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=guess) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    assert SignInTry.objects.count() == 5
    assert sorted(codes) == ["pin_locked"] * 12 + ["pin_wrong"] * 4
