"""How one signs in to the demo: PINs from its description, a password made for this copy."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from django.conf import settings

from gallery_ops.demo.house import gallery
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.queries.people import members
from gallery_ops.kernel.services.devices import make_enrolment_code
from gallery_ops.kernel.services.passwords import set_password

FILE = "demo_password"


def give_passwords(showroom: Showroom, password: str, at: datetime) -> None:
    """The same password for everybody of the demo, kept in the data folder for the next start."""
    found = {row.person.login: row for row in members(showroom, at)}
    owner = next(row for row in found.values() if row.role == "owner")
    for row in found.values():
        set_password(person=row.person, password=password, by=owner, at=at)
    kept = Path(settings.DATA_DIR) / FILE
    kept.write_text(password + "\n", encoding="ascii")
    kept.chmod(0o600)


def sign_ins(at: datetime) -> str:
    """The block that a start prints; empty when this is not the demo gallery."""
    data = gallery()
    showroom = Showroom.objects.filter(code=data["showroom"]["code"]).first()
    kept = Path(settings.DATA_DIR) / FILE
    if showroom is None or not kept.exists():
        return ""
    found = {row.person.login: row for row in members(showroom, at)}
    lines = [
        "Undershore, the demo gallery. On a tablet: enrol it, tap a name, type its six digits.",
        f"Elsewhere: the sign-in name and the password {kept.read_text('ascii').strip()}",
        "",
    ]
    for row in data["person"]:
        member: Membership | None = found.get(row["login"])
        if member is not None:
            role = str(member.get_role_display())
            lines.append(f"  {row['login']:8}{row['pin']:10}{row['name']}, {role}")
    manager = next((row for row in found.values() if row.role == "manager"), None)
    if manager is not None:
        code = make_enrolment_code(showroom=showroom, by=manager, at=at)
        lines += ["", f"Enrolment code for a tablet, for ten minutes, once: {code}"]
    return "\n".join(lines)
