"""The work that keeps tasks and overdue alerts up to date; each piece may run twice or late."""

from __future__ import annotations

from datetime import datetime

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.register import job
from gallery_ops.kernel.values.day import business_day
from maintenance.services import (
    confirming,
    decline_alerts,
    double_doses,
    given_alerts,
    handover_alerts,
    incident_alerts,
    log_alerts,
    restored_alerts,
    skip_alerts,
)
from maintenance.services import due_tasks as due_tasks_service
from maintenance.services import overdue as overdue_service
from maintenance.services import quick_rounds as quick_rounds_service
from maintenance.services.rounds import ensure_rounds


@job("due_tasks", every_s=900)
def due_tasks(showroom: Showroom, subject: str, at: datetime) -> None:
    """Make today's and the coming days' due tasks what they should be."""
    del subject  # always the whole showroom
    due_tasks_service.ensure(showroom=showroom, at=at)
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    ensure_rounds(showroom=showroom, on=today, at=at)


@job("overdue", every_s=120)
def overdue(showroom: Showroom, subject: str, at: datetime) -> None:
    """Open and close the overdue alerts."""
    del subject  # always the whole showroom
    overdue_service.review(showroom=showroom, at=at)


@job("double_dose", every_s=900)
def double_dose(showroom: Showroom, subject: str, at: datetime) -> None:
    """Ask about second doses of a day."""
    del subject  # always the whole showroom
    double_doses.review(showroom, at)


@job("given_stopped", every_s=900)
def given_stopped(showroom: Showroom, subject: str, at: datetime) -> None:
    """Ask about what was given while an emergency had stopped giving."""
    del subject  # always the whole showroom
    given_alerts.review(showroom, at)


@job("skips", every_s=900)
def skips(showroom: Showroom, subject: str, at: datetime) -> None:
    """Tell the manager of skips that somebody else has to mend."""
    del subject  # always the whole showroom
    skip_alerts.review(showroom, at)


@job("decline", every_s=3600)
def decline(showroom: Showroom, subject: str, at: datetime) -> None:
    """Tell of layouts that grow old."""
    del subject  # always the whole showroom
    decline_alerts.review(showroom, at)


@job("handover", every_s=300)
def handover(showroom: Showroom, subject: str, at: datetime) -> None:
    """Tell the manager of a handover that nobody has read an hour into the next shift."""
    del subject  # always the whole showroom
    handover_alerts.review(showroom, at)


@job("quick_rounds", every_s=900)
def quick_rounds(showroom: Showroom, subject: str, at: datetime) -> None:
    """Tell the manager of a round that was walked too quickly to look."""
    del subject  # always the whole showroom
    quick_rounds_service.review(showroom, at)


@job("two_versions", every_s=900)
def two_versions(showroom: Showroom, subject: str, at: datetime) -> None:
    """Tell of entries that a tablet sent in two versions."""
    del subject  # always the whole showroom
    log_alerts.review(showroom, at)


@job("incidents", every_s=900)
def emergencies(showroom: Showroom, subject: str, at: datetime) -> None:
    """Open and close the alerts of emergencies; each tap does so at once, this makes up for it."""
    del subject  # always the whole showroom
    incident_alerts.review(showroom, at)


@job("to_confirm", every_s=3600)
def to_confirm(showroom: Showroom, subject: str, at: datetime) -> None:
    """Tell of work that was signed for without the network and that nobody has confirmed."""
    del subject  # always the whole showroom
    confirming.review(showroom, at)


@job("restored", every_s=900)
def restored(showroom: Showroom, subject: str, at: datetime) -> None:
    """Tell of tablets that have not offered again what they did since a backup."""
    del subject  # always the whole showroom
    restored_alerts.review(showroom, at)
