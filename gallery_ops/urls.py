"""Which door leads where? Endpoints under /api/v1/, the read-only admin, pages for all the rest."""

from django.contrib import admin
from django.urls import include, path

urlpatterns = [
    path("api/v1/", include("gallery_ops.api.urls")),
    path("admin/", admin.site.urls),
    path("", include("gallery_ops.web.urls")),
]

handler400 = "gallery_ops.web.faults.bad_request"
handler403 = "gallery_ops.web.faults.forbidden"
handler404 = "gallery_ops.web.faults.not_found"
handler500 = "gallery_ops.web.faults.broken"
