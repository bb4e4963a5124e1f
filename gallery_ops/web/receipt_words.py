"""What a van brought, in a sentence: most of it came, one is short, one is broken."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gallery_ops.overview.receipt_page import ReceiptPage

NUMBERS = (
    "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
    "eleven", "twelve",
)  # fmt: skip


def count(n: int) -> str:
    """Up to twelve in letters."""
    return _(NUMBERS[n]) if n < len(NUMBERS) else f"{n:,}"


def lede(page: ReceiptPage) -> tuple[str, str]:
    """The sentence of the page, and what stays to come."""
    if page.order.state == "draft":
        return _("This order was not sent."), _("Say first that it is sent.")
    if page.order.state == "closed":
        return _("Nothing of this order is to come."), ""
    if not page.said:
        n = len(page.rows)
        second = ngettext("%s line is to come.", "%s lines are to come.", n) % count(n).capitalize()
        return _("Count what the van brought, line by line."), second
    first = _most(page)
    parts = _parts(page)
    stays = sum(row.rest for row in page.rows if row.typed.stays != "no")
    second = (
        ngettext("%s pack stays on order.", "%s packs stay on order.", stays)
        % count(stays).capitalize()
        if stays
        else ""
    )
    if not parts:
        return first, second
    said = _listed(parts)
    return f"{first} {said[0].upper()}{said[1:]}.", second


def _most(page: ReceiptPage) -> str:
    left = sum(row.left for row in page.rows)
    here = sum(min(row.left, row.typed.settles) for row in page.rows)
    if here >= left:
        return _("All of it came.")
    if 2 * here >= left:
        return _("Most of it came.")
    return _("Part of it came.") if here else _("Nothing of it came.")


def _parts(page: ReceiptPage) -> list[str]:
    other = sum(1 for row in page.said if row.typed.other is not None)
    short = sum(1 for row in page.said if row.rest and row.typed.other is None)
    broken = sum(row.typed.broken for row in page.said)
    found = []
    if other:
        found.append(
            ngettext("%s line is a substitute", "%s lines are substitutes", other) % count(other)
        )
    if short:
        found.append(ngettext("%s is short", "%s are short", short) % count(short))
    if broken:
        words = ngettext("%s piece is broken", "%s pieces are broken", broken)
        found.append(words % count(broken))
    return found


def _listed(parts: list[str]) -> str:
    return ", ".join(parts)


def button_words(page: ReceiptPage) -> str:
    """What the button will do: 22 pieces, 3 lots, 1 substitute."""
    pieces = sum(row.typed.whole for row in page.said)
    kept = [row for row in page.said if row.typed.other is not None and row.typed.keep != "back"]
    pieces += sum(row.typed.packs for row in kept)
    lots = sum(1 for row in page.said if row.typed.whole and not row.is_gas) + len(kept)
    parts = [ngettext("%d piece", "%d pieces", pieces) % pieces]
    if lots:
        parts.append(ngettext("%d lot", "%d lots", lots) % lots)
    if kept:
        parts.append(ngettext("%d substitute", "%d substitutes", len(kept)) % len(kept))
    return (
        _("Write it down: %(what)s") % {"what": ", ".join(parts)}
        if page.said
        else _("Write it down")
    )
