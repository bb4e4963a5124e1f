"""What to buy this week, by supplier and van; numbers change in the row, the letter follows."""

from __future__ import annotations

from urllib.parse import quote

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.rights import may
from gallery_ops.overview.buy_page import (
    Letter,
    buy_page,
    key_of,
    say_sent,
    section_of,
    write_draft,
)
from gallery_ops.web import buy_words as words
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.attempts import deed_of
from gallery_ops.web.buy_row_words import because_words, money
from gallery_ops.web.forms.orders import whole_number
from gallery_ops.web.middleware import Asked
from inventory.queries.buy_types import BuyList, BuySection


@staff()
@require_http_methods(["GET", "POST"])
def buy_list(request: Asked) -> HttpResponse:
    """The list; writing it down makes a draft, and only "It is sent" makes it on order."""
    found, letters = buy_page(here(request), request.at)
    deed = deed_of(request, lambda name, _typed: _do(request, found, name))
    if deed.is_done:
        return redirect("buy_list")
    return render(
        request,
        "web/buying/list.html",
        _shown(request, found, letters) | {"trouble": deed.trouble},
        status=deed.status,
    )


def _do(request: Asked, found: BuyList, deed: str) -> str:
    section = section_of(found, request.POST.get("supplier", ""))
    packs = {}
    for line in section.lines:
        field = "packs-{}-{}".format(*key_of(line))
        if field in request.POST:
            packs[key_of(line)] = whole_number(
                request.POST[field], field=field, label=line.item.name
            )
    because = {key_of(one): because_words(one, section) for one in section.lines}
    seen = request.POST.get("sent_last", "")
    sent_last = whole_number(seen, field="supplier", label=_("Order")) if seen else None
    written = {"sent": say_sent, "write": write_draft}
    if deed not in written:
        raise Refused("no_deed", _("Nothing was chosen."), remedy=_("Press one of the buttons."))
    order = written[deed](
        section=section,
        packs=packs,
        because=because,
        by=acting(request),
        at=request.at,
        sent_last=sent_last,
    )
    if deed == "sent":
        said = _("Order %(order)s to %(who)s is on order.")
    else:
        said = _("Order %(order)s is written down. It is on order only when you say it is sent.")
    return said % {"order": order, "who": section.supplier.name}


def _shown(request: Asked, found: BuyList, letters: dict[int, Letter]) -> dict[str, object]:
    currency = here(request).currency
    first, second = words.lede(found, currency)
    in_all, of_all = words.in_all(found, currency)
    typed = {key: str(value) for key, value in request.POST.items()}
    return {
        "found": found,
        "first": first,
        "second": second,
        "in_all": in_all,
        "of_all": of_all,
        "over": words.over(found, currency),
        "closures": words.closures(found),
        "parts": [
            _part(one, found, letters[one.supplier.pk], typed, currency)
            | {"is_first": one is found.sections[0]}
            for one in found.sections
        ],
        "may_change": may(acting(request), "plan.change"),
        "here": "stock",
    }


def _part(
    section: BuySection, found: BuyList, letter: Letter, typed: dict[str, str], currency: str
) -> dict[str, object]:
    who = section.supplier
    title = _("Order from %(house)s") % {"house": who.showroom.name}
    mine = typed if typed.get("supplier") == str(who.uid) else {}
    return {
        "section": section,
        "supplier": who,
        "order_by": words.order_by(section, found.today),
        "window": words.window(section),
        "groups": words.groups(section, mine),
        "letter": letter.text,
        "sent_last": letter.sent_last,
        "mail": f"mailto:{quote(who.email)}?subject={quote(title)}&body={quote(letter.text)}",
        "goods": money(section.goods, currency),
        "carriage": money(section.carriage, currency),
        "smallest": money(who.min_order_cents, currency) if who.min_order_cents else "",
        "to_pay": money(section.to_pay, currency),
        "has_packs": any(line.packs for line in section.lines),
    }
