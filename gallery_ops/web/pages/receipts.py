"""A van came: what it brought is written down, all at once or, half done, later.

Half done: what was typed is kept in the session of whoever typed it, on this device, until it is
written down, begun again or the session ends. Nothing is booked before it is written down.
"""

from __future__ import annotations

from uuid import UUID, uuid4

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.rights import may
from gallery_ops.overview.receipt_page import ReceiptPage, receipt_page
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.attempts import attempt
from gallery_ops.web.forms.orders import action_id_of
from gallery_ops.web.middleware import Asked
from gallery_ops.web.receipt_words import button_words, lede
from inventory.queries.orders import is_received
from inventory.services.receipts import receive_goods

MOST_FIELDS = 2_000
LONGEST_FIELD = 200
FIELD_OF = {
    "came": "came",
    "broken": "broken",
    "more": "more",
    "rest": "rest",
    "lot": "lot",
    "instead": "pack",
    "instead_packs": "packs",
    "instead_for": "for",
    "sealed": "keep",
    "cylinders": "came",
}
"""Where a refusal of the service belongs on this page."""
Typed = dict[str, str]


@staff("record")
@require_http_methods(["GET", "POST"])
def goods_receipt(request: Asked, uid: UUID) -> HttpResponse:
    """The page; the deed is named by the button that was pressed."""
    typed = _typed(request, uid)
    page = receipt_page(here(request), uid, typed, request.at)
    deed = request.POST.get("deed", "")
    action_id = action_id_of(typed.get("action_id", ""))
    if deed == "write" and action_id is not None and is_received(here(request), action_id):
        return redirect("order_detail", uid=uid)
    if request.method == "GET" or page.order.state not in {"sent", "part_received"}:
        return _show(request, page, typed)
    if deed == "leave":
        request.session[_key(uid)] = typed
        messages.info(request, _("Left half done. Nothing is booked; what you typed waits here."))
        return redirect("order_detail", uid=uid)
    if deed == "afresh":
        request.session.pop(_key(uid), None)
        return redirect("goods_receipt", uid=uid)
    if deed != "write":
        return _show(request, page, typed)
    trouble = _open_errors(page) or _write(request, page, typed)
    if trouble is not None:
        return _show(request, page, typed, trouble)
    request.session.pop(_key(uid), None)
    messages.success(request, _written(page))
    return redirect("order_detail", uid=uid)


def _write(request: Asked, page: ReceiptPage, typed: Typed) -> Refused | None:
    """Tell the service; what it refuses comes back to be shown."""
    return attempt(
        lambda: receive_goods(
            order=page.order,
            came=page.came,
            delivery_note=typed.get("delivery_note", ""),
            action_id=action_id_of(typed.get("action_id", "")),
            by=acting(request),
            at=request.at,
        )
    )


def _show(
    request: Asked, page: ReceiptPage, typed: Typed, trouble: Refused | None = None
) -> HttpResponse:
    first, second = lede(page)
    errors = _placed(page, trouble) if trouble is not None else {}
    _mark_wrong(page, errors)
    return render(
        request,
        "web/orders/receipt.html",
        {
            "page": page,
            "order": page.order,
            "first": first,
            "second": second,
            "button": button_words(page),
            "typed": typed,
            "action_id": typed.get("action_id") or str(uuid4()),
            "is_open": page.order.state in {"sent", "part_received"},
            "is_kept": request.method == "GET" and _key(page.order.uid) in request.session,
            "may_change": may(acting(request), "plan.change"),
            "trouble": trouble,
            "errors": errors,
            "here": "stock",
        },
        status=422 if trouble else 200,
    )


def _typed(request: Asked, uid: UUID) -> Typed:
    """What was sent now, with a step of a button done; else what was left half done."""
    if request.method == "GET":
        kept = request.session.get(_key(uid), {})
        return {str(key): str(value) for key, value in dict(kept).items()}
    typed = {
        key: str(value)[:LONGEST_FIELD] for key, value in list(request.POST.items())[:MOST_FIELDS]
    }
    typed.pop("csrfmiddlewaretoken", None)
    return _stepped(typed)


def _stepped(typed: Typed) -> Typed:
    """``step`` is a field and a sign, from a button that works without any script."""
    field, _sign, direction = typed.pop("step", "").rpartition(":")
    if field and direction in {"up", "down"}:
        now = typed.get(field, "")
        number = int(now) if now.isascii() and now.isdigit() and len(now) <= 6 else 0
        typed[field] = str(max(0, number + (1 if direction == "up" else -1)))
    return typed


def _key(uid: UUID) -> str:
    return f"receipt:{uid}"


def _open_errors(page: ReceiptPage) -> Refused | None:
    if not page.errors:
        return None
    n = len(page.errors)
    words = ngettext("%d thing to put right.", "%d things to put right.", n) % n
    return Refused("fields", words, page.errors)


def _placed(page: ReceiptPage, trouble: Refused) -> dict[str, str]:
    """Sentences by the field of this page where they belong."""
    numbers = {str(row.line.uid): row.number for row in page.rows}
    first = f"came-{page.rows[0].number}" if page.rows else "came"
    found = {}
    for name, words in trouble.fields.items():
        what, _colon, uid = name.partition(":")
        number = numbers.get(uid)
        if number is None:
            is_typed = trouble.code == "fields"
            place = first if name == "came" else name
            found[place] = words if is_typed else f"{trouble.sentence} {words}"
        elif what.startswith("cylinder_"):
            found[f"serial-{number}-{what.removeprefix('cylinder_')}"] = words
        else:
            found[f"{FIELD_OF.get(what, what)}-{number}"] = words
    return found


def _mark_wrong(page: ReceiptPage, errors: dict[str, str]) -> None:
    """Each field that was refused says so to whoever cannot see it."""
    for row in page.rows:
        for key in ("came", "broken", "lot", "best", "pack", "packs", "for"):
            if f"{key}-{row.number}" in errors:
                row.typed.raw[f"wrong_{key}"] = "yes"


def _written(page: ReceiptPage) -> str:
    pieces = sum(row.typed.whole + row.typed.packs for row in page.said)
    said = ngettext("%d pack is written down.", "%d packs are written down.", pieces) % pieces
    return f"{said} {_('Labels can be printed now.')}"
