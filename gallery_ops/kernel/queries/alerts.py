"""Which alerts wait for somebody, and which closed by themselves?"""

from __future__ import annotations

from uuid import UUID

from django.db.models import Count, F, QuerySet
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Alert, Showroom


def open_alerts(
    showroom: Showroom, *, kind: str | None = None, harm_class: str | None = None
) -> QuerySet[Alert]:
    """Open alerts: worst harm class first, then the oldest."""
    rows: QuerySet[Alert] = Alert.objects.of(showroom).filter(closed_at=None)
    if kind is not None:
        rows = rows.filter(kind=kind)
    if harm_class is not None:
        rows = rows.filter(harm_class=harm_class)
    return rows.select_related("acknowledged_by").order_by("harm_class", "opened_at", "pk")


def closed_alerts(showroom: Showroom) -> QuerySet[Alert]:
    """Alerts whose cause is gone, the latest first."""
    rows: QuerySet[Alert] = (
        Alert.objects.of(showroom)
        .exclude(closed_at=None)
        .select_related("acknowledged_by")
        .order_by("-closed_at", "-pk")
    )
    return rows


def all_alerts(showroom: Showroom) -> QuerySet[Alert]:
    """Open ones first, by harm class and age, then closed ones, the latest first."""
    rows: QuerySet[Alert] = (
        Alert.objects.of(showroom)
        .select_related("acknowledged_by")
        .order_by(F("closed_at").desc(nulls_first=True), "harm_class", "opened_at", "pk")
    )
    return rows


def alert_by_uid(showroom: Showroom, uid: UUID) -> Alert:
    """The alert that programs name so, open or closed. Raises Unknown."""
    found = all_alerts(showroom).filter(uid=uid).first()
    if found is None:
        raise Unknown(_("alert"))
    return found


def open_alert(showroom: Showroom, cause_key: str) -> Alert:
    """The open alert of this cause. Raises Unknown."""
    found = open_alerts(showroom).filter(cause_key=cause_key).first()
    if found is None:
        raise Unknown(_("open alert"), _("It may have closed by itself; look at the list again."))
    return found


def alerts_about(showroom: Showroom, subject_kind: str, subject_key: str) -> QuerySet[Alert]:
    """Open alerts about one subject."""
    return open_alerts(showroom).filter(subject_kind=subject_kind, subject_key=subject_key)


def open_count_by_class(showroom: Showroom) -> dict[str, int]:
    """Harm class -> number of open alerts; classes without any are left out. One query."""
    counted = (
        Alert.objects.of(showroom)
        .filter(closed_at=None)
        .order_by()
        .values_list("harm_class")
        .annotate(Count("pk"))
    )
    return dict(counted)
