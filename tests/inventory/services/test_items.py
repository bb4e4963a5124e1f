"""Are items, scales and suppliers entered once, by those who may, with words for what is wrong?"""

from datetime import date

import pytest

from gallery_ops.kernel.errors import Forbidden, Refused, Unknown
from gallery_ops.kernel.models import AuditEntry
from gallery_ops.kernel.values.quantity import Mass, Volume
from inventory.models import Item, SupplierItem
from inventory.services.items import (
    add_closure,
    add_item,
    add_scale,
    add_supplier,
    add_supplier_item,
)
from tests.builders.gallery import AT, a_person, a_showroom
from tests.builders.stock import a_fertiliser

pytestmark = pytest.mark.django_db


def test_a_density_that_nobody_gave_is_marked_as_assumed():
    manager = a_person("manager")
    fields = {"showroom": manager.showroom, "kind": "fertiliser", "dimension": "volume"}
    said = {"by": manager, "at": AT}
    assumed = add_item(code="complete", name="Complete", **fields, **said)
    known = add_item(code="micro", name="Micro", density_mg_per_ml=1050, **fields, **said)
    assert (assumed.density_mg_per_ml, assumed.density_is_assumed) == (1000, True)
    assert (known.density_mg_per_ml, known.density_is_assumed) == (1050, False)
    assert AuditEntry.objects.filter(deed="item.added").count() == 2


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"code": "here"}, "exists"),
        ({"density_mg_per_ml": 3000}, "0.5 to 2.5 g/mL"),
        ({"dimension": "length"}, "ength"),
    ],
)
def test_an_item_that_cannot_be_is_refused_in_words(change, words):
    manager = a_person("manager")
    a_fertiliser(manager.showroom, code="here")
    fields = {"code": "new", "name": "New", "kind": "fertiliser", "dimension": "volume", **change}
    with pytest.raises(Refused, match=words):
        add_item(showroom=manager.showroom, by=manager, at=AT, **fields)
    assert Item.objects.count() == 1


def test_prices_are_the_owners_and_things_the_managers():
    showroom = a_showroom()
    manager = a_person("manager", showroom=showroom)
    owner = a_person("owner", showroom=a_showroom())
    carer = a_person(showroom=showroom)
    item = a_fertiliser(showroom)
    supplier = add_supplier(
        showroom=showroom, name="Marrowick Supplies", delivery_weekdays="0101000", by=manager, at=AT
    )
    fields = {"supplier": supplier, "item": item, "at": AT}
    pack = add_supplier_item(pack=Volume.l(5), by=manager, **fields)
    assert (pack.pack_base, pack.price_cents) == (5_000_000, None)
    with pytest.raises(Forbidden):
        add_supplier_item(pack=Volume.l(1), price_cents=1200, by=manager, **fields)
    with pytest.raises(Forbidden):
        add_scale(showroom=showroom, name="bench", by=carer, at=AT)
    with pytest.raises(Unknown):
        add_supplier_item(pack=Volume.l(1), by=owner, **fields)
    with pytest.raises(Refused, match="a volume in mL or L"):
        add_supplier_item(pack=Mass.kg(5), by=manager, **fields)
    assert SupplierItem.objects.count() == 1


def test_a_closure_ends_after_it_begins():
    manager = a_person("manager")
    supplier = add_supplier(showroom=manager.showroom, name="Marrowick Supplies", by=manager, at=AT)
    fields = {"supplier": supplier, "by": manager, "at": AT}
    add_closure(from_on=date(2026, 12, 20), to_on=date(2027, 1, 4), **fields)
    with pytest.raises(Refused):
        add_closure(from_on=date(2026, 12, 20), to_on=date(2026, 12, 20), **fields)
    with pytest.raises(Refused, match="Seven characters"):
        add_supplier(
            showroom=manager.showroom,
            name="Other",
            delivery_weekdays="12",
            by=manager,
            at=AT,
        )
