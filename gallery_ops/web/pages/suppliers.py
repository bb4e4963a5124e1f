"""Who delivers: all of them, one of them, and what is known of each."""

from __future__ import annotations

from uuid import UUID, uuid4

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_http_methods

from gallery_ops.kernel.errors import Forbidden, Refused
from gallery_ops.kernel.rights import may
from gallery_ops.kernel.values.money import Money
from gallery_ops.overview.supplier_page import SupplierPage, supplier_page
from gallery_ops.overview.supplier_page import supplier_list as listed
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.attempts import deed_of
from gallery_ops.web.forms.orders import action_id_of
from gallery_ops.web.forms.suppliers import SupplierForm, do, initial_of
from gallery_ops.web.middleware import Asked
from inventory.queries.suppliers import supplier_of
from inventory.services.items import add_supplier
from inventory.services.suppliers import change_supplier, check_supplier


@staff()
@require_GET
def supplier_list(request: Asked) -> HttpResponse:
    """All who deliver."""
    rows = listed(here(request), request.at)
    late = sum(1 for row in rows if row.is_past_cut_off)
    return render(
        request,
        "web/suppliers/list.html",
        {
            "rows": rows,
            "first": ngettext("%d supplier delivers.", "%d suppliers deliver.", len(rows))
            % len(rows),
            "second": ngettext(
                "For %d of them today’s hour for orders is over.",
                "For %d of them today’s hour for orders is over.",
                late,
            )
            % late
            if late
            else "",
            "may_change": may(acting(request), "plan.change"),
            "here": "stock",
        },
    )


@staff()
@require_http_methods(["GET", "POST"])
def supplier_detail(request: Asked, uid: UUID) -> HttpResponse:
    """One of them, and the deeds of the page; what was typed stays when something is refused."""
    page = supplier_page(here(request), uid, request.at)
    deed = deed_of(request, lambda name, typed: do(name, page, typed, acting(request), request.at))
    if deed.is_done:
        gone = deed.name == "retire"
        return redirect("supplier_list") if gone else redirect("supplier_detail", uid=uid)
    return render(
        request,
        "web/suppliers/detail.html",
        {
            "page": page,
            "supplier": page.supplier,
            **_sums(page),
            "packs": [
                (row, request.POST.get(f"price-{number}", ""))
                for number, row in enumerate(page.packs, start=1)
            ],
            "currency": here(request).currency,
            "may_change": may(acting(request), "plan.change"),
            "may_price": may(acting(request), "price.change"),
            "may_record": may(acting(request), "record"),
            "may_correct": may(acting(request), "correct"),
            "trouble": deed.trouble,
            "deed": deed.name,
            "typed": request.POST,
            "action_id": action_id_of(request.POST.get("action_id", "")) or uuid4(),
            "here": "stock",
        },
        status=deed.status,
    )


def _sums(page: SupplierPage) -> dict[str, object]:
    supplier, currency = page.supplier, page.supplier.showroom.currency

    def money(cents: int | None) -> Money | None:
        return Money(cents, currency) if cents else None

    return {
        "smallest": money(supplier.min_order_cents),
        "carriage": money(supplier.carriage_cents),
        "free_from": money(supplier.carriage_free_from_cents),
        "deposits": [(row, Money(row.amount_cents, currency)) for row in page.deposits],
    }


@staff("plan.change")
@require_http_methods(["GET", "POST"])
def supplier_add(request: Asked) -> HttpResponse:
    """Somebody new."""
    initial = {"delivery_weekdays": ["0", "1", "2", "3", "4"], "stated_lead_days": 5}
    return _form(request, None, initial)


@staff("plan.change")
@require_http_methods(["GET", "POST"])
def supplier_change(request: Asked, uid: UUID) -> HttpResponse:
    """What is known of a supplier is put right."""
    supplier = supplier_of(here(request), uid)
    return _form(request, uid, initial_of(supplier, here(request).currency))


def _form(request: Asked, uid: UUID | None, initial: dict[str, object]) -> HttpResponse:
    currency = here(request).currency
    data = request.POST if request.method == "POST" else None
    form = SupplierForm(data, initial=initial, currency=currency)
    if form.is_bound and form.is_valid():
        try:
            saved = _save(request, form, uid)
        except Forbidden:
            raise
        except Refused as no:
            _blame(form, no)
        else:
            messages.success(request, _("Written down."))
            return redirect("supplier_detail", uid=saved)
    return render(
        request,
        "web/suppliers/form.html",
        {"form": form, "uid": uid, "here": "stock"},
        status=422 if form.errors else 200,
    )


def _save(request: Asked, form: SupplierForm, uid: UUID | None) -> UUID:
    fields = form.fields_of_supplier()
    by, at = acting(request), request.at
    if uid is None:
        check_supplier(fields)
        added: UUID = add_supplier(showroom=here(request), by=by, at=at, **fields).uid
        return added
    change_supplier(supplier=supplier_of(here(request), uid), by=by, at=at, **fields)
    return uid


def _blame(form: SupplierForm, no: Refused) -> None:
    placed = {name: words for name, words in no.fields.items() if name in form.fields}
    for name, words in placed.items():
        is_whole = no.code == "not_valid" or words == no.sentence
        form.add_error(name, words if is_whole else f"{no.sentence} {words}")
    if not placed:
        form.add_error(None, str(no))
