"""A password opens every gallery of a person: who may set it?"""

import pytest

from gallery_ops.kernel.errors import Forbidden
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.services.passwords import set_password
from gallery_ops.kernel.services.people import add_membership
from tests.builders.gallery import AT, a_person, a_showroom, an_owner

pytestmark = pytest.mark.django_db
SECRET = "a-weir-of-nine-stones"


def in_both(role_here: str, role_there: str) -> tuple[Membership, Membership]:
    """Somebody who works in two galleries: their membership here, and the manager of here."""
    there, here = a_showroom(), a_showroom()
    person = a_person(role_there, showroom=there).person
    mine = add_membership(showroom=here, person=person, role=role_here, by=an_owner(here), at=AT)
    return mine, a_person("manager", showroom=here)


def test_a_manager_sets_the_password_of_somebody_who_works_only_here():
    showroom = a_showroom()
    carer = a_person("carer", showroom=showroom).person
    set_password(person=carer, password=SECRET, by=a_person("manager", showroom=showroom), at=AT)
    assert carer.check_password(SECRET)


@pytest.mark.parametrize("role_there", ["owner", "manager", "carer"])
def test_nobody_gets_into_another_gallery_by_a_password_set_here(role_there):
    mine, manager = in_both("carer", role_there)
    with pytest.raises(Forbidden) as no:
        set_password(person=mine.person, password=SECRET, by=manager, at=AT)
    assert no.value.code == "works_elsewhere"
    assert not mine.person.check_password(SECRET)


def test_ones_own_password_is_ones_own_in_every_gallery():
    mine, _manager = in_both("carer", "owner")
    set_password(person=mine.person, password=SECRET, by=mine, at=AT)
    assert mine.person.check_password(SECRET)
