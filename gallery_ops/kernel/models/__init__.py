"""Tables that know nothing of water, stock or tasks."""

from gallery_ops.kernel.models.alert import Alert, HarmClass
from gallery_ops.kernel.models.audit import AuditEntry
from gallery_ops.kernel.models.base import BASE_UNIT_LIMIT, Fact, Named, Period, ShowroomRow
from gallery_ops.kernel.models.device import (
    ApiToken,
    Device,
    EnrolmentCode,
    EnrolmentTry,
    SignInTry,
)
from gallery_ops.kernel.models.person import (
    Membership,
    Person,
    Role,
    Skill,
    SkillGrant,
    SkillRevocation,
)
from gallery_ops.kernel.models.showroom import Closure, Epoch, Showroom
from gallery_ops.kernel.models.work import Heartbeat, WorkItem

__all__ = [
    "BASE_UNIT_LIMIT",
    "Alert",
    "ApiToken",
    "AuditEntry",
    "Closure",
    "Device",
    "EnrolmentCode",
    "EnrolmentTry",
    "Epoch",
    "Fact",
    "HarmClass",
    "Heartbeat",
    "Membership",
    "Named",
    "Period",
    "Person",
    "Role",
    "Showroom",
    "ShowroomRow",
    "SignInTry",
    "Skill",
    "SkillGrant",
    "SkillRevocation",
    "WorkItem",
]
