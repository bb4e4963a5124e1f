"""What a tablet needs to open without a network: worker, manifest, a page that says what works."""

from __future__ import annotations

import hashlib
import json
from functools import cache
from pathlib import Path
from typing import Any
from urllib.parse import urljoin

from django.conf import settings
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import staticfiles_storage
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_safe

from maintenance.queries.cards import cards

WORKER = Path(__file__).parent.parent / "worker" / "worker.js"
FOLDERS = ("web/css/", "web/js/", "web/fonts/", "web/icons/")
LEFT_OUT = ("vendor/README.md", ".LICENSE.txt", "css/labels.css")


@require_safe
@cache_control(no_cache=True)
def service_worker(_request: HttpRequest) -> HttpResponse:
    """The worker, told which files and addresses make a round; its version is their hash."""
    return HttpResponse(
        worker_source(shell_files(), open_addresses()),
        content_type="text/javascript; charset=utf-8",
        headers={"Service-Worker-Allowed": "/"},
    )


@require_safe
@cache_control(public=True, max_age=3600)
def app_manifest(_request: HttpRequest) -> JsonResponse:
    """What a tablet shows when the gallery is put on its first screen."""
    icons = [
        {"src": static(f"web/icons/icon-{size}.png"), "sizes": f"{size}x{size}", "purpose": use}
        for size in (192, 512)
        for use in ("any", "maskable")
    ]
    said: dict[str, Any] = {
        "id": "/",
        "name": "Gallery Ops",
        "short_name": "Gallery Ops",
        "start_url": reverse("round_list"),
        "scope": "/",
        "display": "standalone",
        "background_color": "#f0f1e9",
        "theme_color": "#f0f1e9",
        "icons": [{**icon, "type": "image/png"} for icon in icons],
    }
    return JsonResponse(said, content_type="application/manifest+json")


@require_safe
@cache_control(no_cache=True)
def no_network(request: HttpRequest) -> HttpResponse:
    """Shown by the tablet itself: there is no network, and what works all the same."""
    return render(request, "web/errors/no_network.html")


def worker_source(files: list[str], addresses: dict[str, Any]) -> str:
    """The worker's text with what it must know written before it."""
    text = WORKER.read_text("utf-8")
    version = version_of(files, addresses)
    shell = json.dumps({"version": version, "files": files, **addresses})
    return f"const SHELL = {shell};\n{text}"


def version_of(files: list[str], addresses: dict[str, Any]) -> str:
    """The name of what a tablet keeps: the same as long as every file of it is the same."""
    text = WORKER.read_text("utf-8")
    return hashlib.sha256(json.dumps([files, addresses, text]).encode()).hexdigest()[:16]


@cache
def shell_version() -> str:
    """Of this program, for the pages that a tablet keeps."""
    return version_of(shell_files(), open_addresses())


@cache
def shell_files() -> list[str]:
    """Addresses of every file of our pages, under their hashed names where they have some."""
    found = set()
    for finder in finders.get_finders():
        found |= {path for path, _storage in finder.list([]) if path.startswith(FOLDERS)}
    kept = (path for path in found if not path.endswith(LEFT_OUT))
    return sorted(staticfiles_storage.url(path) for path in kept)


def open_addresses() -> dict[str, Any]:
    """Where the round is, and which pages are open to everybody."""
    some = "00000000-0000-0000-0000-000000000000"
    each = [reverse("emergency_card", args=[card.key]) for card in cards("en")]
    return {
        "static": urljoin("/", settings.STATIC_URL),
        "drawings": "/drawings/",
        "rounds": reverse("round_list"),
        "packs": reverse("api_pack", args=[some]).partition(some)[0],
        "signOut": reverse("sign_out"),
        "open": [reverse("first_minute"), *each],
        "noNetwork": reverse("no_network"),
    }
