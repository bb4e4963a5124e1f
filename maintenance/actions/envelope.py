"""Is this what a tablet sends? The shape of the request and of each action, before anything else.

The shape stands once, in ``outbox.schema.json``; here it is only asked. Whatever arrives is
untrusted: sizes and depth are bounded, whole numbers are whole, instants are real ones between 2000
and 2100, text has no NUL and nothing that no database can keep.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any, TypeGuard
from uuid import UUID

from jsonschema import Draft202012Validator, validators
from jsonschema.exceptions import ValidationError

from gallery_ops.kernel.errors import Refused

MOST_ACTIONS = 100
MOST_BYTES = 512 * 1024
LONGEST_ACTION = 60_000
DEEPEST_ACTION = 20
HIGHEST_SEQ = 2**53 - 1
EARLIEST = datetime(2000, 1, 1, tzinfo=UTC)
LATEST = datetime(2100, 1, 1, tzinfo=UTC)
AHEAD = timedelta(days=1)

Raw = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Request:
    """One batch: who sent it, when by its own clock, and the actions as they came."""

    device_id: str
    epoch: str
    sent_at: datetime
    boot_id: str
    monotonic_ms: int
    actions: list[Any]


@dataclass(frozen=True, slots=True)
class Envelope:
    """One action that has the right shape."""

    action_id: UUID
    device_id: str
    seq: int
    kind: str
    round_id: str
    stop_id: str
    task_id: str
    person_id: str
    person_proof: str
    done_at: datetime
    boot_id: str
    monotonic_ms: int
    plan_version: str
    corrects: UUID | None
    body: Raw
    canonical: str
    sha256: str


class Malformed(ValueError):
    """Not an action; ``action_id`` where one could be read."""

    def __init__(self, words: str, action_id: str | None) -> None:
        self.action_id = action_id
        super().__init__(words)


def read_request(body: object) -> Request:
    """The batch.

    Raises
    ------
    Refused
        ``unreadable`` when the request itself has not the shape of one; single actions are judged
        one by one and never make the whole unreadable.
    """
    if not isinstance(body, dict):
        raise Refused("unreadable", "The request is not a JSON object.")
    shell = {**body, "actions": []}
    actions = body.get("actions")
    if not isinstance(actions, list) or len(actions) > MOST_ACTIONS:
        raise Refused(
            "unreadable",
            "The request has no list of actions, or too long a one.",
            {"actions": f"Allowed: a list of at most {MOST_ACTIONS}."},
            "Send the oldest first, in smaller parts.",
        )
    trouble = _first_trouble("request", shell)
    if trouble:
        raise Refused("unreadable", "The request has not the shape of one.", {"request": trouble})
    return Request(
        device_id=shell["device_id"],
        epoch=shell["epoch"],
        sent_at=_instant(shell["sent_at"]),
        boot_id=shell["boot_id"],
        monotonic_ms=shell["monotonic_ms"],
        actions=actions,
    )


def read_action(raw: object) -> Envelope:
    """One action.

    Raises
    ------
    Malformed
        when it has not the shape of one; what was sent is not thrown away by the sender.
    """
    action_id = raw.get("action_id") if isinstance(raw, dict) else None
    known = action_id if _is_plain(action_id) else None
    if _is_deep(raw):
        raise Malformed("It is nested too deeply.", known)
    try:
        canonical = canonical_json(raw)
        json.dumps(raw, ensure_ascii=False).encode()  # half of a character pair cannot be kept
    except (TypeError, ValueError):
        raise Malformed("It is not JSON that can be kept.", known) from None
    if len(canonical) > LONGEST_ACTION or "\\u0000" in canonical:
        raise Malformed("It is too long, or holds a character that no text has.", known)
    trouble = _first_trouble("action", raw)
    if trouble or not isinstance(raw, dict):
        raise Malformed(trouble or "It is not an object.", known)
    if raw["seq"] > HIGHEST_SEQ:
        raise Malformed("seq: it is larger than any device has counted.", known)
    try:
        done_at = _instant(raw["done_at"])
        parsed_id = UUID(raw["action_id"])
        corrects = UUID(raw["corrects"]) if raw["corrects"] else None
    except (ValueError, Refused) as error:
        raise Malformed(str(error), known) from None
    return Envelope(
        action_id=parsed_id,
        device_id=raw["device_id"],
        seq=raw["seq"],
        kind=raw["kind"],
        round_id=raw["round_id"] or "",
        stop_id=raw["stop_id"] or "",
        task_id=raw["task_id"] or "",
        person_id=raw["person_id"],
        person_proof=raw["person_proof"],
        done_at=done_at,
        boot_id=raw["boot_id"],
        monotonic_ms=raw["monotonic_ms"],
        plan_version=raw["plan_version"] or "",
        corrects=corrects,
        body=raw["body"],
        canonical=canonical,
        sha256=hashlib.sha256(canonical.encode()).hexdigest(),
    )


def canonical_json(value: object) -> str:
    """The one way to write it down: keys sorted, no spaces, ASCII only.

    >>> canonical_json({"b": 1, "a": "ü"})
    '{"a":"\\\\u00fc","b":1}'
    """
    return json.dumps(value, sort_keys=True, separators=(",", ":"), allow_nan=False)


def _instant(text: str) -> datetime:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise Refused("bad_instant", f"{text!r} is not a moment of any calendar.") from None
    if moment.tzinfo is None or not EARLIEST <= moment <= LATEST:
        raise Refused("bad_instant", f"{text!r} is not between the years 2000 and 2100.")
    return moment.astimezone(UTC)


def _is_plain(text: object) -> TypeGuard[str]:
    """Short, and of marks that can be said back."""
    return isinstance(text, str) and len(text) <= 64 and text.isascii() and text.isprintable()


def _is_deep(value: object) -> bool:
    """More than twenty lists and objects in each other; counted level by level."""
    level: list[object] = [value]
    for _ in range(DEEPEST_ACTION):
        inner: list[object] = []
        for one in level:
            inner += one.values() if isinstance(one, dict) else one if isinstance(one, list) else []
        if not inner:
            return False
        level = inner
    return True


def _first_trouble(part: str, value: object) -> str:
    try:
        found: ValidationError | None = next(iter(_validator(part).iter_errors(value)), None)
    except RecursionError:
        return "It is nested too deeply."
    if found is None:
        return ""
    where = ".".join(str(step) for step in found.absolute_path) or part
    return f"{where}: {found.message}"[:300]


@cache
def _validator(part: str) -> Draft202012Validator:
    schema = json.loads((Path(__file__).parent / "outbox.schema.json").read_text("utf-8"))
    schema["$ref"] = f"#/$defs/{part}"
    return _Strict(schema)


def _is_whole(_checker: object, value: object) -> bool:
    """A whole number that is written as one: 3.0 is not, and true is not 1."""
    return isinstance(value, int) and not isinstance(value, bool)


_Strict = validators.extend(
    Draft202012Validator,
    type_checker=Draft202012Validator.TYPE_CHECKER.redefine("integer", _is_whole),
)
