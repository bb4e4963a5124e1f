"""The care of a tank goes on when its glass is replaced: what is due, and when it was done last."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services.work import want_work
from gallery_ops.kernel.values.day import business_day
from maintenance.models import DueTask, Stop
from tanks.models import Tank


@transaction.atomic
def care_goes_on(*, old: Tank, new: Tank, by: Membership, at: datetime) -> None:
    """Due tasks are about the tank, whatever glass it has: they follow, done ones too.

    What was done and by whom is not touched, so a rule that counts from done counts on. Stops of
    today's rounds lead to the new glass; those of days before keep the old one.
    """
    showroom = old.showroom
    require(by, "plan.change", in_=showroom)
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    DueTask.objects.of(showroom).filter(tank=old).update(tank=new, subject_key=f"tank:{new.pk}")
    Stop.objects.of(showroom).filter(tank=old, round__business_on__gte=today).update(tank=new)
    want_work(showroom, "due_tasks", at=at)
