"""What every table of a showroom has in common: its showroom, its period, how a fact is written.

Four abstract classes and nothing else. ``ShowroomRow`` puts a row into its tenant, ``Named`` gives
it a name for programs, ``Period`` the time during which a thing was so, ``Fact`` is something
somebody did or saw. Facts are never changed and never deleted: :mod:`gallery_ops.kernel.guards`
puts that into the database.
"""

from __future__ import annotations

from typing import Any, ClassVar, Self
from uuid import uuid4

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

BASE_UNIT_LIMIT = 10**15
"""Most base units of a single amount (1,000 t, 1,000,000 m3), so that sums stay in 64 bits."""


class ShowroomQuerySet(models.QuerySet[Any]):
    """The filters that every table of a showroom understands."""

    def of(self, showroom: Any) -> Self:
        """Rows of this showroom only: the first filter of every query."""
        return self.filter(showroom=showroom)


class Named(models.Model):
    """A row that programs and tablets may name: by ``uid``, never by its key."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)

    class Meta:
        abstract = True


class ShowroomRow(models.Model):
    """A row that belongs to one showroom and is never seen from another."""

    showroom = models.ForeignKey("kernel.Showroom", on_delete=models.PROTECT, related_name="+")

    objects: ClassVar[Any] = ShowroomQuerySet.as_manager()

    class Meta:
        abstract = True


class PeriodQuerySet(ShowroomQuerySet):
    """Rows that were so for a while."""

    def at(self, moment: Any) -> Self:
        """Rows whose period holds ``moment`` (aware); half-open, so an end is already the next."""
        return self.filter(from_at__lte=moment).filter(Q(to_at__isnull=True) | Q(to_at__gt=moment))

    def still(self) -> Self:
        """Rows whose period has no end yet."""
        return self.filter(to_at__isnull=True)


class Period(ShowroomRow):
    """A half-open period, ``from_at`` to ``to_at``; an empty end means that it is still so."""

    from_at = models.DateTimeField()
    to_at = models.DateTimeField(null=True, blank=True)

    objects: ClassVar[Any] = PeriodQuerySet.as_manager()

    class Meta:
        abstract = True
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(
                condition=Q(to_at__isnull=True) | Q(to_at__gte=F("from_at")),
                name="%(app_label)s_%(class)s_ends_after_it_begins",
                violation_error_message=_(
                    "The end lies before the beginning: correct one of them."
                ),
            )
        ]


class FactQuerySet(ShowroomQuerySet):
    """Facts, and those of them that still stand."""

    def standing(self) -> Self:
        """Facts that no later one corrected or took back, without the ones that only take back."""
        return self.filter(takes_back=False, corrected_by__isnull=True)


class Fact(ShowroomRow):
    """Something done or seen, by whom and when; written once, corrected only by a further fact.

    ``done_at`` is what was said, ``done_at_corrected`` the same with the clock offset of the
    device taken off, ``entered_at`` when this database heard of it. ``action_id`` is the UUID that
    the device gave the action, shared by all facts that follow from it.
    """

    is_fact: ClassVar[bool] = True

    done_at = models.DateTimeField()
    done_at_corrected = models.DateTimeField()
    entered_at = models.DateTimeField()
    person = models.ForeignKey("kernel.Person", on_delete=models.PROTECT, related_name="+")
    device = models.ForeignKey(
        "kernel.Device", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    action_id = models.UUIDField(null=True, blank=True)
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )
    takes_back = models.BooleanField(
        default=False, help_text=_("It undoes the fact that it corrects and says nothing itself")
    )

    objects: ClassVar[Any] = FactQuerySet.as_manager()

    class Meta:
        abstract = True
