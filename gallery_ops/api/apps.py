"""All JSON: the endpoints under /api/v1/."""

from django.apps import AppConfig


class ApiConfig(AppConfig):
    name = "gallery_ops.api"
    label = "api"
    default_auto_field = "django.db.models.BigAutoField"
