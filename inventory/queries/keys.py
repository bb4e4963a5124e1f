"""How is a stock named as the subject of a piece of work or of an alert?"""

from __future__ import annotations


def container_key(container_id: int) -> str:
    """The name of a container.

    >>> container_key(7)
    'container:7'
    """
    return f"container:{container_id}"


def item_key(item_id: int) -> str:
    """The name of an item.

    >>> item_key(3)
    'item:3'
    """
    return f"item:{item_id}"


def parse_key(key: str) -> tuple[str, int] | None:
    """Kind and id of a named stock; None for the empty subject and for anything else.

    >>> parse_key("container:7"), parse_key("")
    (('container', 7), None)
    """
    kind, _, number = key.partition(":")
    if kind not in {"container", "item"} or not number.isdecimal():
        return None
    return kind, int(number)
