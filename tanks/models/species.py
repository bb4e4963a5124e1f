"""Plants and animals by their names; each fact of a species carries its source."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.utils.translation import gettext_lazy as _


class Species(models.Model):
    """A species or cultivar, named as Darwin Core names them; shared by all showrooms."""

    scientific_name = models.CharField(max_length=120, unique=True)
    vernacular_name = models.CharField(max_length=120, blank=True)
    trade_names = models.JSONField(default=list, blank=True)
    kingdom = models.CharField(
        max_length=8, choices=[("plant", _("plant")), ("animal", _("animal"))]
    )
    adult_size_mm = models.PositiveIntegerField(null=True, blank=True)
    shoal_min_count = models.PositiveIntegerField(null=True, blank=True)
    facts = models.JSONField(default=dict, blank=True)
    sources = models.JSONField(default=dict, blank=True)

    class Meta:
        verbose_name_plural = "species"
        ordering: ClassVar[list[Any]] = ["scientific_name"]

    def __str__(self) -> str:
        return self.scientific_name
