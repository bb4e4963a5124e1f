"""Glass, places, layouts, readings."""

from django.apps import AppConfig


class TanksConfig(AppConfig):
    name = "tanks"
    label = "tanks"
    default_auto_field = "django.db.models.BigAutoField"
