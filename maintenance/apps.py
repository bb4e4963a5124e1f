"""Who does what when, and what was done."""

from django.apps import AppConfig


class MaintenanceConfig(AppConfig):
    name = "maintenance"
    label = "maintenance"
    default_auto_field = "django.db.models.BigAutoField"
