"""Do people come, change and leave as the rules of the house say?"""

from datetime import date, timedelta
from typing import Any

import pytest
from django.test import RequestFactory

from gallery_ops.kernel.errors import Forbidden, Refused, Unknown
from gallery_ops.kernel.models import AuditEntry, Epoch, Membership, Role, Showroom
from gallery_ops.kernel.queries import people as asked
from gallery_ops.kernel.services import passwords, people
from gallery_ops.kernel.services.tokens import make_token
from tests.builders.people import AT, a_member, a_showroom, an_owner

DAY = timedelta(days=1)


@pytest.fixture
def owner(db: None) -> Membership:
    return an_owner(a_showroom())


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("zone", "Mars/Base"),
        ("code", "under shore"),
        ("currency", "pounds"),
        ("decimal_mark", ";"),
        ("cut_off_hour", 12),
        ("name", ""),
        ("name", "x" * 121),
        ("name", "a\x00b"),
    ],
)
@pytest.mark.django_db
def test_a_showroom_with_a_wrong_value_is_refused_and_not_made(field: str, value: Any) -> None:
    values = {"code": "undershore", field: value}
    with pytest.raises(Refused) as caught:
        a_showroom(**values)
    assert caught.value.sentence
    assert not Showroom.objects.exists()


def test_the_first_showroom_gives_the_database_its_identity(owner: Membership) -> None:
    first = asked.current_epoch()
    a_showroom("elsewhere")
    assert asked.current_epoch() == first
    assert Epoch.objects.count() == 1
    people.renew_epoch(at=AT + DAY)
    assert asked.current_epoch() != first


@pytest.mark.django_db
def test_the_first_person_is_the_owner_and_comes_once() -> None:
    showroom = a_showroom()
    with pytest.raises(Forbidden, match="first person"):
        people.add_person(
            showroom=showroom, login="ana", name="Ana", role=Role.MANAGER, by=None, at=AT
        )
    an_owner(showroom)
    with pytest.raises(Forbidden, match="first person"):
        an_owner(showroom, login="second")


def test_a_manager_takes_on_a_carer_but_no_owner(owner: Membership) -> None:
    manager = a_member(owner, Role.MANAGER)
    a_member(manager, Role.CARER)
    with pytest.raises(Forbidden, match="Only an owner"):
        a_member(manager, Role.OWNER)
    names = [m.role for m in asked.members(owner.showroom, AT)]
    assert sorted(names) == ["carer", "manager", "owner"]


def test_a_carer_takes_on_nobody(owner: Membership) -> None:
    carer = a_member(owner, Role.CARER)
    with pytest.raises(Forbidden, match="Carer may not add or change people"):
        a_member(carer, Role.CARER, login="new")


@pytest.mark.parametrize(
    ("field", "values"),
    [
        ("login", {"login": "Ana Vann!"}),
        ("login", {"login": "owner.undershore"}),
        ("email", {"email": "no mail"}),
        ("password", {"password": "password"}),
        ("name", {"name": ""}),
        ("role", {"role": "king"}),
    ],
)
def test_a_wrong_entry_names_its_field(
    owner: Membership, field: str, values: dict[str, Any]
) -> None:
    whole = {"login": "ana", "name": "Ana", "role": "carer", **values}
    with pytest.raises(Refused) as caught:
        people.add_person(showroom=owner.showroom, by=owner, at=AT, **whole)
    assert field in caught.value.fields
    assert caught.value.fields[field]


def test_somebody_works_in_two_showrooms_under_one_name(owner: Membership) -> None:
    elsewhere = an_owner(a_showroom("elsewhere"))
    carer = a_member(owner, Role.CARER)
    there = people.add_membership(
        showroom=elsewhere.showroom,
        person=carer.person,
        role=Role.MANAGER,
        by=elsewhere,
        at=AT + DAY,
    )
    assert [m.pk for m in asked.memberships_of(carer.person, AT + DAY)] == [carer.pk, there.pk]
    with pytest.raises(Refused, match="already works here"):
        people.add_membership(
            showroom=elsewhere.showroom, person=carer.person, role="carer", by=elsewhere, at=AT
        )


def test_a_new_role_opens_a_new_membership_and_keeps_the_old(owner: Membership) -> None:
    carer = a_member(owner, Role.CARER)
    senior = people.change_role(membership=carer, role=Role.SENIOR_CARER, by=owner, at=AT + DAY)
    assert asked.member_by_login(owner.showroom, carer.person.login, AT).role == "carer"
    later = asked.member_by_login(owner.showroom, carer.person.login, AT + DAY)
    assert (later.pk, later.role) == (senior.pk, "senior_carer")
    entry = AuditEntry.objects.get(deed="person.role")
    assert (entry.before, entry.after) == ({"role": "carer"}, {"role": "senior_carer"})


