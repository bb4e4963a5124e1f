"""Which alerts are open? Makes the stored set equal to the wanted one; a person may answer one.

Each alert exists once while its cause stands, also with two workers at once: a partial unique
constraint holds it, inserts ignore the conflict, and closing is one conditional update.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Alert, HarmClass, Membership, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services.audit import plain, record_audit

LONGEST_KEY = 120
LONGEST_SENTENCE = 300


@dataclass(frozen=True, slots=True)
class Wanted:
    """An alert that should be open.

    Parameters
    ----------
    harm_class : A, B, C or D
    subject_kind, subject_key : what it is about, such as ``item`` and ``carbon``, for links
    sentence : what a person must know, in one sentence of at most 300 characters
    because : list of ``{"what": key, ...figures}``, which a page turns into sentences
    order_by_on : last local date to order, if that is what it asks for
    """

    harm_class: str
    subject_kind: str
    subject_key: str
    sentence: str
    because: list[dict[str, Any]] = field(default_factory=list)
    order_by_on: date | None = None

    def __post_init__(self) -> None:
        if self.harm_class not in HarmClass.values:
            raise ValueError(f"{self.harm_class!r} is no harm class; A, B, C and D are.")
        if len(self.sentence) > LONGEST_SENTENCE:
            raise ValueError(f"An alert's sentence has at most {LONGEST_SENTENCE} characters.")


@dataclass(frozen=True, slots=True)
class Synced:
    """What one run changed: keys of the causes."""

    opened: frozenset[str]
    altered: frozenset[str]
    closed: frozenset[str]


def sync_alerts(
    *,
    showroom: Showroom,
    kind: str,
    wanted: Mapping[str, Wanted],
    at: datetime,
    subject_keys: Collection[str] | None = None,
) -> Synced:
    """Make the open alerts of a kind equal to the wanted ones.

    Parameters
    ----------
    kind : such as ``reorder``
    wanted : cause key -> alert; a key is stored as ``kind:key`` unless it begins so already
    at : the instant (aware) of opening and closing
    subject_keys : if given, only alerts about these subjects are compared, and the others of the
    kind
        stay as they are; then ``wanted`` must be about these subjects only

    Running it again, at once or late, changes nothing more. Six queries at most, however many
    alerts.
    """
    by_key = {cause_key(kind, key): one for key, one in wanted.items()}
    if subject_keys is not None:
        strangers = {w.subject_key for w in by_key.values()} - set(subject_keys)
        if strangers:
            raise ValueError(f"Alerts about other subjects than asked for: {sorted(strangers)}")
    with transaction.atomic():
        stored = Alert.objects.of(showroom).filter(kind=kind, closed_at=None)
        if subject_keys is not None:
            stored = stored.filter(subject_key__in=list(subject_keys))
        known: dict[str, Alert] = {alert.cause_key: alert for alert in stored}
        fresh = {key: one for key, one in by_key.items() if key not in known}
        Alert.objects.bulk_create(
            [_row(showroom, kind, key, one, at) for key, one in fresh.items()],
            ignore_conflicts=True,
        )
        altered = _alter(known, by_key)
        kept = [alert.pk for key, alert in known.items() if key in by_key]
        Alert.objects.filter(pk__in=kept, closed_at=None).update(seen_again_at=at)
        gone = {key: alert.pk for key, alert in known.items() if key not in by_key}
        Alert.objects.filter(pk__in=gone.values(), closed_at=None).update(closed_at=at)
    return Synced(frozenset(fresh), altered, frozenset(gone))


def acknowledge(*, showroom: Showroom, cause_key: str, by: Membership, at: datetime) -> Alert:
    """Say that somebody takes care of the open alert of this cause; saying it twice changes
    nothing.

    It stays open until its cause is gone. Raises Forbidden, or Unknown when no such alert is open.
    """
    require(by, "alert.answer", in_=showroom, at=at)
    with transaction.atomic():
        open_one = Alert.objects.of(showroom).filter(cause_key=cause_key, closed_at=None)
        taken = open_one.filter(acknowledged_at=None).update(
            acknowledged_at=at, acknowledged_by=by.person_id
        )
        alert: Alert | None = open_one.select_related("acknowledged_by").first()
        if alert is None:
            raise Unknown(
                _("open alert"), _("It may have closed by itself; look at the list again.")
            )
        if taken:
            record_audit(
                showroom=showroom,
                by=by,
                at=at,
                deed="alert.acknowledge",
                subject_kind="alert",
                subject_key=cause_key[:60],
            )
    return alert


def cause_key(kind: str, key: str) -> str:
    """The key under which a cause is stored.

    >>> cause_key("reorder", "item:7"), cause_key("reorder", "reorder:item:7")
    ('reorder:item:7', 'reorder:item:7')
    """
    whole = key if key.startswith(f"{kind}:") else f"{kind}:{key}"
    if len(whole) > LONGEST_KEY:
        raise ValueError(f"A cause key has at most {LONGEST_KEY} characters: {whole}")
    return whole


def _contents(one: Wanted) -> dict[str, Any]:
    return {
        "harm_class": one.harm_class,
        "subject_kind": one.subject_kind,
        "subject_key": one.subject_key,
        "sentence": one.sentence,
        "because": plain(one.because),
        "order_by_on": one.order_by_on,
    }


def _row(showroom: Showroom, kind: str, key: str, one: Wanted, at: datetime) -> Alert:
    return Alert(
        showroom=showroom,
        kind=kind,
        cause_key=key,
        opened_at=at,
        seen_again_at=at,
        **_contents(one),
    )


def _alter(known: Mapping[str, Alert], wanted: Mapping[str, Wanted]) -> frozenset[str]:
    """Bring open alerts up to date whose words or figures changed."""
    altered: dict[str, Alert] = {}
    fields: list[str] = []
    for key, alert in known.items():
        if key not in wanted:
            continue
        contents = _contents(wanted[key])
        fields = list(contents)
        if any(getattr(alert, name) != value for name, value in contents.items()):
            for name, value in contents.items():
                setattr(alert, name, value)
            altered[key] = alert
    if altered:
        Alert.objects.bulk_update(altered.values(), fields, batch_size=200)
    return frozenset(altered)
