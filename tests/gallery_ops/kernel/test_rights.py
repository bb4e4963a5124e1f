"""Who may do what? The whole matrix, cell by cell."""

from datetime import timedelta

import pytest

from gallery_ops.kernel.errors import Forbidden, Unknown
from gallery_ops.kernel.models import Membership, Role
from gallery_ops.kernel.queries.devices import limit
from gallery_ops.kernel.rights import DEEDS, MATRIX, RIGHTS, may, missing_rights, require
from tests.builders.people import AT, a_showroom, an_owner

# carer records, weighs, skips; senior carer corrects and overrides ranges; manager adds plans,
# imports, devices, alerts, people; owner adds targets and prices; guest designer reads own layouts
EXPECTED = {
    "read": "carer senior_carer manager owner",
    "record": "carer senior_carer manager owner",
    "weigh": "carer senior_carer manager owner",
    "skip": "carer senior_carer manager owner",
    "correct": "senior_carer manager owner",
    "override_range": "senior_carer manager owner",
    "plan.change": "manager owner",
    "import": "manager owner",
    "device.enrol": "manager owner",
    "alert.answer": "manager owner",
    "person.change": "manager owner",
    "token.make": "manager owner",
    "target.change": "owner",
    "price.change": "owner",
    "layout.read_own": "guest_designer",
}


@pytest.mark.parametrize("role", Role.values)
@pytest.mark.parametrize("right", sorted(RIGHTS))
def test_the_matrix(right: str, role: str) -> None:
    allowed = role in EXPECTED[right].split()
    somebody = Membership(role=role, from_at=AT)
    assert may(somebody, right) is allowed
    if allowed:
        require(somebody, right)
    else:
        with pytest.raises(Forbidden, match="may not") as caught:
            require(somebody, right)
        assert caught.value.remedy.startswith("Ask one of these: ")


def test_every_right_and_role_stands_in_the_matrix() -> None:
    assert set(EXPECTED) == set(RIGHTS) == set(DEEDS)
    assert set(MATRIX) == set(Role.values)


@pytest.mark.parametrize("right", sorted(RIGHTS))
def test_a_visitor_may_nothing(right: str) -> None:
    assert not may(None, right)
    with pytest.raises(Forbidden, match="Sign in first"):
        require(None, right)


def test_a_word_that_is_no_right_is_a_mistake_in_the_program() -> None:
    with pytest.raises(ValueError, match="no right"):
        may(Membership(role="owner"), "plan.chnage")


@pytest.mark.django_db
def test_in_another_showroom_nothing_is_said_to_exist() -> None:
    owner = an_owner(a_showroom())
    other = a_showroom("elsewhere")
    assert may(owner, "read", in_=owner.showroom)
    assert not may(owner, "read", in_=other)
    with pytest.raises(Unknown):
        require(owner, "read", in_=other)


def test_before_and_after_the_membership_there_are_no_rights() -> None:
    somebody = Membership(role="owner", from_at=AT, to_at=AT + timedelta(days=1))
    assert may(somebody, "read", at=AT)
    assert not may(somebody, "read", at=AT - timedelta(seconds=1))
    assert not may(somebody, "read", at=AT + timedelta(days=1))


def test_a_token_narrows_and_never_widens() -> None:
    carer = limit(Membership(role="carer", from_at=AT), ["read", "price.change"])
    assert may(carer, "read")
    assert not may(carer, "record")
    assert not may(carer, "price.change")
    assert missing_rights(carer, ["read", "record", "nonsense"]) == {"record", "nonsense"}
