"""The outbox of a tablet that cannot send comes in as a file, on any machine."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from gallery_ops.kernel.errors import Refused
from gallery_ops.overview.saved_outbox import result_of
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.forms.saved_file import SavedFileForm
from gallery_ops.web.middleware import Asked
from maintenance.actions.saved_file import MOST_FILE_BYTES, bring_in_saved, read_saved

TEMPLATE = "web/held/saved_outbox.html"


@staff("device.enrol")
@require_http_methods(["GET", "POST"])
def saved_outbox(request: Asked) -> HttpResponse:
    """Judged by the same service as what is sent; once more brings nothing twice."""
    if request.method == "GET":
        return render(request, TEMPLATE, {"form": SavedFileForm()})
    form = SavedFileForm(request.POST, request.FILES)
    if not form.is_valid():
        return render(request, TEMPLATE, {"form": form}, status=422)
    try:
        saved = read_saved(form.cleaned_data["file"].read(MOST_FILE_BYTES + 1))
        judged = bring_in_saved(
            showroom=here(request), by=acting(request), saved=saved, at=request.at
        )
    except Refused as no:
        words = [no.sentence, *no.fields.values(), no.remedy]
        form.add_error("file", " ".join(word for word in words if word))
        return render(request, TEMPLATE, {"form": form}, status=422)
    name = str(form.cleaned_data["file"].name or "")[:100]
    result = result_of(judged)
    return render(request, TEMPLATE, {"form": SavedFileForm(), "result": result, "name": name})
