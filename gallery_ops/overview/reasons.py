"""Why was it done? A deed that cannot be undone asks for a few words."""

from __future__ import annotations

from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused


def said(reason: str) -> str:
    """The reason without spaces around it. Raises Refused where nothing was said."""
    if words := reason.strip():
        return words
    raise Refused(
        "reason_missing",
        _("Why: nothing was said."),
        {"reason": _("A few words: they are what somebody finds in a year.")},
    )
