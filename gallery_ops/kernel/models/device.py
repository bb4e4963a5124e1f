"""Tablets, programs and tries to sign in: who may knock at this door, and who did."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models.base import ShowroomRow


class Device(ShowroomRow):
    """A tablet or phone that a manager enrolled. Its token is kept only as a hash."""

    uid = models.UUIDField(unique=True)
    name = models.CharField(max_length=80)
    token_hash = models.CharField(max_length=64, unique=True)
    pin_salt = models.BinaryField(max_length=16)
    offered_epoch = models.UUIDField(
        null=True, blank=True, help_text=_("Of which database it last said that nothing waits")
    )
    capability = models.CharField(max_length=20, default="rounds")
    enrolled_by = models.ForeignKey("kernel.Person", on_delete=models.PROTECT, related_name="+")
    enrolled_at = models.DateTimeField()
    seen_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_seq = models.BigIntegerField(default=0)
    clock_offset_ms = models.BigIntegerField(default=0)

    def __str__(self) -> str:
        return self.name


class EnrolmentCode(ShowroomRow):
    """A short code with which one tablet may enrol itself, for ten minutes, once."""

    code_hash = models.CharField(max_length=64, unique=True)
    made_by = models.ForeignKey("kernel.Person", on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)
    device = models.ForeignKey(Device, on_delete=models.PROTECT, null=True, blank=True)

    def __str__(self) -> str:
        return f"enrolment code until {self.expires_at}"


class EnrolmentTry(models.Model):
    """A code that enrolled nothing was tried, of no showroom; the address only as a keyed hash."""

    address_hash = models.CharField(max_length=64)
    at = models.DateTimeField()

    class Meta:
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["at", "address_hash"], name="enrolment_tries_lately")
        ]

    def __str__(self) -> str:
        return f"wrong code, {self.at}"


class SignInTry(ShowroomRow):
    """Somebody tried a PIN here; after five wrong ones in a row that name rests on that device."""

    is_fact: ClassVar[bool] = True

    person = models.ForeignKey("kernel.Person", on_delete=models.PROTECT, related_name="+")
    device = models.ForeignKey(Device, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    right = models.BooleanField()
    told_by_tablet = models.BooleanField(
        default=False, help_text=_("Tried without network, and told by the tablet later")
    )

    class Meta:
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["person", "device", "-at"], name="sign_in_tries_lately"),
            models.Index(
                fields=["device", "-at"],
                condition=Q(right=True, told_by_tablet=False),
                name="signed_in_on_device",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person} on {self.device}: {'right' if self.right else 'wrong'}"


class ApiToken(ShowroomRow):
    """A program that may ask for what one membership may; only the hash of the token is kept."""

    name = models.CharField(max_length=80)
    membership = models.ForeignKey("kernel.Membership", on_delete=models.PROTECT, related_name="+")
    scopes = models.JSONField(default=list)
    token_hash = models.CharField(max_length=64, unique=True)
    made_by = models.ForeignKey("kernel.Person", on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "name"],
                condition=Q(revoked_at__isnull=True),
                name="one_open_token_per_name",
                violation_error_message=_("A token of this name is in use: choose another name."),
            )
        ]

    def __str__(self) -> str:
        return self.name
