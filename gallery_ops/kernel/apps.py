"""The ground floor: showroom, people, devices, alerts, audit, work."""

from django.apps import AppConfig


class KernelConfig(AppConfig):
    name = "gallery_ops.kernel"
    label = "kernel"
    default_auto_field = "django.db.models.BigAutoField"
