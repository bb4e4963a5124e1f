"""What must be read off a cylinder before it may stand in the house, and what is refused of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.queries.people import skills_of
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.quantity import Mass
from inventory.models import Container, CylinderDetail, Item, ItemKind
from tanks.science.cylinder_tests import RULES, TYPED, next_test

TWO_PEOPLE_FROM = Mass.kg(5)
"""Fill of a cylinder that nobody moves alone (common practice, no source)."""
LARGEST_FILL = Mass.kg(60)
OLDEST_TEST_YEARS = 40


@dataclass(frozen=True, slots=True)
class NewCylinder:
    """What is read off a cylinder that comes into the house.

    Parameters
    ----------
    serial : stamped on it
    tare : stamped on it, without regulator
    fill : gas in a full one
    stamp : the test stamp, letter by letter as it was read
    tested_on : the day of the last test, as the stamp says
    test_rule : the named rule by which the next test is set, ``typed`` when the day itself was
        read; empty when nobody stated any
    next_test_on : only with ``typed``; a named rule works it out
    regulator : mass of the regulator that stays on when it is weighed; None if it comes off
    is_exchange : handed in against another one; False for one's own that is refilled
    content : gas in it now, for one that was begun before it was entered; full when left out
    held_by : chain, strap, bracket; place : plinth, recess, cage
    """

    serial: str
    tare: Mass
    fill: Mass
    tested_on: date | None = None
    next_test_on: date | None = None
    regulator: Mass | None = None
    is_exchange: bool = True
    name: str = ""
    content: Mass | None = None
    stamp: str = ""
    test_rule: str = ""
    held_by: str = ""
    place: str = ""


def check_new(item: Item, cylinder: NewCylinder, today: date) -> None:
    """Raise Refused for an item that is no gas and for a stamp that says too little or too much."""
    if item.kind != ItemKind.GAS or item.dimension != "mass":
        raise Refused("no_gas", f"{item.name} does not come in cylinders.", {"item": "CO2."})
    check_stamp(cylinder.serial, cylinder.tare, cylinder.fill)
    check_test(cylinder.tested_on, cylinder.next_test_on, cylinder.test_rule, today)
    check_serial_is_new(item.showroom, cylinder.serial)


def check_stamp(serial: str, tare: Mass, fill: Mass) -> None:
    """Serial, tare and fill are on every cylinder."""
    if not serial.strip():
        raise Refused(
            "serial_missing",
            "Serial: nothing was given.",
            {"serial": "The number stamped on the cylinder."},
            "Read it off the shoulder of the cylinder.",
        )
    if tare.mg <= 0:
        raise Refused(
            "no_tare",
            "Tare: nothing was given.",
            {"tare": "More than 0 g, as stamped on the cylinder."},
            "Read it off the stamp; each cylinder has its own.",
        )
    if not 0 < fill.mg <= LARGEST_FILL.mg:
        raise Refused(
            "fill_out_of_range",
            f"Fill: {fill.text()} is not allowed.",
            {"fill": f"Allowed: more than 0 g, up to {LARGEST_FILL.text()}."},
            "Read the largest filling off the stamp.",
        )


def check_serial_is_new(showroom: Showroom, serial: str, *, but: Container | None = None) -> None:
    """No two cylinders of one serial stand in the house."""
    known = Container.objects.of(showroom).filter(
        cylinder__serial__iexact=serial.strip(), finished_on=None, voided_at=None
    )
    if but is not None:
        known = known.exclude(pk=but.pk)
    if known.exists():
        raise Refused(
            "serial_here",
            f"A cylinder with the serial {serial.strip()} is in the house already.",
            {"serial": "The number stamped on the new one."},
            "Compare both stamps; if the old one left, exchange or finish it first.",
        )


def check_test(tested_on: date | None, next_test_on: date | None, rule: str, today: date) -> None:
    """A test lies behind us, the next one after it, and a rule is one of those with a name."""
    if tested_on is not None and not today.year - OLDEST_TEST_YEARS <= tested_on.year:
        raise _no_test("The year of the last test lies too far back.")
    if tested_on is not None and tested_on > today:
        raise _no_test(f"{tested_on:%-d %B %Y} is still to come.")
    if rule and rule != TYPED and rule not in RULES:
        names = ", ".join(row.name for row in RULES.values())
        raise Refused(
            "unknown_rule",
            "Rule for the next test: this is none of those with a name.",
            {"test_rule": f"Allowed: {names}; or the day as stamped."},
        )
    if rule in RULES and tested_on is None:
        raise _no_test("Without it a rule has nothing to count from.")
    if rule == TYPED and next_test_on is None:
        raise Refused(
            "no_next_test",
            "Next test: nothing was given.",
            {"next_test_on": "The day that the stamp or the paper says."},
            "Or choose the rule by which it is set.",
        )
    if next_test_on is not None and tested_on is not None and next_test_on <= tested_on:
        raise Refused(
            "next_test_before_test",
            f"Next test: {next_test_on:%-d %B %Y} is not after the last test.",
            {"next_test_on": f"A day after {tested_on:%-d %B %Y}."},
            "Read both off the stamp again.",
        )


def _no_test(why: str) -> Refused:
    return Refused(
        "bad_test_date",
        f"Last test: {why}",
        {"tested_on": "The day that the stamp says, today or before."},
        "Read the stamp again. Without a stamp that can be read the cylinder goes back.",
    )


def next_test_of(tested_on: date | None, next_test_on: date | None, rule: str) -> date | None:
    """The day of the next test: by the named rule, or as it was typed; None when nobody said."""
    if rule in RULES and tested_on is not None:
        try:
            return next_test(tested_on, rule)
        except OutOfRange as no:
            raise Refused.from_range(no, field="test_rule") from None
    return next_test_on


def check_may_be_filled(
    serial: str, next_test_on: date | None, today: date, *, deed: str = "refilled"
) -> None:
    """No cylinder whose test has run out, or whose next test nobody stated, is filled."""
    if next_test_on is None:
        raise Refused(
            "next_test_unknown",
            f"{serial} is not {deed}: nobody wrote down when its next test is due.",
            {"next_test_on": "Needed before a fill."},
            "Read the stamp, then choose the rule or type the day.",
        )
    if next_test_on <= today:
        raise Refused(
            "test_ran_out",
            f"{serial} is not {deed}: its test ran out on {next_test_on:%-d %B %Y}.",
            {"next_test_on": f"A day after {today:%-d %B %Y}."},
            "It goes to be tested, or back to the supplier. Do not use it.",
        )


def check_two_people(fill: Mass, by: Membership, second: Membership | None, what: str) -> None:
    """A cylinder of 5 kg or more is never moved by one person alone."""
    if fill < TWO_PEOPLE_FROM:
        return
    if second is None or second.person_id == by.person_id:
        raise Refused(
            "second_person",
            f"{what} holds {fill.text()}: from {TWO_PEOPLE_FROM.text()} on two people move it.",
            {"second": "Somebody else who is there."},
            "Nobody moves it alone. Use the trolley.",
        )
    if second.showroom_id != by.showroom_id:
        raise Refused(
            "second_person",
            "Second person: nobody of that name works here.",
            {"second": "Somebody else who is there."},
        )


def require_c3(by: Membership, today: date) -> None:
    """Only who is signed off for gas works on a cylinder that stands under pressure."""
    if "C3" not in skills_of(by, today):
        raise Refused(
            "wrong_skill",
            f"This needs C3, and {by.person.name} is not signed off for it.",
            {},
            "Somebody with C3 does it, or a manager signs the skill off.",
        )


def detail_of(container: Container) -> CylinderDetail:
    """What is known of a cylinder. Raises Refused for a container that is none."""
    found: CylinderDetail | None = CylinderDetail.objects.filter(container=container).first()
    if found is None:
        raise Refused(
            "no_cylinder", f"{container} is no cylinder.", {"container": "Choose a cylinder."}
        )
    return found
