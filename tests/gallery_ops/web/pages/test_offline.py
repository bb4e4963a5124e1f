"""What the tablet is given so that it opens without a network."""

from __future__ import annotations

import json
import re

import pytest
from django.test import Client
from django.urls import reverse

from gallery_ops.web.pages.offline import open_addresses, shell_files, worker_source


def _shell(text: str) -> dict[str, object]:
    found = re.match(r"const SHELL = (\{.*\});\n", text)
    assert found is not None
    told: dict[str, object] = json.loads(found.group(1))
    return told


@pytest.mark.django_db
def test_the_worker_comes_from_the_root_and_knows_this_gallerys_addresses() -> None:
    answer = Client().get(reverse("service_worker"))
    assert reverse("service_worker").count("/") == 1
    assert answer["Service-Worker-Allowed"] == "/"
    assert answer["Content-Type"].startswith("text/javascript")
    assert "no-cache" in answer["Cache-Control"]
    told = _shell(answer.content.decode())
    assert told["rounds"] == reverse("round_list")
    assert told["signOut"] == reverse("sign_out")
    assert reverse("api_pack", args=["7c9e6679-7425-40de-944b-e07fc1f90ae7"]).startswith(
        str(told["packs"])
    )
    assert reverse("first_minute") in told["open"]  # type: ignore[operator]
    assert reverse("emergency_card", args=["gas"]) in told["open"]  # type: ignore[operator]


@pytest.mark.django_db
def test_every_page_that_is_kept_without_a_name_opens_for_everybody() -> None:
    addresses = open_addresses()
    for address in [*addresses["open"], addresses["noNetwork"]]:
        assert Client().get(address).status_code == 200, address


def test_every_module_of_the_round_is_among_the_files() -> None:
    files = " ".join(shell_files())
    for part in ("js/round/main", "js/outbox/tablet_store", "css/round", "fonts/atkinson"):
        assert part in files


def test_a_changed_file_makes_a_new_version() -> None:
    one = _shell(worker_source(["/static/a.1.js"], {}))
    other = _shell(worker_source(["/static/a.2.js"], {}))
    assert one["version"] != other["version"]


@pytest.mark.django_db
def test_the_manifest_names_pictures_that_are_there() -> None:
    answer = Client().get(reverse("app_manifest"))
    assert answer["Content-Type"] == "application/manifest+json"
    said = answer.json()
    assert said["display"] == "standalone"
    assert said["start_url"] == reverse("round_list")
    assert {icon["sizes"] for icon in said["icons"]} == {"192x192", "512x512"}
    for icon in said["icons"]:
        assert "icon-" in icon["src"]
