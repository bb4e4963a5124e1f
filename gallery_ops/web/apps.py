"""All HTML: the pages, their parts and files."""

from django.apps import AppConfig


class WebConfig(AppConfig):
    name = "gallery_ops.web"
    label = "web"

    def ready(self) -> None:
        """Load the Celery app in every process, so that each can wake the worker."""
        from gallery_ops import celery  # noqa: F401 - the import is the deed
