"""A person's answer to what the projection found: from then on its days are taken as explained."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Unpack

from django.db import transaction
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import may, require
from gallery_ops.kernel.services import audit
from inventory.models import Container, StockFinding, WhatWasFound
from inventory.services import ledger
from inventory.services.said import (
    Said,
    columns_of_taking_back,
    fact_columns,
    local_day,
    moment_of,
)
from inventory.services.wanting import measured

LONGEST_WORDS = 300


@transaction.atomic
def answer_finding(
    *,
    container: Container,
    what: str,
    from_on: date,
    last_on: date | None,
    by: Membership,
    at: datetime,
    amount_base: int | None = None,
    words: str = "",
    **said: Unpack[Said],
) -> StockFinding:
    """Write down what was found about a stretch of days; the alert closes at the next look.

    Parameters
    ----------
    what : one of ``WhatWasFound``
    from_on : first day that it touched
    last_on : last day that it touched; None where it happened once on the first day, or still goes
        on (a leak)
    amount_base : what went beside the plan, in base units, where that is known
    words : in the words of who found it

    Raises
    ------
    Forbidden
        without the right to correct or to answer alerts.
    Refused
        ``unknown_answer``, ``not_yet``, ``ends_before_it_begins``, ``below_nothing``,
        ``too_long`` naming the field.
    """
    showroom = container.showroom
    if not may(by, "correct", in_=showroom, at=at):
        require(by, "alert.answer", in_=showroom, at=at)
    if container.voided_at is not None:
        raise Unknown("container")
    container = ledger.lock([container])[container.pk]  # the same said twice takes turns
    known = _known(container, said)
    if known is not None:
        return known
    _check(what, from_on, last_on, local_day(showroom, moment_of(at, said)))
    _check_more(amount_base, words)
    row: StockFinding = StockFinding.objects.create(
        **fact_columns(showroom, by, at, said),
        container=container,
        what=what,
        from_on=from_on,
        to_on=last_on + timedelta(days=1) if last_on else None,
        amount_base=amount_base,
        words=words.strip(),
    )
    audit.record(
        by=by, at=at, deed="finding.answered", subject=container,
        after={"what": what, "from": from_on.isoformat(), "last": last_on and last_on.isoformat()},
        reason=words.strip()[:200],
    )  # fmt: skip
    measured(showroom, at, container.item, container)
    return row


@transaction.atomic
def take_back_finding(
    *, finding: StockFinding, by: Membership, at: datetime, **said: Unpack[Said]
) -> StockFinding:
    """It was a slip: those days are open again. Both rows stay."""
    showroom = finding.showroom
    if not may(by, "correct", in_=showroom, at=at):
        require(by, "alert.answer", in_=showroom, at=at)
    ledger.lock([finding.container])
    known: StockFinding | None = StockFinding.objects.filter(corrects=finding).first()
    if known is not None:
        return known
    if finding.takes_back:
        raise Refused("undo_of_undo", _("This entry only takes back another: answer again."))
    row: StockFinding = StockFinding.objects.create(
        **columns_of_taking_back(finding, by, at, said),
        container=finding.container,
        what=finding.what,
        from_on=finding.from_on,
        to_on=finding.to_on,
        amount_base=finding.amount_base,
        words=finding.words,
    )
    audit.record(
        by=by, at=at, deed="finding.taken_back", subject=finding.container,
        before={"what": finding.what, "from": finding.from_on.isoformat()},
    )  # fmt: skip
    measured(showroom, at, finding.container.item, finding.container)
    return row


def _check(what: str, from_on: date, last_on: date | None, today: date) -> None:
    if what not in WhatWasFound.values:
        raise Refused(
            "unknown_answer",
            _("What was found: %(what)s is not one of the answers.") % {"what": what[:40]},
            {"what": _("Choose one of the answers.")},
            _("Choose “nothing found” if none fits, and say more in words."),
        )
    if from_on > today or (last_on is not None and last_on > today):
        raise Refused(
            "not_yet",
            _("Days: %(day)s has not come yet.") % {"day": f"{max(from_on, last_on or from_on)}"},
            {"from_on": _("Allowed: until today, %(day)s.") % {"day": f"{today}"}},
            _("Enter the days on which it happened."),
        )
    if last_on is not None and last_on < from_on:
        raise Refused(
            "ends_before_it_begins",
            _("Last day: %(last)s lies before the first, %(first)s.")
            % {"last": f"{last_on}", "first": f"{from_on}"},
            {"last_on": _("Allowed: the first day or a later one.")},
            _("Correct one of the two."),
        )


def _check_more(amount_base: int | None, words: str) -> None:
    if amount_base is not None and amount_base < 0:
        raise Refused(
            "below_nothing",
            _("Amount: less than nothing is not allowed."),
            {"amount": _("Allowed: 0 or more; leave it empty if nobody knows.")},
            _("Enter what went beside the plan."),
        )
    if len(words.strip()) > LONGEST_WORDS:
        raise Refused(
            "too_long",
            _("Words: %(n)d characters are too many.") % {"n": len(words.strip())},
            {"words": _("Allowed: up to %(most)d characters.") % {"most": LONGEST_WORDS}},
            _("Say it shorter."),
        )


def _known(container: Container, said: Said) -> StockFinding | None:
    if said.get("action_id") is None:
        return None
    known: StockFinding | None = (
        StockFinding.objects.of(container.showroom).filter(action_id=said["action_id"]).first()
    )
    return known