def test_who_leaves_is_gone_and_so_are_their_tokens(owner: Membership) -> None:
    carer = a_member(owner, Role.CARER)
    made = make_token(
        showroom=owner.showroom, membership=carer, name="t", scopes=["read"], by=owner, at=AT
    )
    people.end_membership(membership=carer, by=owner, at=AT + DAY)
    with pytest.raises(Unknown):
        asked.member_by_login(owner.showroom, carer.person.login, AT + DAY)
    made.token.refresh_from_db()
    assert made.token.revoked_at == AT + DAY
    with pytest.raises(Unknown):
        people.end_membership(membership=carer, by=owner, at=AT + DAY)


def test_the_last_owner_stays(owner: Membership) -> None:
    with pytest.raises(Refused, match="only owner"):
        people.end_membership(membership=owner, by=owner, at=AT + DAY)
    with pytest.raises(Refused, match="only owner"):
        people.change_role(membership=owner, role=Role.CARER, by=owner, at=AT + DAY)
    second = a_member(owner, Role.OWNER, login="second")
    people.end_membership(membership=owner, by=second, at=AT + DAY)


def test_strangers_do_not_exist(owner: Membership) -> None:
    stranger = an_owner(a_showroom("elsewhere"))
    carer = a_member(owner, Role.CARER)
    deeds = [
        lambda: people.end_membership(membership=carer, by=stranger, at=AT),
        lambda: people.change_role(membership=carer, role="owner", by=stranger, at=AT),
        lambda: passwords.set_password(
            person=carer.person, password="a long secret 7", by=stranger, at=AT
        ),
        lambda: asked.member_by_login(stranger.showroom, carer.person.login, AT),
        lambda: asked.membership_of(carer.person, stranger.showroom, AT),
        lambda: (
            a_member(stranger, login="x").showroom
            and people.add_person(
                showroom=owner.showroom, login="y", name="Y", role="carer", by=stranger, at=AT
            )
        ),
    ]
    for deed in deeds:
        with pytest.raises(Unknown):
            deed()


def test_skills_include_one_another_and_end(owner: Membership) -> None:
    carer = a_member(owner, Role.CARER)
    grant = people.grant_skill(
        membership=carer,
        skill="C3",
        by=owner,
        at=AT,
        signed_off_on=date(2026, 3, 1),
        expires_on=date(2026, 9, 1),
    )
    people.grant_skill(membership=carer, skill="D", by=owner, at=AT, signed_off_on=date(2026, 3, 1))
    assert asked.skills_of(carer, date(2026, 2, 28)) == frozenset()
    assert asked.skills_of(carer, date(2026, 3, 1)) == {"C1", "C2", "C3", "D"}
    assert asked.skills_of(carer, date(2026, 9, 1)) == {"D"}
    for _ in range(2):
        people.revoke_skill(grant=grant, by=owner, at=AT, revoked_on=date(2026, 4, 1))
    assert asked.skills_of(carer, date(2026, 3, 31)) == {"C1", "C2", "C3", "D"}
    assert asked.skills_of(carer, date(2026, 4, 1)) == {"D"}
    with pytest.raises(Refused, match="C1, C2"):
        people.grant_skill(
            membership=carer, skill="C9", by=owner, at=AT, signed_off_on=date(2026, 3, 1)
        )
    with pytest.raises(Refused, match="must end after"):
        people.grant_skill(
            membership=carer,
            skill="C1",
            by=owner,
            at=AT,
            signed_off_on=date(2026, 3, 2),
            expires_on=date(2026, 3, 2),
        )


def test_a_password_lets_in_and_a_wrong_one_says_no_more_than_that(owner: Membership) -> None:
    request = RequestFactory().post("/sign-in/")
    a_member(owner, "manager", login="ana", password="long and winding 7")
    person = passwords.sign_in_by_password(request, login=" Ana ", password="long and winding 7")
    assert person.login == "ana"
    words = set()
    for login, password in (("ana", "wrong"), ("nobody", "wrong"), ("owner.undershore", "")):
        with pytest.raises(Refused) as caught:
            passwords.sign_in_by_password(request, login=login, password=password)
        words.add(caught.value.sentence)
    assert len(words) == 1


def test_a_password_is_changed_by_oneself_or_by_who_may(owner: Membership) -> None:
    request = RequestFactory().post("/sign-in/")
    manager, carer = a_member(owner, "manager"), a_member(owner, "carer", login="ana")
    passwords.set_password(person=carer.person, password="quite another 8", by=carer, at=AT)
    passwords.set_password(person=carer.person, password="quite another 9", by=manager, at=AT)
    passwords.sign_in_by_password(request, login="ana", password="quite another 9")
    with pytest.raises(Forbidden):
        passwords.set_password(person=manager.person, password="quite another 7", by=carer, at=AT)
    with pytest.raises(Forbidden, match="Only an owner"):
        passwords.set_password(person=owner.person, password="quite another 7", by=manager, at=AT)
    with pytest.raises(Refused, match="too short"):
        passwords.set_password(person=carer.person, password="short", by=carer, at=AT)
