"""A list of tanks comes in: read first, then, if it is meant so, written; and taken back."""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from gallery_ops.fleet_file import shelf
from gallery_ops.fleet_file.apply import bring_in
from gallery_ops.fleet_file.dry_run import DryRun, dry_run
from gallery_ops.fleet_file.read import NotReadable
from gallery_ops.fleet_file.read.bounds import FILE_BYTES
from gallery_ops.fleet_file.undo import HOURS, undo_import
from gallery_ops.kernel.errors import Refused
from gallery_ops.overview.import_page import (
    MOST_AT_A_DESK,
    column_names,
    import_page,
    problems_csv,
)
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.forms.importing import FileForm
from gallery_ops.web.middleware import Asked
from maintenance.queries.imports import import_of, latest_imports

KEPT_COUNT = 60


@staff("import")
@require_http_methods(["GET", "POST"])
def fleet_import(request: Asked) -> HttpResponse:
    """Dry run always first; the deed is named by the button that was pressed."""
    if request.method == "GET":
        return _ask(request, FileForm())
    if request.POST.get("deed") == "undo":
        return _undo(request)
    is_here = bool(request.POST.get("kept"))
    form = FileForm(request.POST, request.FILES, is_here=is_here)
    if not form.is_valid():
        return _ask(request, form, status=422)
    content, name = _content(request)
    if content is None:
        form.add_error("file", _("Choose the file once more: it is not here any longer."))
        return _ask(request, form, status=422)
    try:
        found = dry_run(here(request), content, request.at, form.wishes(_meanings(request)))
    except NotReadable as refused:
        field = {"ask_unit": "length_unit", "one_column": "separator", "no_sheet": "sheet"}
        form.add_error(field.get(refused.code, "file"), refused.sentence)
        return _ask(request, form, status=422, kept=_kept(request, content, name))
    if request.POST.get("deed") == "problems":
        return _problems(found)
    kept = _kept(request, content, name)
    if request.POST.get("deed") == "bring":
        return _bring(request, form, found, kept)
    return _show(request, form, found, kept)


def _folder() -> Path:
    return Path(settings.DATA_DIR) / "imports"


def _content(request: Asked) -> tuple[bytes | None, str]:
    """The file that was sent now, else the one that was kept from the dry run."""
    sent = request.FILES.get("file")
    if sent is not None:
        return sent.read(FILE_BYTES + 1), str(sent.name or "")[:200]
    name = request.POST.get("name", "")[:200]
    return shelf.take(_folder(), here(request), request.POST.get("kept", "")), name


def _kept(request: Asked, content: bytes, name: str) -> dict[str, str]:
    """What the page sends back: by which name the file lies here, and how it was called."""
    if len(content) > FILE_BYTES:
        return {}
    return {
        "kept": shelf.keep(_folder(), here(request), content, request.at),
        "name": name or _("list"),
    }


def _meanings(request: Asked) -> dict[str, str]:
    """What was chosen for columns whose heading is not known, by letter."""
    found = {}
    for key, value in list(request.POST.items())[:400]:
        match = re.fullmatch(r"means_([A-Z]{1,3})", key)
        if match and value:
            found[match[1]] = str(value)
    return found


def _ask(
    request: Asked, form: FileForm, *, status: int = 200, kept: dict[str, str] | None = None
) -> HttpResponse:
    since = request.at - timedelta(hours=HOURS)
    return render(
        request,
        "web/importing/ask.html",
        {
            "here": "tanks",
            "form": form,
            "imports": latest_imports(here(request), since),
            "kept": kept or {},
        },
        status=status,
    )


def _show(
    request: Asked,
    form: FileForm,
    found: DryRun,
    kept: dict[str, str],
    *,
    trouble: Refused | None = None,
) -> HttpResponse:
    context: dict[str, Any] = {
        "here": "tanks",
        "form": form,
        "kept": kept,
        "page": import_page(found.plan),
        "column_names": column_names(),
        "chosen": _meanings(request),
        "trouble": trouble,
        "hours": HOURS,
        "too_many": _too_many(),
    }
    return render(request, "web/importing/dry_run.html", context, status=409 if trouble else 200)


def _bring(request: Asked, form: FileForm, found: DryRun, kept: dict[str, str]) -> HttpResponse:
    if request.POST.get("digest") != found.plan.digest:
        trouble = Refused(
            "changed_meanwhile",
            _("Something changed in the gallery since this list was read. Nothing was written."),
            remedy=_("Look at it once more, then bring it in."),
        )
        return _show(request, form, found, kept, trouble=trouble)
    if import_page(found.plan).is_too_many:
        return _show(request, form, found, kept, trouble=Refused("too_many_here", _too_many()))
    try:
        run = bring_in(
            showroom=here(request),
            plan=found.plan,
            now=found.now,
            file_name=kept["name"],
            by=acting(request),
            at=request.at,
            leave_out=bool(request.POST.get("leave_out")),
        )
    except Refused as refused:
        return _show(request, form, found, kept, trouble=refused)
    if run is None:
        messages.info(request, _("Everything stands as the list says. Nothing was written."))
    else:
        said = ngettext(
            "%(count)d tank was written from %(name)s. It can be taken back for %(hours)d hours.",
            "%(count)d tanks were written from %(name)s. They can be taken back for "
            "%(hours)d hours.",
            run.rows,
        )
        messages.success(request, said % {"count": run.rows, "name": run.file_name, "hours": HOURS})
    return redirect("fleet_import")


def _too_many() -> str:
    return _(
        "This is more than %(most)d tanks, and writing them would keep a round waiting. Bring "
        "them in by the command import_fleet when nobody is on a round, or in several files."
    ) % {"most": MOST_AT_A_DESK}


def _undo(request: Asked) -> HttpResponse:
    run = import_of(here(request), request.POST.get("kept", ""))
    try:
        result = undo_import(run=run, by=acting(request), at=request.at)
    except Refused as refused:
        messages.error(request, str(refused))
        return redirect("fleet_import")
    messages.success(
        request,
        _("%(name)s was taken back: %(tanks)d tanks, %(changes)d changes.")
        % {"name": run.file_name, "tanks": len(result.voided), "changes": result.restored},
    )
    for line in result.kept[:KEPT_COUNT]:
        messages.info(request, _("Kept, since something was written: %(line)s.") % {"line": line})
    return redirect("fleet_import")


def _problems(found: DryRun) -> HttpResponse:
    """All problems as a file, for the one who keeps the list."""
    answer = HttpResponse(
        "\ufeff" + problems_csv(found.plan), content_type="text/csv; charset=utf-8"
    )
    answer["Content-Disposition"] = 'attachment; filename="to-put-right.csv"'
    return answer
