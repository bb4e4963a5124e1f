"""Which address answers with which JSON?"""

from django.urls import URLPattern, URLResolver, path, re_path
from django.views.decorators.gzip import gzip_page

from gallery_ops.api.views import nothing, outbox, rounds

urlpatterns: list[URLPattern | URLResolver] = [
    path("rounds/<uuid:uid>/pack", gzip_page(rounds.RoundPackView.as_view()), name="api_pack"),
    path("outbox", outbox.OutboxView.as_view(), name="api_outbox"),
    re_path(r"", nothing.NothingView.as_view(), name="api_nothing"),
]
