"""What became of the entries of a file, in the order in which somebody must do something."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from maintenance.actions.saved_file import Judged

MOST_ROWS = 100
KINDS = {
    "check": gettext_noop("look"),
    "unable": gettext_noop("could not be measured"),
    "complete": gettext_noop("done"),
    "undo": gettext_noop("taken back"),
    "move_record": gettext_noop("moved to another tank"),
    "amend": gettext_noop("number put right"),
    "round_open": gettext_noop("round opened"),
    "stop_leave": gettext_noop("left half done"),
    "round_close": gettext_noop("round closed"),
    "weigh": gettext_noop("weighing"),
}
"""Kinds that are not the word for themselves."""
ORDER = ("held", "differs", "malformed", "accepted", "duplicate")


@dataclass(frozen=True, slots=True)
class Row:
    """One entry: what kind, when it was done by the tablet's clock, and why it waits."""

    kind: str
    done_at: datetime | None
    words: str


@dataclass(frozen=True, slots=True)
class Group:
    """Entries with one verdict."""

    verdict: str
    word: str
    count: int
    rows: list[Row]


@dataclass(frozen=True, slots=True)
class Result:
    """The file, by verdict; the first hundred entries of each are named."""

    total: int
    groups: list[Group]
    needs_person: int

    @property
    def stored(self) -> int:
        """So many came in now."""
        return sum(group.count for group in self.groups if group.verdict == "accepted")

    @property
    def before(self) -> int:
        """So many had come in before."""
        return sum(group.count for group in self.groups if group.verdict == "duplicate")


def result_of(judged: list[Judged]) -> Result:
    """By verdict, what needs a person first."""
    said = {
        "held": _("needs a person"),
        "differs": _("two versions, both kept"),
        "malformed": _("cannot be read, report it"),
        "accepted": _("stored"),
        "duplicate": _("counted before"),
    }
    groups = []
    for verdict in ORDER:
        found = [one for one in judged if one.answer.verdict == verdict]
        if found:
            rows = [_row(one) for one in found[:MOST_ROWS]]
            groups.append(Group(verdict, said[verdict], len(found), rows))
    waits = sum(group.count for group in groups if group.verdict in ORDER[:3])
    return Result(len(judged), groups, waits)


def _row(one: Judged) -> Row:
    raw: dict[str, Any] = one.raw if isinstance(one.raw, dict) else {}
    words = " ".join(word for word in (one.answer.words, one.answer.help) if word)
    said = str(raw.get("kind") or "")[:30]
    kind = _(KINDS[said]) if said in KINDS else said.replace("_", " ") or _("entry")
    try:
        done_at = datetime.fromisoformat(str(raw.get("done_at")))
    except ValueError:
        done_at = None
    return Row(kind, done_at if done_at and done_at.tzinfo else None, words)
