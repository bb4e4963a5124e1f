"""The ground floor: showroom, people, devices, alerts, audit, work."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate, pre_migrate


class KernelConfig(AppConfig):
    name = "gallery_ops.kernel"
    label = "kernel"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Have the database's own guards put in place by every migrate."""
        from gallery_ops.kernel import guards

        pre_migrate.connect(guards.lift_before_migrate, dispatch_uid="kernel.guards.lift")
        post_migrate.connect(guards.install_after_migrate, dispatch_uid="kernel.guards.install")
