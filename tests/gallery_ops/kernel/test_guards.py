"""Does the database itself refuse to change a fact, and to let two showrooms meet?"""

from collections.abc import Callable
from datetime import UTC, date, datetime, time
from typing import Any

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction

from gallery_ops.kernel import guards
from gallery_ops.kernel.models import (
    Alert,
    AuditEntry,
    Membership,
    Person,
    Showroom,
    SkillGrant,
    SkillRevocation,
)

AT = datetime(2026, 3, 12, 8, 0, tzinfo=UTC)


def a_showroom(code: str) -> Showroom:
    return Showroom.objects.create(
        code=code,
        name=code.title(),
        zone="Europe/London",
        currency="GBP",
        country="GB",
        opens_at=time(10),
        closes_at=time(18),
        round_from_at=time(8),
    )


def an_entry(showroom: Showroom) -> AuditEntry:
    return AuditEntry.objects.create(
        showroom=showroom, at=AT, deed="x", subject_kind="tank", subject_key="T11"
    )


def a_grant(showroom: Showroom, person: Person) -> SkillGrant:
    return SkillGrant.objects.create(
        showroom=showroom,
        person=person,
        skill="C1",
        signed_off_by=person,
        signed_off_on=date(2026, 3, 1),
    )


@pytest.fixture
def here(db: None) -> Showroom:
    return a_showroom("undershore")


@pytest.fixture
def elsewhere(db: None) -> Showroom:
    return a_showroom("elsewhere")


def refusal(deed: Callable[[], Any]) -> tuple[str, str] | None:
    """The guard that refused the deed."""
    with pytest.raises(DatabaseError) as caught, transaction.atomic():
        deed()
    return guards.guard_named(caught.value)


def test_a_fact_is_never_changed(here: Showroom) -> None:
    entry = an_entry(here)
    named = ("fact_never_changes", "kernel_auditentry")
    assert refusal(lambda: AuditEntry.objects.filter(pk=entry.pk).update(reason="y")) == named
    entry.reason = "y"
    assert refusal(entry.save) == named
    assert AuditEntry.objects.get().reason == ""


def test_a_fact_is_never_deleted(here: Showroom) -> None:
    entry = an_entry(here)
    assert refusal(entry.delete) == ("fact_never_deleted", "kernel_auditentry")
    assert AuditEntry.objects.count() == 1


def test_a_row_names_no_row_of_another_showroom(here: Showroom, elsewhere: Showroom) -> None:
    person = Person.objects.create(login="iskra.vann", name="Iskra Vann")
    grant = a_grant(elsewhere, person)
    named = ("other_showroom", "kernel_skillrevocation.grant_id")

    def revoke() -> None:
        SkillRevocation.objects.create(
            showroom=here, grant=grant, revoked_by=person, revoked_on=date(2026, 3, 2)
        )

    assert refusal(revoke) == named


def test_a_row_is_not_moved_to_another_showroom(here: Showroom, elsewhere: Showroom) -> None:
    person = Person.objects.create(login="iskra.vann", name="Iskra Vann")
    works_here = Membership.objects.create(showroom=here, person=person, role="carer", from_at=AT)
    works_here.showroom = elsewhere
    assert refusal(works_here.save) == ("showroom_never_changes", "kernel_membership")


def test_a_thing_may_still_change(here: Showroom) -> None:
    alert = Alert.objects.create(
        showroom=here,
        kind="x",
        cause_key="x:1",
        harm_class="A",
        subject_kind="tank",
        subject_key="T11",
        sentence="s",
        opened_at=AT,
        seen_again_at=AT,
    )
    alert.closed_at = AT
    alert.save()
    alert.delete()
    assert not Alert.objects.exists()


def test_other_errors_are_no_guards(here: Showroom) -> None:
    assert refusal(lambda: a_showroom("undershore")) is None
    assert guards.guard_named(ValueError("other_showroom: x")) is None


def test_every_table_of_facts_and_every_link_between_showroom_tables_is_guarded() -> None:
    found = {one.table: one for one in guards.guarded()}
    for model in apps.get_models():
        if getattr(model, "is_fact", False):
            assert found[model._meta.db_table].is_fact, model
    assert found["kernel_apitoken"].links == (
        guards.Link("membership_id", "kernel_membership", "id"),
    )
    assert not any(link.column == "showroom_id" for one in found.values() for link in one.links)


def triggers() -> set[str]:
    with connection.cursor() as cursor:
        cursor.execute(guards._LISTS[connection.vendor], ["guard_%"])
        return {name for name, _table in cursor.fetchall()}


@pytest.mark.django_db(transaction=True)
def test_guards_are_back_after_the_tables_were_emptied() -> None:
    before = triggers()
    assert before
    an_entry(a_showroom("undershore"))
    guards.lift()
    assert triggers() == set()
    call_command("flush", interactive=False, verbosity=0)
    assert triggers() == before
    entry = an_entry(a_showroom("undershore"))
    assert refusal(entry.delete) == ("fact_never_deleted", "kernel_auditentry")


@pytest.mark.django_db(transaction=True)
def test_guards_survive_a_rebuilt_table() -> None:
    """SQLite drops the triggers of a table that Django rebuilds; migrate lifts and reinstalls."""
    before = triggers()
    guards.lift_before_migrate(using="default")
    field = Membership._meta.get_field("role")
    with connection.schema_editor() as editor:
        longer = type(field)(max_length=25)
        longer.set_attributes_from_name("role")
        longer.model = Membership
        editor.alter_field(Membership, field, longer)
        editor.alter_field(Membership, longer, field)
    guards.install()
    assert triggers() == before


def test_names_of_triggers_are_distinct_and_fit_the_shortest_limit() -> None:
    """PostgreSQL cuts names after 63 bytes (its documentation, section 4.1.1)."""
    long = "maintenance_" + "a" * 60
    assert len(guards._name(long, "no_update")) <= 63
    assert guards._name(long, "no_update") != guards._name(long, "no_delete")
