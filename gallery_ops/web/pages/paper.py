"""The paper round: its sheet for the printer, and one page on which it is typed in by keyboard."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_http_methods

from gallery_ops.overview.paper_round import Outcome, Sheet, print_sheet, type_in
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.middleware import Asked
from maintenance.queries.rounds import round_by_code
from maintenance.schedule.paper import Row


@staff("record")
@require_GET
def round_paper(request: Asked, code: str) -> HttpResponse:
    """The round of a zone in walking order, on A4."""
    round_ = round_by_code(here(request), code)
    found = print_sheet(round_, acting(request), request.at, drawn=True)
    return render(request, "web/paper/sheet.html", {"round": round_, "sheet": found})


@staff("record")
@require_http_methods(["GET", "POST"])
def paper_enter(request: Asked, code: str) -> HttpResponse:
    """The same order, box by box; Enter goes on. What is refused stays with its sentence."""
    round_, by = round_by_code(here(request), code), acting(request)
    typed: dict[str, str] = {}
    outcome = Outcome()
    if request.method == "POST":
        typed = {key: str(value)[:600] for key, value in request.POST.items()}
        outcome = type_in(round_=round_, by=by, typed=typed, at=request.at)
        for words in _told(outcome):
            messages.success(request, words)
        if not outcome.wrong:
            return redirect("paper_enter", code=code)
        round_.refresh_from_db()
    found = print_sheet(round_, by, request.at)
    wrong = {int(name.partition(".")[0]) for name in outcome.wrong}
    return render(
        request,
        "web/paper/enter.html",
        {
            "round": round_,
            "sheet": found,
            "rows": [_row(row, typed if row.order in wrong else {}, outcome) for row in found.rows],
            "walker": typed.get("walker") or str(by.person.uid),
            "errors": _errors(found, outcome),
            "here": "today",
        },
        status=422 if outcome.wrong else 200,
    )


def _row(row: Row, typed: dict[str, str], outcome: Outcome) -> dict[str, Any]:
    """A stop with its fields; what counts already is shown and not asked for again."""

    def one(key: str) -> dict[str, Any]:
        name = f"{row.order}.{key}"
        return {
            "name": name,
            "id": f"b{row.order}-{key}",
            "text": typed.get(name, ""),
            "wrong": outcome.wrong.get(name, ""),
        }

    fields = [{**one(box.key), "box": box} for box in row.boxes]
    return {
        "row": row,
        "time": one("time"),
        "fields": fields,
        "note": one("note"),
        "is_open": any(not field["box"].settled for field in fields),
    }


def _errors(found: Sheet, outcome: Outcome) -> list[dict[str, str]]:
    codes = {row.order: row.code or row.title for row in found.rows}
    errors = []
    for name, sentence in outcome.wrong.items():
        order, _dot, key = name.partition(".")
        errors.append({"id": f"b{order}-{key}", "sentence": f"{codes[int(order)]}. {sentence}"})
    return errors


def _told(outcome: Outcome) -> list[str]:
    words = []
    if n := len(outcome.entered):
        said = ngettext("%(n)d stop is entered.", "%(n)d stops are entered.", n)
        words.append(said % {"n": n})
    if n := len(outcome.known):
        said = ngettext(
            "%(n)d stop was entered before and counts once.",
            "%(n)d stops were entered before and count once.",
            n,
        )
        words.append(said % {"n": n})
    if outcome.late:
        words.append(
            _("Done more than twelve hours ago, marked as entered late: %(tanks)s.")
            % {"tanks": ", ".join(outcome.late)}
        )
    return words
