"""Which devices and programs are let in, with which secrets, and for how long?"""

from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from gallery_ops.kernel import clock
from gallery_ops.kernel.errors import Forbidden, Refused, Unknown
from gallery_ops.kernel.models import ApiToken, AuditEntry, Device, EnrolmentCode, Membership
from gallery_ops.kernel.queries import devices as asked
from gallery_ops.kernel.rights import may
from gallery_ops.kernel.services import devices
from gallery_ops.kernel.services.tokens import make_token, revoke_token, token_used
from tests.builders.people import AT, a_device, a_member, a_showroom, an_owner

MINUTE = timedelta(minutes=1)


@pytest.fixture
def owner(db: None) -> Membership:
    return an_owner(a_showroom())


def a_code(owner: Membership) -> str:
    return devices.make_enrolment_code(showroom=owner.showroom, by=owner, at=AT)


def test_a_code_enrols_one_device_once(owner: Membership) -> None:
    code = a_code(owner)
    made = devices.enrol_device(code=code.lower(), name=" tablet ", at=AT + MINUTE)
    assert (made.device.name, made.device.showroom) == ("tablet", owner.showroom)
    assert asked.device_by_token(made.token).pk == made.device.pk
    with pytest.raises(Refused, match="does not work"):
        devices.enrol_device(code=code, name="second", at=AT + MINUTE)
    assert Device.objects.count() == 1


def test_a_code_works_for_ten_minutes(owner: Membership) -> None:
    first, second = a_code(owner), a_code(owner)
    devices.enrol_device(code=first, name="a", at=AT + 10 * MINUTE - timedelta(seconds=1))
    with pytest.raises(Refused, match="does not work"):
        devices.enrol_device(code=second, name="b", at=AT + 10 * MINUTE)


@pytest.mark.parametrize(
    ("code", "name", "field"),
    [
        ("2222-2222", "tablet", "code"),
        ("2222-2223", "tablet", "code"),
        ("", "tablet", "code"),
        (None, "", "name"),
        (None, "x" * 81, "name"),
        (None, "a\x07", "name"),
    ],
)
def test_a_wrong_code_or_name_is_refused_with_its_field(
    owner: Membership, code: str | None, name: str, field: str
) -> None:
    given = a_code(owner) if code is None else code
    with pytest.raises(Refused) as caught:
        devices.enrol_device(code=given, name=name, at=AT)
    assert caught.value.fields[field]
    assert not Device.objects.exists()


def test_no_secret_is_kept(owner: Membership) -> None:
    code = a_code(owner)
    made = devices.enrol_device(code=code, name="tablet", at=AT)
    kept = str(EnrolmentCode.objects.values().get()) + str(Device.objects.values().get())
    kept += str(list(AuditEntry.objects.values()))
    for secret in (made.token, code, code.replace("-", "")):
        assert secret not in kept


def test_a_carer_enrols_and_revokes_nothing(owner: Membership) -> None:
    carer, device = a_member(owner, "carer"), a_device(owner)
    with pytest.raises(Forbidden):
        devices.make_enrolment_code(showroom=owner.showroom, by=carer, at=AT)
    with pytest.raises(Forbidden):
        devices.revoke_device(device=device, by=carer, at=AT)


def test_a_revoked_device_is_unknown_from_then_on(owner: Membership) -> None:
    made = devices.enrol_device(code=a_code(owner), name="tablet", at=AT)
    for minutes in (1, 2):
        devices.revoke_device(device=made.device, by=owner, at=AT + minutes * MINUTE)
    with pytest.raises(Unknown):
        asked.device_by_token(made.token)
    assert asked.device_by_uid(owner.showroom, made.device.uid).revoked_at == AT + MINUTE
    assert AuditEntry.objects.filter(deed="device.revoke").count() == 1


def test_a_strangers_device_does_not_exist(owner: Membership) -> None:
    stranger = an_owner(a_showroom("elsewhere"))
    device = a_device(owner)
    with pytest.raises(Unknown):
        devices.revoke_device(device=device, by=stranger, at=AT)
    with pytest.raises(Unknown):
        asked.device_by_uid(stranger.showroom, device.uid)
    assert list(asked.devices(stranger.showroom)) == []
    with pytest.raises(Unknown):
        asked.device_by_token("nonsense")


