"""An entry that waits, in words: what was written, what is asked, what each choice would do."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gallery_ops.kernel.values.quantity import Mass, Volume
from maintenance.actions.context import Names

Body = Mapping[str, Any]
LONGEST_QUOTE = 300
LONGEST_RAW = 120
"""So much of an entry that cannot be read is shown."""
OF_KIND = {"animal": "A", "feed": "A", "check": "A", "dose": "B", "weigh": "B"}
"""Class of an entry that names no task (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing that may hold, with its effect; ``who_may`` in words where the person may not."""

    key: str
    title: str
    effect: str
    asks_reason: bool = False
    who_may: str = ""


def quote(kind: str, body: Body, names: Names, containers: Mapping[str, str]) -> str:
    """What was written, as one would say it. Units are those of the tablet."""
    told = QUOTES.get(kind)
    words = told(body, names, containers) if told else ""
    extra = str(body.get("text") or body.get("note") or "")
    if extra and extra not in words:
        words = f"{words}, {extra}" if words else extra
    return (words or kind.replace("_", " "))[:LONGEST_QUOTE]


def title(code: str, outcome: str, kind: str, task: str) -> str:
    """What is asked about it."""
    if outcome == "differs":
        return _("One entry, two versions")
    if outcome == "malformed":
        return _("An entry that cannot be read")
    if code == "out_of_range" and kind in {"dose", "feed"}:
        return _("Far above the plan?")
    asked = {
        "ask_again": _("Is it really so?"),
        "ask_full": _("Is it really so full?"),
        "out_of_range": _("A number that cannot be"),
        "wrong_skill": _("%(task)s, without the skill for it") % {"task": task or _("A task")},
        "stopped": _("Given while giving was stopped?"),
        "needs_senior": _("Another person's entry, or another day's"),
        "other_task": _("An entry that does not do its task"),
        "no_look": _("An entry that does not do its task"),
        "not_skilled": _("Handed to somebody without the skill"),
        "not_empty": _("Is this tank empty?"),
        "unknown": _("What does it belong to?"),
        "task_elsewhere": _("Which tank was it?"),
        "device_revoked": _("From a tablet out of service"),
        "too_early": _("From a day to come?"),
        "too_old": _("From long ago?"),
        "too_late": _("Taken back too late"),
        "program_fault": _("The program failed here"),
    }
    return str(asked.get(code, _("Does this count?")))


def effect(code: str, when: str, who: str) -> tuple[str, str]:
    """Name and effect of letting it count as written."""
    told = {
        "wrong_skill": (
            _("I sign for it"),
            _("Task done %(when)s, signed by %(who)s") % {"when": when, "who": who},
        ),
        "out_of_range": (
            _("So much was given"),
            _("Leaves the stock, %(when)s; then follow the card for a wrong dose") % {"when": when},
        ),
        "stopped": (
            _("It was given all the same"),
            _("Leaves the stock, %(when)s; tell whoever looks after the emergency")
            % {"when": when},
        ),
        "other_task": (
            _("Count the entry alone"),
            _("Counts %(when)s; the task stays due") % {"when": when},
        ),
        "not_skilled": (
            _("Hand it over all the same"),
            _("The task stays due, and goes to the person who was named"),
        ),
        "not_empty": (
            _("It is empty"),
            _("The task is left out; write down where animals and plants went"),
        ),
        "unknown": (_("Try it again"), _("Counts if its thing is known by now, else it waits on")),
        "program_fault": (_("Try it again"), _("Counts if it can by now, else it waits on")),
    }
    if code in told:
        return told[code]
    name = _("Yes, really") if code.startswith("ask_") else _("Yes, it was so")
    return name, _("Counts as written, %(when)s") % {"when": when}


def _dose(body: Body, names: Names, _containers: Mapping[str, str]) -> str:
    presses, given = body.get("presses"), Volume(int(body["given_ul"])).text()
    item = _item(body, names)
    if presses:
        pressed = ngettext("%(n)d press", "%(n)d presses", presses) % {"n": presses}
        return _("gave %(pressed)s, %(given)s%(item)s") % {
            "pressed": pressed, "given": given, "item": item,
        }  # fmt: skip
    return _("gave %(given)s%(item)s") % {"given": given, "item": item}


def _feed(body: Body, names: Names, _containers: Mapping[str, str]) -> str:
    given = Mass(int(body["given_mg"])).text()
    return _("fed %(given)s%(item)s") % {"given": given, "item": _item(body, names)}


def _item(body: Body, names: Names) -> str:
    found = names.items.get(str(body.get("product") or "").lower())
    return _(" of %(item)s") % {"item": found.name} if found else ""


def _check(body: Body, _names: Names, _containers: Mapping[str, str]) -> str:
    value = str(body.get("text") or body.get("value") or "").replace("_", " ")
    unit = f" {body['unit']}" if body.get("unit") else ""
    return f"{str(body['check']).replace('_', ' ')}, {value}{unit}"


def _weigh(body: Body, _names: Names, containers: Mapping[str, str]) -> str:
    name = containers.get(body["container"], body["container"])
    return _("weighed %(name)s, %(mass)s") % {
        "name": name, "mass": Mass(int(body["gross_mg"])).text(),
    }  # fmt: skip


def _task(words: str) -> Callable[[Body, Names, Mapping[str, str]], str]:
    def told(body: Body, names: Names, _containers: Mapping[str, str]) -> str:
        task = names.tasks.get(str(body.get("task") or "").lower())
        name = task.template.name if task else _("a task")
        minutes = body.get("minutes")
        more = [_("%(n)d min") % {"n": minutes}] if minutes else []
        more += [str(body["reason"]).replace("_", " ")] if body.get("reason") else []
        return ", ".join([_(words), name, *more])

    return told


def _animal(body: Body, _names: Names, _containers: Mapping[str, str]) -> str:
    count = body.get("count")
    return f"{body['what']}, {count}" if count else str(body["what"])


def _undo(_body: Body, _names: Names, _containers: Mapping[str, str]) -> str:
    return _("take back what I wrote")


def _move(body: Body, _names: Names, _containers: Mapping[str, str]) -> str:
    return _("that was tank %(tank)s: %(why)s") % {"tank": body["tank"], "why": body["reason"]}


def _amend(body: Body, _names: Names, _containers: Mapping[str, str]) -> str:
    return _("another number was meant: %(why)s") % {"why": body["reason"]}


def _incident(body: Body, _names: Names, _containers: Mapping[str, str]) -> str:
    what = body.get("step") or body.get("how") or _("card opened")
    told = [str(body["card"]), str(what), *([str(body["line"])] if body.get("line") else [])]
    return ", ".join(one.replace("_", " ") for one in told)


QUOTES: Mapping[str, Callable[[Body, Names, Mapping[str, str]], str]] = {
    "amend": _amend,
    "animal": _animal,
    "check": _check,
    "complete": _task("complete"),
    "dose": _dose,
    "feed": _feed,
    "incident_close": _incident,
    "incident_open": _incident,
    "incident_step": _incident,
    "move_record": _move,
    "skip": _task("skip"),
    "undo": _undo,
    "weigh": _weigh,
}
