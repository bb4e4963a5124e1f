"""What waits for somebody: alerts and due tasks."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from gallery_ops.api.filters import AlertFilter, DueTaskFilter
from gallery_ops.api.serializers.work import AlertSerializer, DueTaskSerializer
from gallery_ops.api.views.rows import RowsView
from gallery_ops.kernel.queries.alerts import alert_by_uid, all_alerts
from gallery_ops.kernel.services.alerts import acknowledge
from inventory.queries.listing import codes_of_keys
from maintenance.queries.listing import due_tasks_listed


class AlertRows(RowsView):
    """Alerts."""

    serializer_class = AlertSerializer

    def rows(self) -> Any:
        """Open ones first."""
        return all_alerts(self.asker.showroom)

    def extras(self, rows: list[Any]) -> dict[str, Any]:
        """Codes of what the alerts of this page are about."""
        keys = {row.subject_key for row in rows}
        return {"codes": codes_of_keys(self.asker.showroom, keys)}


class AlertsView(AlertRows):
    """All alerts."""

    filterset_class = AlertFilter

    def get(self, request: Request) -> Response:
        """Alerts, open ones first, then by harm class."""
        return self.page()


class AlertView(AlertRows):
    """One alert."""

    filter_backends: Any = []
    lookup_field = "uid"

    def get(self, request: Request, uid: UUID) -> Response:
        """The alert of this uid."""
        return self.one("alert", uid=uid)


class AcknowledgeView(AlertRows):
    """Somebody takes care of an alert; it stays open until its cause is gone."""

    filter_backends: Any = []
    lookup_field = "uid"
    rights = {"POST": "alert.answer"}

    @extend_schema(request=None, responses={200: AlertSerializer})
    def post(self, request: Request, uid: UUID) -> Response:
        """Say that the asker takes care of it; saying it twice changes nothing."""
        showroom, member = self.asker.showroom, self.asker.person
        alert = alert_by_uid(showroom, uid)
        acknowledge(showroom=showroom, cause_key=alert.cause_key, by=member, at=self.at)
        return self.one("alert", uid=uid)


class DueTasksView(RowsView):
    """Tasks by the moment they are due."""

    serializer_class = DueTaskSerializer
    filterset_class = DueTaskFilter

    def rows(self) -> Any:
        """Those that still count."""
        return due_tasks_listed(self.asker.showroom, self.at)

    def get(self, request: Request) -> Response:
        """Due tasks, the earliest first."""
        return self.page()


class DueTaskView(RowsView):
    """One due task."""

    serializer_class = DueTaskSerializer
    filter_backends: Any = []
    lookup_field = "uid"

    def rows(self) -> Any:
        """Those that still count."""
        return due_tasks_listed(self.asker.showroom, self.at)

    def get(self, request: Request, uid: UUID) -> Response:
        """The due task of this uid."""
        return self.one("task", uid=uid)
