"""python -m gallery_ops.certificate NAME --data DIR [--lan-ip ADDRESS] [--show URL]

Makes or renews the certificate of this name and prints what it did; with --show the address of the
page that lets a tablet trust it, as a square to photograph, and its fingerprint.
"""

from __future__ import annotations

import argparse
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

import segno

from gallery_ops.certificate.kept import State, Trouble, ensure, folder_of
from gallery_ops.certificate.names import Unfit, fit_address, fit_name


def main(argv: list[str]) -> int:
    parser = argparse.ArgumentParser(prog="gallery_ops.certificate", description=__doc__)
    parser.add_argument("name")
    parser.add_argument("--data", type=Path, required=True)
    parser.add_argument("--lan-ip")
    parser.add_argument("--show")
    given = parser.parse_args(argv)
    # Not the program's clock, which may be set for pictures: a browser compares with the true one.
    at = datetime.fromtimestamp(time.time(), UTC)
    try:
        name = fit_name(given.name)
        address = fit_address(given.lan_ip) if given.lan_ip else None
        state = ensure(folder_of(given.data, name), name, address, at)
    except (Unfit, Trouble) as trouble:
        print(f"Gallery Ops has no certificate to show: {trouble}", file=sys.stderr)
        return 1
    for sentence in state.said:
        print(sentence)
    if given.show:
        show(given.show, state)
    return 0


def show(url: str, state: State) -> None:
    """For whoever stands before the machine with a tablet in hand."""
    print(f"A new tablet opens {url} first: it walks through trusting this gallery.")
    if sys.stdout.isatty():
        segno.make_qr(url).terminal(compact=True)
    print(f"Fingerprint to compare there: {state.fingerprint}")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
