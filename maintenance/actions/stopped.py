"""Was giving stopped here by an emergency when it was given?"""

from __future__ import annotations

from maintenance.actions.context import Said
from maintenance.services.incidents import refuse_while_stopped
from tanks.models import Tank

CODE = "stopped"


def check_not_stopped(said: Said, tank: Tank) -> None:
    """Raises Held unless a person has said that it was given all the same."""
    if CODE not in said.waived:
        refuse_while_stopped(showroom=said.showroom, tank=tank, moment=said.done_at_corrected)
