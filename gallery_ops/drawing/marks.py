"""Small marks: shape first, always beside their word, never by colour alone."""


def _open(d: str) -> str:
    return f'<path class="o" d="{d}"/>'


def _full(d: str) -> str:
    return f'<path class="f" d="{d}"/>'


_VESSEL = _open("M3 2V17H17V2")
_BEAD = '<circle class="f" cx="{0}" cy="10" r="5"/>'

# name: elements in a box of 20 x 20; those in _WIDE have a wider box.
MARKS: dict[str, str] = {
    "to_do": _VESSEL,
    "done": f'{_full("M2 5H18V18H2Z")}{_VESSEL}<path class="k" d="M6 10.5L9 13.5L14 7.5"/>',
    "half": _VESSEL + _full("M3 10H17V17H3Z"),
    "skipped": _VESSEL + _open("M1 19L19 3"),
    "empty": '<path class="o d" d="M3 2V17H17V2"/>',
    "held": _open("M3 5V17H17V5Z") + _full("M8 9h4v4h-4z"),
    "heard": '<path class="o d" d="M3 2V17H17V2"/><path class="f" d="M6 8H14V14H6Z"/>',
    "class_a": _full("M10 0L20 10L10 20L0 10Z"),
    "class_b": _full("M0 12A10 10 0 0 1 20 12Z") + _full("M0 14.5H20V17H0Z"),
    "class_c": '<circle class="o" cx="10" cy="10" r="7.5"/>',
    "class_d": _full("M0 8H20V13H0Z"),
    "as_it_was": _open("M1 5V15M1 10H19M19 5V15"),
    "changed": _open("M1 14H10V6H19"),
    "over": _open("M0 15H20") + _full("M10 1L17 12H3Z"),
    "over_second": _open("M0 15H34") + _full("M10 1L17 12H3ZM24 1L31 12H17Z"),
    "order_by": _full("M4 2H18L13 7L18 12H6V20H4Z"),
    "delivery": _full("M7 7h7v7h-7z"),
    "too_old": _open("M3 3L17 17M17 3L3 17"),
    "substitute": _full("M2 6H10V18H2Z") + _open("M2 2V18H18V2M10 2V18"),
    "inside": _open("M1 10H19") + _BEAD.format(10),
    "outside": _open("M1 10H4M16 10H19") + '<circle class="o" cx="10" cy="10" r="5"/>',
    "range": _open("M4 4V16M36 4V16M4 10H36") + _BEAD.format(20),
    "photo": _open("M1 4H19V17H1Z") + _full("M3 15L8 8L12 13L14.5 10.5L17 15Z"),
    "arrow": _open("M2 10H16M11 5L16 10L11 15"),
}
_WIDE = {"over_second": 34, "range": 40}


def mark(name: str) -> str:
    """One mark as inline SVG, hidden from readers because its word stands beside it.

    Raises KeyError for a name that is not in MARKS.
    """
    width = _WIDE.get(name, 20)
    css = "mark mark-w" if width > 20 else "mark"
    return (
        f'<svg class="{css}" viewBox="0 0 {width} 20" aria-hidden="true" focusable="false">'
        f"{MARKS[name]}</svg>"
    )
