"""Does the admin only show, and never a secret?"""

from typing import Any

import pytest
from django.contrib import admin
from django.db.models import Model
from django.test import Client
from django.urls import reverse

from gallery_ops.kernel.admin import SECRETS
from gallery_ops.kernel.models import Person
from gallery_ops.kernel.services.tokens import make_token
from tests.builders.people import AT, a_device, a_showroom, an_owner

SHOWN = [model for model in admin.site._registry if model._meta.app_label == "kernel"]


@pytest.fixture
def reader(db: None, client: Client, settings: Any) -> Client:
    """Somebody who may look at everything."""
    settings.AUTHENTICATION_BACKENDS = ["django.contrib.auth.backends.ModelBackend"]
    client.force_login(Person.objects.create_superuser("reader", "Reader", "a long secret 9"))
    return client


@pytest.mark.parametrize("model", SHOWN)
def test_every_list_opens_and_nothing_can_be_added_or_changed(
    model: type[Model], reader: Client
) -> None:
    owner = an_owner(a_showroom())
    a_device(owner)
    make_token(
        showroom=owner.showroom, membership=owner, name="t", scopes=["read"], by=owner, at=AT
    )
    where = f"admin:kernel_{model._meta.model_name}"
    assert reader.get(reverse(f"{where}_changelist")).status_code == 200
    assert reader.get(reverse(f"{where}_add")).status_code == 403
    row = model._default_manager.first()
    if row is None:
        return
    change = reverse(f"{where}_change", args=[row.pk])
    shown = reader.get(change)
    assert shown.status_code == 200
    assert "field-" in shown.content.decode()
    assert reader.post(change, {}).status_code == 403
    assert reader.post(reverse(f"{where}_delete", args=[row.pk])).status_code == 403
    for field in SECRETS & {field.name for field in model._meta.fields}:
        value = getattr(row, field)
        assert not value or str(value) not in shown.content.decode()
        assert f"field-{field}" not in shown.content.decode()


def test_all_tables_but_the_ones_without_interest_are_shown() -> None:
    assert len(SHOWN) == 13
