"""What is used up, what lives, who delivers."""

from django.apps import AppConfig


class InventoryConfig(AppConfig):
    name = "inventory"
    label = "inventory"
    default_auto_field = "django.db.models.BigAutoField"
