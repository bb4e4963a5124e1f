"""What people enter on tablets of the basement, and the truth of each, written down apart.

Each deed writes its entry into the tablet and what must follow from it into the basement: that is
what the gallery's books are held against afterwards.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from hashlib import sha256
from typing import Any

from gallery_ops.kernel.services.pins import MOST_WRONG
from tests.maintenance.actions.hands import PINS, WRONG
from tests.maintenance.actions.lossy import Basement, Dose, Tablet, Tap
from tests.maintenance.actions.saying import AT

CARD = "gasping"
BEFORE = timedelta(minutes=10)
OTHER = {"T01": "T02", "T02": "T01"}


def a_dose(basement: Basement, tablet: Tablet, tank: str, n: int) -> None:
    """Somebody gives a dose."""
    body = basement.morning.dose_body(1000 * n)
    key = tablet.enter(basement, "dose", body, **basement.at_stop(tank))
    tablet.doses[key] = Dose(tank, 1000 * n)


def a_note(basement: Basement, tablet: Tablet, tank: str, n: int) -> None:
    """Somebody writes something down."""
    text = f"line {len(tablet.entries)}"
    key = tablet.enter(basement, "note", {"text": text}, stop_id=basement.at_stop(tank)["stop_id"])
    tablet.notes.add(key)


def work_of_c3(basement: Basement, tablet: Tablet, tank: str, n: int) -> None:
    """Somebody does work that asks for C3; one time in four the tablet says more than it knows."""
    hands = tablet.hands
    assert hands is not None
    task = hands.crew.c3[tank]
    body = {"task": str(task.uid), "minutes": n, "answers": {}}
    proof = "session" if n == 4 else hands.proof
    where = {"stop_id": basement.at_stop(tank)["stop_id"], "task_id": str(task.uid)}
    key = tablet.enter(basement, "complete", body, done_at=hands.now(), person_proof=proof, **where)
    tablet.unproven[key] = proof != "session" or hands.book != hands.holder


def changes_hands(_basement: Basement, tablet: Tablet, tank: str, n: int) -> None:
    """The next person takes the tablet: a name and six digits, or the sign-in of the gallery."""
    assert tablet.hands is not None
    who = n % len(PINS)
    if n == 4 and tank == "T01":
        tablet.hands.sign_in(who)
    else:
        rested = who in tablet.hands.rests
        assert tablet.hands.try_pin(who, PINS[who]) is not rested


def wrong_digits(_basement: Basement, tablet: Tablet, tank: str, n: int) -> None:
    """Digits of nobody, or of somebody else: once, or until the name rests."""
    assert tablet.hands is not None
    who, before = n % len(PINS), tablet.hands.holder
    pin = WRONG if tank == "T01" else PINS[(who + 1) % len(PINS)]
    for _ in range(1 if n < 4 else MOST_WRONG):
        assert not tablet.hands.try_pin(who, pin)
    assert tablet.hands.holder == before


def is_locked(_basement: Basement, tablet: Tablet, _tank: str, _n: int) -> None:
    """Nobody touched it for ten minutes."""
    assert tablet.hands is not None
    tablet.hands.lock()


def taken_back(basement: Basement, tablet: Tablet, _tank: str, n: int) -> None:
    """The last dose of this tablet is undone, if there is one."""
    if _last_is_own(tablet):
        last, _dose = tablet.doses.popitem()
        _correct(basement, tablet, "undo", last, {"takes_back": last})


def moved(basement: Basement, tablet: Tablet, _tank: str, n: int) -> None:
    """The last dose was given at the other tank."""
    if _last_is_own(tablet):
        last, dose = tablet.doses.popitem()
        there = OTHER[dose.tank]
        body = {"moves": last, "tank": there, "reason": "I stood at the wrong tank."}
        key = _correct(basement, tablet, "move_record", last, body)
        tablet.doses[key] = Dose(there, dose.ul)


def put_right(basement: Basement, tablet: Tablet, _tank: str, n: int) -> None:
    """The last dose was another amount."""
    if _last_is_own(tablet):
        last, dose = tablet.doses.popitem()
        meant = dose.ul + 250 * n
        body = {"amends": last, "changes": {"given_ul": meant}, "reason": "Typed wrong."}
        key = _correct(basement, tablet, "amend", last, body)
        tablet.doses[key] = Dose(dose.tank, meant)


def a_photo(basement: Basement, tablet: Tablet, tank: str, n: int) -> None:
    """A picture is announced; the same number again is the same picture, said by another entry."""
    digest = sha256(f"{tablet.device.uid} {n}".encode()).hexdigest()
    body = {
        "sha256": digest,
        "size_bytes": 100 * n,
        "media_type": "image/jpeg",
        "viewpoint": "front",
        "entry": None,
    }
    key = tablet.enter(basement, "photo", body, stop_id=basement.at_stop(tank)["stop_id"])
    basement.photos[key] = digest


def handed_over(basement: Basement, tablet: Tablet, tank: str, n: int) -> None:
    """A line for whoever comes next."""
    body = {
        "line": "worry",
        "text": f"Look at {tank} again.",
        "tank": tank,
        "by": None,
        "source": None,
        "entry": None,
        "handed_to": None,
    }
    basement.lines.append(tablet.enter(basement, "handover_line", body))


def read(basement: Basement, tablet: Tablet, _tank: str, n: int) -> None:
    """Somebody reads a line, of this tablet or another whose line may still be under way."""
    if basement.lines:
        line = basement.lines[-n % len(basement.lines)]
        tablet.reads.add(tablet.enter(basement, "handover_read", {"line": line}))
        assert tablet.hands is not None
        assert tablet.hands.holder is not None
        basement.read.add((line, tablet.hands.holder))


def a_tap(basement: Basement, tablet: Tablet, _tank: str, n: int) -> None:
    """A tap on the card of one of two emergencies; any tablet may be the first or end it."""
    uid = basement.emergencies[n % 2]
    at_hand = basement.taps[uid]
    ends = n == 4 and len(at_hand) > 1
    kind, step = ("incident_close", "over") if ends else ("incident_step", "done")
    kind, step = (kind, step) if at_hand else ("incident_open", "opened")
    said: dict[str, dict[str, Any]] = {
        "incident_open": {"place": None},
        "incident_step": {"step": "done", "line": n, "text": None, "place": None},
        "incident_close": {"how": "over", "decided_by": "Maud Ellerkamp"},
    }
    body = {"incident": uid, "card": CARD, "drill": False, **said[kind]}
    seconds = sum(len(taps) for taps in basement.taps.values())
    done_at = AT - BEFORE + timedelta(seconds=seconds)
    key = tablet.enter(basement, kind, body, done_at=done_at)
    at_hand.append(Tap(done_at, key, step, n if step == "done" else None))


def _last_is_own(tablet: Tablet) -> bool:
    """One's own entries are put right; those of others need another right."""
    if not tablet.doses or tablet.hands is None:
        return False
    return tablet.by[next(reversed(tablet.doses))] == tablet.hands.holder


def _correct(
    basement: Basement, tablet: Tablet, kind: str, wanted: str, body: dict[str, Any]
) -> str:
    entry = tablet.entries[wanted]
    where = {"stop_id": entry["stop_id"], "task_id": entry["task_id"]}
    return tablet.enter(basement, kind, body, corrects=wanted, **where)


DEEDS: dict[str, Callable[[Basement, Tablet, str, int], None]] = {
    "dose": a_dose,
    "note": a_note,
    "undo": taken_back,
    "move": moved,
    "amend": put_right,
    "photo": a_photo,
    "hand over": handed_over,
    "read": read,
    "emergency": a_tap,
    "work of C3": work_of_c3,
    "changes hands": changes_hands,
    "wrong digits": wrong_digits,
    "locked": is_locked,
}

HANDS = {"changes hands", "wrong digits", "locked"}
"""What can be done with a tablet that is locked."""
