"""The showroom: the tenant that every other row belongs to, with its clock, language and money."""

from __future__ import annotations

from typing import Any, ClassVar
from zoneinfo import ZoneInfo

from django.core.validators import RegexValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models.base import ShowroomRow


class Showroom(models.Model):
    """One gallery. A chain has many; none sees another's rows."""

    code = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=120)
    place = models.CharField(max_length=120, blank=True)
    zone = models.CharField(max_length=64, help_text=_("IANA time zone, such as Europe/London"))
    language = models.CharField(max_length=16, default="en")
    decimal_mark = models.CharField(max_length=1, default=".")
    currency = models.CharField(max_length=3, validators=[RegexValidator(r"^[A-Z]{3}$")])
    country = models.CharField(max_length=2, validators=[RegexValidator(r"^[A-Z]{2}$")])
    cut_off_hour = models.PositiveSmallIntegerField(default=4)
    opens_at = models.TimeField()
    closes_at = models.TimeField()
    round_from_at = models.TimeField(help_text=_("When the opening round begins"))
    address = models.CharField(max_length=300, blank=True)
    telephones = models.JSONField(
        default=list, blank=True, help_text=_("Numbers to ring: list of {name, number}")
    )

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(
                condition=Q(decimal_mark__in=[".", ","]),
                name="showroom_decimal_mark_is_point_or_comma",
                violation_error_message=_("The decimal mark is a point or a comma."),
            ),
            models.CheckConstraint(
                condition=Q(cut_off_hour__lte=11),
                name="showroom_cut_off_is_before_noon",
                violation_error_message=_("The business day ends between 0 and 11 o'clock."),
            ),
            models.CheckConstraint(
                condition=Q(closes_at__gt=F("opens_at")),
                name="showroom_closes_after_it_opens",
                violation_error_message=_("Doors must close after they open."),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def tz(self) -> ZoneInfo:
        """The zone as an object."""
        return ZoneInfo(self.zone)


class Closure(ShowroomRow):
    """Days on which the doors stay shut to visitors; the animals are never closed."""

    from_on = models.DateField()
    to_on = models.DateField(help_text=_("First day open again"))
    reason = models.CharField(max_length=120)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(
                condition=Q(to_on__gt=F("from_on")),
                name="closure_ends_after_it_begins",
                violation_error_message=_(
                    "The first open day must lie after the first closed one."
                ),
            )
        ]

    def __str__(self) -> str:
        return f"{self.reason}, {self.from_on}"


class Epoch(models.Model):
    """The random identity of this database; a restore makes a new one, so that tablets re-offer."""

    token = models.UUIDField(unique=True)
    since_at = models.DateTimeField()

    def __str__(self) -> str:
        return str(self.token)
