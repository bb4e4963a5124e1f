"""Versions of a layout and what its designer approved of each.

1.0 is what is flooded first. A minor version is a group planted anew, a major one a changed
hardscape (more than a fifth of its mass) or a new focal point; a rescape is a new layout.
"""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction

from gallery_ops.kernel.errors import Forbidden, Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import may, require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.services.checking import write_new
from gallery_ops.kernel.values.day import business_day
from tanks.models import Layout, LayoutVersion
from tanks.queries.label_text import label_text

REASON_LONGEST = 200


@transaction.atomic
def begin_version(
    *, layout: Layout, kind: str, reason: str, by: Membership, at: datetime
) -> LayoutVersion:
    """A new number for what stands now, and what changed.

    Parameters
    ----------
    kind : ``minor`` or ``major``

    Raises
    ------
    Refused
        another kind, no reason, a layout that is closed.
    """
    require(by, "plan.change", in_=layout.showroom)
    layout = Layout.objects.select_for_update().get(pk=layout.pk)
    if kind not in {"minor", "major"}:
        raise Refused(
            "no_kind",
            "Which kind of version? Nothing was chosen.",
            {"kind": "Allowed: minor for plants, major for stone, wood or a new focal point."},
            "A rescape is a new layout.",
        )
    said = reason.strip()
    if not 0 < len(said) <= REASON_LONGEST:
        raise Refused(
            "no_reason",
            "What changed? It must be said in a few words.",
            {"reason": f"1 to {REASON_LONGEST} characters, such as: group 2 planted anew."},
        )
    if layout.to_at is not None:
        raise Refused("layout_closed", "This layout is closed: it gets no new version.")
    last = layout.versions.order_by("-major", "-minor").first()
    layout.versions.still().update(to_at=at)
    major, minor = (last.major, last.minor) if last else (1, -1)
    row = LayoutVersion(
        showroom=layout.showroom,
        layout=layout,
        major=major + (kind == "major"),
        minor=0 if kind == "major" else minor + 1,
        reason=said,
        from_at=at,
    )
    write_new(row)
    audit.record(
        by=by,
        at=at,
        deed="layout.version",
        subject=row,
        after={"version": f"{row.major}.{row.minor}", "reason": said},
    )
    return row


@transaction.atomic
def approve_label(
    *, layout: Layout, approved_by: str, approved_on: date, by: Membership, at: datetime
) -> LayoutVersion:
    """Its designer, or who else is named, approved name, words and parts as they stand now.

    They are frozen with the version; visitors and the printed label show them, and nothing that
    changes later, until somebody approves again. A guest designer approves their own.

    Raises
    ------
    Refused
        nobody named, a day to come, a closed layout.
    """
    _may_approve(layout, by)
    layout = (
        Layout.objects.select_for_update(of=("self",)).select_related("designer").get(pk=layout.pk)
    )
    name = approved_by.strip()
    if not 0 < len(name) <= 120:
        raise Refused(
            "nobody_named",
            "Who approved it? Nobody was named.",
            {"approved_by": "1 to 120 characters: the designer, or who stands in."},
        )
    showroom = layout.showroom
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    if approved_on > today:
        raise Refused(
            "day_to_come",
            f"Approved on {approved_on:%-d %B %Y}: that day is still to come.",
            {"approved_on": "Today or earlier."},
        )
    version = freeze_label(layout=layout, approved_by=name, approved_on=approved_on, at=at)
    if version is None:
        raise Refused("layout_closed", "This layout is closed: nothing of it is approved any more.")
    layout.published_at = layout.published_at or at
    layout.approved_on, layout.approved_as = approved_on, name
    layout.save(update_fields=["published_at", "approved_on", "approved_as"])
    audit.record(
        by=by,
        at=at,
        deed="label.approved",
        subject=version,
        after={
            "version": f"{version.major}.{version.minor}",
            "approved_by": name,
            "approved_on": approved_on,
        },
    )
    return version


def freeze_label(
    *, layout: Layout, approved_by: str, approved_on: date | None, at: datetime
) -> LayoutVersion | None:
    """Keep the words and parts of now with the open version; None where none is open.

    For services that have asked for the rights and hold the layout's row.
    """
    version: LayoutVersion | None = layout.versions.still().order_by("-from_at", "-pk").first()
    if version is None:
        return None
    version.frozen_label = {
        "approved_by": approved_by,
        "approved_on": approved_on.isoformat() if approved_on else None,
        "label": label_text(layout, at),
    }
    version.save(update_fields=["frozen_label"])
    return version


def _may_approve(layout: Layout, by: Membership) -> None:
    if may(by, "plan.change", in_=layout.showroom):
        return
    require(by, "layout.read_own", in_=layout.showroom)
    designer = layout.designer
    if designer is None or designer.person_id != by.person_id:
        raise Forbidden(
            "not_own_layout",
            "This layout is not credited to you.",
            remedy="Its designer or the manager approves it.",
        )