def test_seen_at_most_once_a_minute_unless_it_brings_something(owner: Membership) -> None:
    device = a_device(owner)
    devices.device_seen(device=device, at=AT + timedelta(seconds=30))
    device.refresh_from_db()
    assert device.seen_at == AT
    devices.device_seen(
        device=device, at=AT + timedelta(seconds=40), clock_offset_ms=-1500, last_seq=12
    )
    devices.device_seen(device=device, at=AT + timedelta(seconds=50), last_seq=9)
    device.refresh_from_db()
    assert (device.seen_at, device.clock_offset_ms, device.last_seq) == (
        AT + timedelta(seconds=50),
        -1500,
        12,
    )
    devices.device_seen(device=device, at=AT + 3 * MINUTE)
    device.refresh_from_db()
    assert device.seen_at == AT + 3 * MINUTE


def test_a_token_stands_for_somebody_with_fewer_rights(owner: Membership) -> None:
    carer = a_member(owner, "carer")
    made = make_token(
        showroom=owner.showroom,
        membership=carer,
        name="stock sheet",
        scopes=["read", "read"],
        by=owner,
        at=AT,
        expires_at=AT + timedelta(days=1),
    )
    found = asked.token_by_secret(made.secret, at=AT)
    assert found.membership.pk == carer.pk
    assert may(found.membership, "read", in_=owner.showroom)
    assert not may(found.membership, "record", in_=owner.showroom)
    assert made.secret not in str(ApiToken.objects.values().get())
    with pytest.raises(Unknown):
        asked.token_by_secret(made.secret, at=AT + timedelta(days=1))
    token_used(token=found, at=AT)
    token_used(token=found, at=AT + timedelta(seconds=30))
    revoke_token(token=made.token, by=owner, at=AT + MINUTE)
    with pytest.raises(Unknown):
        asked.token_by_secret(made.secret, at=AT + MINUTE)
    made.token.refresh_from_db()
    assert (made.token.used_at, made.token.scopes) == (AT, ["read"])


def test_a_token_never_has_more_than_its_person_or_its_maker(owner: Membership) -> None:
    manager, carer = a_member(owner, "manager"), a_member(owner, "carer")

    def make(**values: object) -> None:
        whole = {"membership": carer, "name": "t", "scopes": ["read"], "by": owner, **values}
        make_token(showroom=owner.showroom, at=AT, **whole)  # type: ignore[arg-type]

    for scopes in ([], ["correct"], ["read", "everything"]):
        with pytest.raises(Refused) as caught:
            make(scopes=scopes)
        assert caught.value.fields["scopes"]
    with pytest.raises(Forbidden):
        make(by=carer)
    with pytest.raises(Forbidden, match="for an owner"):
        make(by=manager, membership=owner)
    with pytest.raises(Unknown):
        make(membership=an_owner(a_showroom("elsewhere")))
    with pytest.raises(Refused, match="ended already"):
        make(expires_at=AT)
    make()
    with pytest.raises(Refused, match="choose another name"):
        make()


def test_a_limited_token_cannot_make_a_wider_one(owner: Membership) -> None:
    made = make_token(
        showroom=owner.showroom,
        membership=owner,
        name="t",
        scopes=["read"],
        by=owner,
        at=AT,
    )
    limited = asked.token_by_secret(made.secret, at=AT).membership
    with pytest.raises(Forbidden):
        make_token(
            showroom=owner.showroom,
            membership=owner,
            name="u",
            scopes=["price.change"],
            by=limited,
            at=AT,
        )


@pytest.mark.django_db
def test_the_command_prints_the_secret_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: AT)
    owner = an_owner(a_showroom(), login="odile")
    out, err = StringIO(), StringIO()
    call_command(
        "make_api_token", "undershore", "odile", "sheet", "read", days=7, stdout=out, stderr=err
    )
    token = asked.token_by_secret(out.getvalue().strip(), at=AT)
    assert (token.membership.pk, token.expires_at) == (owner.pk, AT + timedelta(days=7))
    for bad in (["nowhere", "odile", "x", "read"], ["undershore", "odile", "x", "fly"]):
        with pytest.raises(CommandError):
            call_command("make_api_token", *bad)
    with pytest.raises(CommandError, match="1 to 3650"):
        call_command("make_api_token", "undershore", "odile", "x", "read", days=0)
