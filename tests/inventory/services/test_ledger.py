"""Is a balance the sum of movements whatever happens, in whatever order it is entered?

The ledger is held against a second account of the same deeds, kept in plain Python: deeds sorted by
when they were done, a use takes away, a measurement sets the level. It knows nothing of movements.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

import pytest
from django.db import IntegrityError, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from gallery_ops.kernel.guards import guard_named
from gallery_ops.kernel.values.quantity import Mass, Volume
from inventory.models import Movement, MovementKind
from inventory.queries.levels import balance_base, levels
from inventory.services import ledger
from inventory.services.counting import count, take_back_movement, waste
from inventory.services.decant import decant
from inventory.services.use import take_back_use, use_dose
from inventory.services.weighing import record_weighing, take_back_weighing
from tests.builders.gallery import AT, a_person, a_showroom, a_tank
from tests.builders.stock import a_bottle, a_fertiliser, a_scale, feeds

pytestmark = pytest.mark.django_db

MINUTES = st.integers(min_value=1, max_value=600)
DEEDS = st.lists(
    st.one_of(
        st.tuples(st.just("use"), MINUTES, st.integers(min_value=1, max_value=30_000)),
        st.tuples(st.just("waste"), MINUTES, st.integers(min_value=1, max_value=30_000)),
        st.tuples(st.just("weigh"), MINUTES, st.integers(min_value=65_000, max_value=590_000)),
        st.tuples(st.just("count"), MINUTES, st.integers(min_value=0, max_value=500_000)),
        st.tuples(st.just("undo"), st.integers(min_value=0, max_value=9), st.just(0)),
    ),
    min_size=1,
    max_size=9,
    unique_by=lambda deed: (deed[0] == "undo", deed[1]),
)
SLOW = [HealthCheck.function_scoped_fixture, HealthCheck.too_slow]


@dataclass
class Account:
    """One deed as the second account keeps it."""

    done_at: datetime
    sets: bool
    amount: int
    fact: object
    stands: bool = True


def level_by(account: list[Account], start: int) -> int:
    """The level that follows from deeds in the order in which they were done."""
    level = start
    for deed in sorted((one for one in account if one.stands), key=lambda one: one.done_at):
        level = deed.amount if deed.sets else level - deed.amount
    return level


class Bench:
    """A bottle on which deeds are done, and the second account of them."""

    def __init__(self) -> None:
        self.showroom = a_showroom()
        self.item = a_fertiliser(self.showroom)
        self.tank = a_tank(showroom=self.showroom)
        self.scale = a_scale(self.showroom)
        self.by = a_person("senior_carer", showroom=self.showroom)
        self.heard_at = AT + timedelta(days=1)
        self.bottle = a_bottle(self.item)
        feeds(self.bottle, purpose="dose", tank=self.tank)
        self.account: list[Account] = []

    def do(self, kind: str, number: int, amount: int) -> None:
        if kind == "undo":
            self.undo(number)
            return
        done_at = AT + timedelta(minutes=number)
        said = {"by": self.by, "at": self.heard_at, "done_at": done_at}
        if kind == "use":
            given_ = Volume(amount)
            fact = use_dose(tank=self.tank, item=self.item, given=given_, **said)
            self.account.append(Account(done_at, False, amount, fact))
        elif kind == "waste":
            fact = waste(container=self.bottle, amount=Volume(amount), reason="spilled", **said)
            self.account.append(Account(done_at, False, amount, fact))
        elif kind == "weigh":
            gross = Mass(amount)
            fact = record_weighing(container=self.bottle, gross=gross, scale=self.scale, **said)
            self.account.append(Account(done_at, True, fact.net_base, fact))
        else:
            fact = count(container=self.bottle, counted=Volume(amount), **said)
            self.account.append(Account(done_at, True, amount, fact))

    def undo(self, number: int) -> None:
        standing = [one for one in self.account if one.stands]
        if not standing:
            return
        deed = standing[number % len(standing)]
        said = {"by": self.by, "at": self.heard_at}
        name = type(deed.fact).__name__
        if name == "Use":
            take_back_use(use=deed.fact, **said)
        elif name == "Weighing":
            take_back_weighing(weighing=deed.fact, **said)
        else:
            take_back_movement(movement=deed.fact, **said)
        deed.stands = False


@settings(max_examples=40, deadline=None, suppress_health_check=SLOW)
@given(deeds=DEEDS)
def test_the_ledger_agrees_with_a_second_account_in_any_order_of_entering(deeds):
    bench = Bench()
    for kind, number, amount in deeds:
        bench.do(kind, number, amount)
        balance = balance_base(bench.bottle)
        assert type(balance) is int
        rows = Movement.objects.filter(container=bench.bottle)
        assert balance == sum(rows.values_list("amount_base", flat=True))
        assert balance == level_by(bench.account, 500_000)


@settings(max_examples=15, deadline=None, suppress_health_check=SLOW)
@given(amounts=st.lists(st.integers(min_value=1, max_value=300_000), min_size=1, max_size=6))
def test_decanting_to_and_fro_conserves_the_item(amounts):
    showroom = a_showroom()
    item = a_fertiliser(showroom)
    by = a_person(showroom=showroom)
    one = a_bottle(item, capacity=Volume.l(5), content=Volume.l(2))
    other = a_bottle(item, capacity=Volume.l(5), content=Volume.l(1))
    for nth, amount in enumerate(amounts):
        source, into = (one, other) if nth % 2 else (other, one)
        decant(source=source, into=into, amount=Volume(amount), by=by, at=AT)
        assert balance_base(one) + balance_base(other) == 3_000_000
    found = levels(showroom, AT + timedelta(hours=1))
    assert sum(level.ledger_base for level in found.values()) == 3_000_000
    assert all(type(level.base) is int for level in found.values())


@settings(max_examples=15, deadline=None, suppress_health_check=SLOW)
@given(amounts=st.lists(st.integers(min_value=1, max_value=40_000), min_size=1, max_size=6))
def test_undoing_every_use_gives_back_exactly_what_was_there(amounts):
    bench = Bench()
    uses = [
        use_dose(
            tank=bench.tank, item=bench.item, given=Volume(amount), by=bench.by, at=bench.heard_at
        )
        for amount in amounts
    ]
    assert balance_base(bench.bottle) == 500_000 - sum(amounts)
    for use in uses:
        take_back_use(use=use, by=bench.by, at=bench.heard_at)
    assert balance_base(bench.bottle) == 500_000


def test_a_second_movement_of_one_use_is_refused_by_the_database():
    bench = Bench()
    use = use_dose(
        tank=bench.tank, item=bench.item, given=Volume.ml(3), by=bench.by, at=bench.heard_at
    )
    with pytest.raises(IntegrityError), transaction.atomic():
        ledger.post(
            item=bench.item,
            kind=MovementKind.USE,
            amount=Volume.ml(-3),
            container=bench.bottle,
            use=use,
            by=bench.by,
            at=bench.heard_at,
            said={},
        )
    assert balance_base(bench.bottle) == 497_000


def test_a_movement_is_never_changed_and_never_deleted():
    bench = Bench()
    rows = Movement.objects.filter(container=bench.bottle)
    for change in (lambda: rows.update(amount_base=1), rows.delete):
        with pytest.raises(IntegrityError) as caught, transaction.atomic():
            change()
        assert guard_named(caught.value) is not None
    assert balance_base(bench.bottle) == 500_000
