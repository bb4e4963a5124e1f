"""A small gallery with a morning's rounds, and who asks its endpoints how."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from itertools import count
from pathlib import Path
from typing import Any

from django.test import Client
from jsonschema import Draft202012Validator

from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.services.devices import Enrolled, enrol_device, make_enrolment_code
from gallery_ops.kernel.services.tokens import make_token
from gallery_ops.kernel.values.uuid7 import uuid7
from gallery_ops.overview.who import DEVICE_COOKIE, SHOWROOM_KEY
from maintenance.models import DueTask, Round, Stop
from maintenance.services import due_tasks
from maintenance.services.rounds import ensure_rounds
from tanks.models import Designer, Layout
from tests.maintenance.house import House, a_house, a_tank

ON = date(2026, 3, 12)
AT = datetime(2026, 3, 12, 8, 8, tzinfo=UTC)
BOOT = str(uuid7(AT))
OUTBOX = "/api/v1/outbox"
PROBLEM = "application/problem+json"
OWN = {"X-Gallery-Ops": "outbox"}

_HERE = Path(__file__).parents[3]
_counts = count(1)


def a_morning(code: str = "undershore", tanks: int = 2) -> House:
    """Planted tanks, today's tasks and rounds."""
    house = a_house(code)
    for n in range(1, tanks + 1):
        a_tank(house, f"T{n:02}")
    due_tasks.ensure(showroom=house.showroom, at=AT)
    ensure_rounds(showroom=house.showroom, on=ON, at=AT)
    return house


def opening(house: House) -> Round:
    """This morning's round."""
    return Round.objects.get(showroom=house.showroom, kind="opening", business_on=ON)


def a_browser(membership: Membership, **more: Any) -> Client:
    """A browser in which this person has signed in."""
    client = Client(**more)
    client.force_login(membership.person, backend="django.contrib.auth.backends.ModelBackend")
    session = client.session
    session[SHOWROOM_KEY] = membership.showroom_id
    session.save()
    return client


def enrolled(house: House) -> Enrolled:
    """A tablet of this gallery."""
    code = make_enrolment_code(showroom=house.showroom, by=house.owner, at=AT)
    return enrol_device(code=code, name=f"tablet {next(_counts)}", at=AT)


def a_tablet(tablet: Enrolled, **more: Any) -> Client:
    """The browser of a tablet on which nobody is signed in."""
    client = Client(**more)
    client.cookies[DEVICE_COOKIE] = tablet.token
    return client


def a_program(house: House, *scopes: str, of: Membership | None = None) -> dict[str, str]:
    """The header of a program that may do these things for this person, else for the owner."""
    made = make_token(
        showroom=house.showroom,
        membership=of or house.owner,
        name=f"program {next(_counts)}",
        scopes=scopes or ("read",),
        by=house.owner,
        at=AT,
    )
    return {"Authorization": f"Bearer {made.secret}"}


def an_action(house: House, kind: str, body: dict[str, Any], **fields: Any) -> dict[str, Any]:
    """One action of the owner in this morning's round, as a tablet sends it."""
    return action_of(house.owner, opening(house), kind, body, **fields)


def action_of(
    member: Membership, round_: Round, kind: str, body: dict[str, Any], **fields: Any
) -> dict[str, Any]:
    """One action of anybody in any round; the count is that of this run unless given."""
    seq = next(_counts)
    return {
        "action_id": str(uuid7(AT)),
        "device_id": "tablet",
        "seq": seq,
        "schema": 1,
        "kind": kind,
        "round_id": str(round_.uid),
        "stop_id": None,
        "task_id": None,
        "person_id": str(member.person.uid),
        "person_proof": "pin",
        "done_at": AT.isoformat(),
        "monotonic_ms": seq,
        "boot_id": BOOT,
        "plan_version": None,
        "corrects": None,
        "body": body,
        **fields,
    }


def a_note_of(member: Membership, round_: Round, stop: Stop) -> dict[str, Any]:
    """A note at a stop."""
    return action_of(member, round_, "note", {"text": "All well."}, stop_id=str(stop.uid))


def a_note(house: House, text: str = "All well.", **fields: Any) -> dict[str, Any]:
    """The simplest action."""
    return an_action(house, "note", {"text": text}, **fields)


def a_dose(house: House, tank: str = "T01", ul: int = 3000, **fields: Any) -> dict[str, Any]:
    """The dose of one tank, from a measuring cup."""
    body = {
        "product": str(house.fertiliser.uid),
        "source": None,
        "planned_ul": 3000,
        "given_ul": ul,
        "presses": None,
        "per_press_ul": None,
        "text": None,
        "again": None,
        "short": None,
        **fields.pop("body", {}),
    }
    return an_action(house, "dose", body, **{**where(house, tank, "dose"), **fields})


def where(house: House, tank: str, kind: str) -> dict[str, str]:
    """Stop and task of one tank this morning."""
    glass = house.tanks[tank]
    stop = Stop.objects.get(round=opening(house), tank=glass)
    mine = DueTask.objects.filter(tank=glass, due_on=ON, template__round_kind="opening")
    task = mine.get(template__kind=kind)
    return {"stop_id": str(stop.uid), "task_id": str(task.uid)}


def a_batch(device_id: str, *actions: Any, **fields: Any) -> dict[str, Any]:
    """A request of the outbox."""
    return {
        "device_id": device_id,
        "epoch": "0",
        "sent_at": AT.isoformat(),
        "boot_id": BOOT,
        "monotonic_ms": 1,
        "actions": list(actions),
        **fields,
    }


def send(client: Client, batch: Any, *, headers: dict[str, str] | None = None) -> Any:
    """Post it as the tablet does; text is sent as it stands."""
    body = batch if isinstance(batch, str | bytes) else json.dumps(batch)
    sent = OWN if headers is None else headers
    return client.post(OUTBOX, body, content_type="application/json", headers=sent)


def verdicts(response: Any) -> list[str]:
    """What became of each action."""
    assert response.status_code == 200, response.content
    return [one["verdict"] for one in response.json()["verdicts"]]


def is_problem(response: Any, status: int, name: str) -> dict[str, Any]:
    """The body, after a look that it is a problem document of this kind."""
    assert response.status_code == status, response.content[:400]
    assert response["Content-Type"] == PROBLEM
    body: dict[str, Any] = response.json()
    assert body["type"] == f"/problems/{name}", body
    assert body["status"] == status
    assert body["title"]
    assert body["detail"]
    return body


def schema_of(path: str, part: str = "") -> Draft202012Validator:
    """A validator of one of our schemas."""
    schema = json.loads((_HERE / path).read_text("utf-8"))
    if part:
        schema["$ref"] = f"#/$defs/{part}"
    return Draft202012Validator(schema)


def credit(house: House, layout: Any, member: Membership) -> None:
    """Say that this person made the layout."""
    designer = Designer.objects.create(
        showroom=house.showroom, name=member.person.name, person=member.person
    )
    Layout.objects.filter(pk=layout.pk).update(designer=designer)
