"""A browser that trusts the gallery's own certificate, as a tablet does after its first steps.

Chromium on Linux reads what its user trusts from a database (NSS) under the home folder. No check
of certificates is switched off: the name leads here, and the rest is as in a house.
"""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

NAME = "gallery.lan"
STORES = (".pki/nssdb", ".local/share/pki/nssdb")  # where Chromium looked first, and looks since
NAMES_LEAD_HERE = "--host-resolver-rules=MAP * 127.0.0.1"


def home_that_trusts(home: Path, authority: Path) -> dict[str, str]:
    """Put the authority into the store of whoever lives there; the environment of that user."""
    for store in STORES:
        database = f"sql:{home / store}"
        (home / store).mkdir(parents=True)
        add = ["-A", "-t", "C,,", "-n", "gallery", "-i", str(authority)]
        for words in (["-N", "--empty-password"], add):
            subprocess.run(["certutil", "-d", database, *words], check=True)
    return {**os.environ, "HOME": str(home)}
