"""Work that a PIN signed for where nobody could check it: somebody who may says that it was so.

Without a network a PIN names a person and proves nothing. Work that asks for C3 is applied all the
same, because it was done, and waits here for a word (``services/proof`` says which work does).
"""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services.alerts import Wanted, sync_alerts
from gallery_ops.kernel.services.audit import record_audit
from gallery_ops.kernel.services.work import want_work
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.text import clean_text
from maintenance.models import Completion, CompletionConfirmed
from maintenance.queries.confirming import to_confirm
from maintenance.services.completions import take_back_completion

KIND = "to_confirm"
ALERT_AFTER = timedelta(days=2)
LONGEST_WORD = 200
NAMED = 40


@transaction.atomic
def confirm_completion(
    *, completion: Completion, was_so: bool, text: str, by: Membership, at: datetime
) -> CompletionConfirmed:
    """Say that this work was done as it was signed for, or that it was not.

    What was not so is taken back, and its task is due again; both facts stay. The same word twice
    changes nothing.

    Raises
    ------
    Refused
        ``nothing_to_confirm`` for work that waits for no word; ``confirmed_already`` where somebody
        said the contrary; ``no_reason`` where it was not so and nothing says why
    """
    require(by, "correct", in_=completion.showroom)
    row = Completion.objects.select_for_update(of=("self",)).get(pk=completion.pk)
    said = CompletionConfirmed.objects.filter(completion=row).select_related("person").first()
    if said is not None and said.was_so == was_so:
        return said
    if said is not None:
        raise Refused("confirmed_already", _("%(who)s has settled this.") % {"who": said.person})
    stands = Completion.objects.standing().filter(pk=row.pk, to_confirm=True).exists()
    if not stands:
        raise Refused("nothing_to_confirm", _("Nobody has to confirm this (any more)."))
    text = _words(text, is_needed=not was_so)
    made = CompletionConfirmed.objects.create(
        showroom=row.showroom,
        completion=row,
        was_so=was_so,
        text=text,
        done_at=at,
        done_at_corrected=at,
        entered_at=at,
        person=by.person,
    )
    record_audit(
        showroom=row.showroom,
        by=by,
        at=at,
        deed="completion.confirmed" if was_so else "completion.denied",
        subject_kind="task",
        subject_key=str(row.due_task.uid),
        reason=text,
    )
    if not was_so:
        take_back_completion(completion=row, by=by, at=at)
    want_work(row.showroom, KIND, at=at)
    return made


def review(showroom: Showroom, at: datetime) -> None:
    """One open alert while work waits for a word longer than two days, none otherwise."""
    old = [row for row in to_confirm(showroom)[: NAMED + 1] if row.entered_at <= at - ALERT_AFTER]
    wanted = {}
    if old:
        wanted["all"] = Wanted(
            harm_class="B",
            subject_kind="showroom",
            subject_key=showroom.code,
            sentence=_(
                "Work that asks for C3 was signed for without the network and nobody has said that "
                "it was so: %(what)s."
            )
            % {"what": _listed(old[:3])},
            because=[
                {
                    "what": "to_confirm",
                    "task": row.due_task.template.name,
                    "by": row.person.given_name,
                    "at": row.done_at_corrected,
                }
                for row in old[:NAMED]
            ],
        )
    sync_alerts(showroom=showroom, kind=KIND, wanted=wanted, at=at)


def _listed(rows: list[Completion]) -> str:
    return "; ".join(
        _("%(task)s, %(who)s") % {"task": row.due_task.template.name, "who": row.person.given_name}
        for row in rows
    )


def _words(text: str, *, is_needed: bool) -> str:
    try:
        text = clean_text(text, field=_("Why"), longest=LONGEST_WORD)
    except OutOfRange as error:
        raise Refused.from_range(error, field="text") from None
    if is_needed and not text:
        sentence = _("Why: say in a few words what was not so.")
        raise Refused("no_reason", sentence, {"text": sentence})
    return text
