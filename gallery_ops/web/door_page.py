"""The page that a tablet opens before it trusts the gallery: written at each start, served beside.

`gallery_ops/certificate/door.py` hands it out without https and without the rest of the program.
"""

from __future__ import annotations

from pathlib import Path

from django.conf import settings
from django.template.loader import render_to_string

from gallery_ops.certificate.kept import write_page
from gallery_ops.web.reach import own_reach


def write_door_page() -> None:
    """Into the certificate's folder; nothing where the gallery serves no https of its own."""
    found = own_reach()
    if found is None or not settings.CERTIFICATE_DIR:
        return
    folder = Path(settings.CERTIFICATE_DIR)
    page = render_to_string("web/tablets/door.html", {"reach": found, "at_door": True})
    write_page(
        folder,
        {"index.html": page.encode(), "gallery.crt": (folder / "authority.crt").read_bytes()},
    )
