"""A picture somebody took, known by the hash of its bytes; private until a person reviewed it."""

from __future__ import annotations

from typing import Any, ClassVar

from django.core.validators import RegexValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import Fact, Named, ShowroomRow
from tanks.models.layout import Layout
from tanks.models.tank import Tank


class Photo(Named, ShowroomRow):
    """What the picture is of. Its bytes lie in the data folder and may come later, in pieces.

    ``sha256`` is of the bytes the device sent; ``kept_sha256`` of what is kept after place and
    maker of the camera were taken out again here.
    """

    sha256 = models.CharField(max_length=64, validators=[RegexValidator(r"^[0-9a-f]{64}$")])
    kept_sha256 = models.CharField(max_length=64, blank=True)
    size_bytes = models.PositiveBigIntegerField()
    received_bytes = models.PositiveBigIntegerField(default=0)
    media_type = models.CharField(
        max_length=20,
        choices=[("image/jpeg", "JPEG"), ("image/png", "PNG"), ("image/webp", "WebP")],
    )
    viewpoint = models.CharField(max_length=20, blank=True)
    subject = models.CharField(max_length=80, blank=True, help_text=_("such as receipt:12:3"))
    tank = models.ForeignKey(
        Tank, on_delete=models.PROTECT, null=True, blank=True, related_name="photos"
    )
    layout = models.ForeignKey(
        Layout, on_delete=models.PROTECT, null=True, blank=True, related_name="photos"
    )
    taken_at = models.DateTimeField()
    taken_by = models.ForeignKey("kernel.Person", on_delete=models.PROTECT, related_name="+")
    action_id = models.UUIDField(null=True, blank=True)
    whole_at = models.DateTimeField(null=True, blank=True, help_text=_("All bytes are here"))
    refused_because = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "action_id"],
                condition=Q(action_id__isnull=False),
                name="one_photo_per_action",
            ),
            models.CheckConstraint(
                condition=Q(received_bytes__lte=F("size_bytes")),
                name="no_more_of_a_photo_than_it_has",
            ),
        ]
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["showroom", "sha256"], name="photos_by_hash"),
            models.Index(fields=["showroom", "tank", "-taken_at"], name="photos_of_tank"),
        ]

    def __str__(self) -> str:
        return f"{self.viewpoint or 'photo'} {self.sha256[:8]}"


class PhotoReview(Fact):
    """A person looked at a photo: private, good for visitors with this credit and text, of another
    tank, or taken by a slip. The last look holds.
    """

    photo = models.ForeignKey(Photo, on_delete=models.PROTECT, related_name="reviews")
    outcome = models.CharField(
        max_length=8,
        choices=[
            ("private", _("stays private")),
            ("public", _("for visitors")),
            ("wrong", _("another tank")),
            ("undone", _("taken back")),
        ],
    )
    from_tank = models.ForeignKey(
        Tank, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    to_tank = models.ForeignKey(
        Tank, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    credit = models.CharField(max_length=120, blank=True)
    alternative_text = models.CharField(max_length=300, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(
                condition=~Q(outcome="public") | (~Q(credit="") & ~Q(alternative_text="")),
                name="a_public_photo_has_credit_and_words",
                violation_error_message=_("For visitors: write who took it and what it shows."),
            )
        ]

    def __str__(self) -> str:
        return f"{self.photo}: {self.outcome}"
