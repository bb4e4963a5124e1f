"""What stands in the tables of the ground floor? Read only: only services write."""

from __future__ import annotations

from typing import Any, ClassVar

from django.contrib import admin
from django.db import models
from django.http import HttpRequest

from gallery_ops.kernel.models import (
    Alert,
    ApiToken,
    AuditEntry,
    Closure,
    Device,
    Heartbeat,
    Membership,
    Person,
    Showroom,
    SignInTry,
    SkillGrant,
    SkillRevocation,
    WorkItem,
)

SECRETS = {"password", "token_hash", "code_hash", "pin_salt", "pin_base"}


class ReadOnlyAdmin(admin.ModelAdmin):  # type: ignore[type-arg]  # not subscriptable at run time
    """Shows a table and changes nothing; secrets and their hashes stay out of sight."""

    list_per_page: ClassVar[int] = 50
    show_full_result_count: ClassVar[bool] = False

    def get_exclude(self, request: HttpRequest, obj: Any = None) -> list[str]:
        return [field.name for field in self.opts.fields if field.name in SECRETS]

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


_SHOWN: dict[type[models.Model], tuple[str, ...]] = {
    Showroom: ("code", "name", "zone", "currency"),
    Closure: ("showroom", "reason", "from_on", "to_on"),
    Person: ("login", "name", "is_active"),
    Membership: ("showroom", "person", "role", "from_at", "to_at"),
    SkillGrant: ("showroom", "person", "skill", "signed_off_on", "expires_on"),
    SkillRevocation: ("showroom", "grant", "revoked_on"),
    Device: ("showroom", "name", "seen_at", "revoked_at", "last_seq"),
    ApiToken: ("showroom", "name", "membership", "expires_at", "revoked_at"),
    SignInTry: ("showroom", "person", "device", "at", "right"),
    Alert: ("showroom", "harm_class", "sentence", "opened_at", "closed_at"),
    AuditEntry: ("showroom", "at", "person", "deed", "subject_kind", "subject_key"),
    WorkItem: ("showroom", "kind", "subject", "due_at", "taken_at", "done_at", "tries"),
    Heartbeat: ("kind", "seen_at", "planned_at"),
}

for _model, _columns in _SHOWN.items():
    _related = tuple(
        name for name in _columns if isinstance(_model._meta.get_field(name), models.ForeignKey)
    )
    admin.site.register(
        _model,
        type(
            f"{_model.__name__}Admin",
            (ReadOnlyAdmin,),
            {"list_display": _columns, "list_select_related": _related or False},
        ),
    )
