"""Under which name, and beside it under which address, can a gallery be reached by https?

Syntax of host names: RFC 1123, section 2.1, with RFC 1035's lengths. A certificate for a name is
refused by browsers where the last label is a number, because they read it as an address.
"""

from __future__ import annotations

import ipaddress
import re

LABEL = re.compile(r"[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?")
LONGEST = (
    64  # the name stands in the subject of the certificate too, which holds so many (RFC 5280)
)
NEVER = {
    "localhost": "leads each device to itself, never to this machine",
    "invalid": "is kept for names that never work (RFC 6761)",
}


class Unfit(ValueError):
    """A sentence for people: what is wrong with the name and what to write instead."""


def fit_name(text: str) -> str:
    """The name in small letters, without the dot at its end. Raises Unfit."""
    name = text.strip().lower().removesuffix(".")
    if "/" in name or (":" in name and not _is_address(name.strip("[]"))):
        raise Unfit(
            f"must be the name alone, as gallery.lan, without https:// and port, not {text!r}"
        )
    if _is_address(name.strip("[]")):
        raise Unfit(
            f"must be a name, as gallery.lan; {text!r} is an address. One address can be allowed "
            "beside the name: --lan NAME --lan-ip ADDRESS"
        )
    labels = name.split(".")
    if (kept := labels[-1]) in NEVER:
        raise Unfit(f"cannot be {text!r}: {kept} {NEVER[kept]}. Write a name as gallery.lan")
    if not name.isascii():
        raise Unfit(
            f"may hold letters a to z, digits, hyphens and dots, not {text!r}. A name with other "
            "letters has a second form that begins with xn--; write that one"
        )
    _check_labels(text, name, labels)
    return name


def _check_labels(text: str, name: str, labels: list[str]) -> None:
    if len(name) > LONGEST:
        raise Unfit(f"may have {LONGEST} characters at most; this one has {len(name)}")
    wrong = [label for label in labels if not LABEL.fullmatch(label)]
    if wrong:
        raise Unfit(
            f"may hold letters, digits and hyphens between its dots, each part 1 to 63 long and "
            f"with no hyphen at an end; {wrong[0]!r} in {text!r} does not"
        )
    if len(labels) == 1:
        raise Unfit(
            f"needs two parts, as {name}.lan: a browser takes one word for something to look up"
        )
    if re.fullmatch(r"\d+|0x[0-9a-f]*", labels[-1]):
        raise Unfit(f"must not end with a number: a browser reads {text!r} as an address")


def fit_address(text: str) -> str:
    """An address inside a house, in its usual writing. Raises Unfit."""
    try:
        found = ipaddress.ip_address(text.strip().strip("[]"))
    except ValueError:
        raise Unfit(f"must be an address such as 192.168.1.20, not {text!r}") from None
    if found.is_loopback or found.is_unspecified or found.is_multicast or found.is_link_local:
        raise Unfit(f"must be the address of this machine in its network; {text!r} is not one")
    if not found.is_private:
        raise Unfit(
            f"must be an address inside the house; {text!r} is known to the whole internet, and "
            "somebody else may hold it tomorrow"
        )
    return str(found)


def _is_address(text: str) -> bool:
    try:
        ipaddress.ip_address(text)
    except ValueError:
        return False
    return True
