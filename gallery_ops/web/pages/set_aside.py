"""What is set aside: stock for a build or a class, money for the orders of a month."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.rights import may
from gallery_ops.overview.set_aside_page import SetAsidePage, set_aside_page
from gallery_ops.web import words
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.attempts import deed_of
from gallery_ops.web.forms.set_aside import Choices, set_money_aside, set_stock_aside
from gallery_ops.web.middleware import Asked
from inventory.queries.month_money import MonthMoney, months
from inventory.services.reservations import release


@staff()
@require_http_methods(["GET", "POST"])
def reservation_list(request: Asked) -> HttpResponse:
    """What is spoken for, and the form that keeps more."""
    page = set_aside_page(here(request), request.at)
    deed = deed_of(request, lambda name, typed: _do(request, page, name, typed))
    if deed.is_done:
        return redirect("reservation_list")
    first, second = _lede(page)
    return render(
        request,
        "web/stock/set_aside.html",
        {
            "page": page,
            "first": first,
            "second": second,
            "may_change": may(acting(request), "plan.change"),
            "trouble": deed.trouble,
            "typed": request.POST,
            "today": words.local(request.at).date(),
            "here": "stock",
        },
        status=deed.status,
    )


def _do(request: Asked, page: SetAsidePage, name: str, typed: dict[str, str]) -> str:
    by, at = acting(request), request.at
    if name == "keep":
        return set_stock_aside(typed, Choices(page.items, page.tanks), by, at)
    found = [one for one in page.kept if str(one.reservation.uid) == typed.get("uid", "")]
    if name != "free" or not found:
        raise Refused("no_deed", _("Nothing was chosen."), remedy=_("Press one of the buttons."))
    row = release(reservation=found[0].reservation, by=by, at=at)
    return _("%(name)s for %(what)s is free again.") % {
        "name": row.item.name,
        "what": row.for_what,
    }


def _lede(page: SetAsidePage) -> tuple[str, str]:
    n, missing = len(page.kept), len(page.to_buy)
    if not n:
        return _("Nothing is set aside."), ""
    first = ngettext("%(n)d thing is set aside.", "%(n)d things are set aside.", n) % {"n": n}
    if not missing:
        return first, _("All of it is here.")
    if n == 1:
        return first, _("Something of it must be bought.")
    return first, ngettext(
        "For one of them something must be bought.",
        "For %(n)d of them something must be bought.",
        missing,
    ) % {"n": missing}


@staff()
@require_http_methods(["GET", "POST"])
def month_budget(request: Asked) -> HttpResponse:
    """Money for each month beside what was ordered; the owner sets it."""
    rows = months(here(request), request.at)
    firsts = [row.first for row in rows if not row.is_past]
    deed = deed_of(
        request, lambda _name, typed: set_money_aside(typed, firsts, acting(request), request.at)
    )
    if deed.is_done:
        return redirect("month_budget")
    now = next(row for row in rows if row.is_now)
    first, second = _money_lede(now)
    return render(
        request,
        "web/stock/month_budget.html",
        {
            "rows": [(row, f"amount-{row.first:%Y-%m}", _typed(request, row)) for row in rows],
            "first": first,
            "second": second,
            "currency": here(request).currency,
            "may_set": may(acting(request), "price.change"),
            "trouble": deed.trouble,
            "here": "stock",
        },
        status=deed.status,
    )


def _typed(request: Asked, row: MonthMoney) -> str:
    field = f"amount-{row.first:%Y-%m}"
    if field in request.POST:
        return request.POST[field]
    if row.set_aside is None:
        return ""
    return row.set_aside.text(words.mark_in_use()).rpartition(" ")[0]


def _money_lede(now: MonthMoney) -> tuple[str, str]:
    ordered = _("%(sum)s were ordered this month.") % {"sum": words.money(now.ordered)}
    if now.left is None:
        return ordered, _("Nobody set money aside for it, so no order is too much.")
    if now.left.cents < 0:
        over = words.money(-now.left)
        return _("%(sum)s more than was set aside.") % {"sum": over}, ordered
    return _("%(sum)s may still be ordered this month.") % {"sum": words.money(now.left)}, ordered
