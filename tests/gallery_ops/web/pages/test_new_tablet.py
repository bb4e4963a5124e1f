"""A tablet from its box to its first round: does each page say what is true of its own address?"""

from __future__ import annotations

import re
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from gallery_ops.certificate.kept import State, ensure, folder_of
from gallery_ops.kernel.models import Membership
from gallery_ops.web.door_page import write_door_page
from gallery_ops.web.reach import is_this_machine
from tests.builders.people import AT, a_member, a_showroom, an_owner
from tests.gallery_ops.web.pages.addresses import signed_in
from tests.gallery_ops.web.squares import picture, read_back

pytestmark = pytest.mark.django_db

NO_NETWORK = "This address begins with http"


@pytest.fixture
def owner(monkeypatch: pytest.MonkeyPatch) -> Membership:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", AT.strftime("%Y-%m-%dT%H:%M"))
    return an_owner(a_showroom())


@pytest.fixture
def own(settings: Any, tmp_path: Path) -> State:
    """A gallery that was started with --lan gallery.lan."""
    folder = folder_of(tmp_path, "gallery.lan")
    state = ensure(folder, "gallery.lan", None, datetime.fromtimestamp(time.time(), UTC))
    settings.LAN_URL = "https://gallery.lan:8443"
    settings.TRUST_URL = "http://gallery.lan:8080"
    settings.CERTIFICATE_DIR = str(folder)
    return state


def page(client: Client, name: str, **asked: object) -> str:
    answer = client.get(reverse(name), **asked)  # type: ignore[arg-type]
    assert answer.status_code == 200
    return answer.content.decode()


def square(words: str) -> tuple[str, str]:
    """What stands in the drawn code of a page, and its error level."""
    return read_back(picture(words[words.index('class="tab-qr"') :]))


def test_with_a_certificate_of_its_own_it_walks_through_trusting(
    owner: Membership, own: State
) -> None:
    words = page(signed_in(owner), "device_begin", secure=True)
    lines = re.findall(r"<span>((?:[0-9A-F]{2} ){7}[0-9A-F]{2})</span>", words)
    assert ":".join(" ".join(lines).split()) == own.fingerprint
    assert square(words) == ("http://gallery.lan:8080/", "Q")
    assert "https://gallery.lan:8443/tablets/enrol/" in words
    assert words.count('<svg class="tab-pic"') == 5
    assert "In its settings remove the certificate of gallery.lan" in words
    assert "deploy/start" not in words


def test_a_code_made_there_enrols_a_tablet(owner: Membership, own: State) -> None:
    words = signed_in(owner).post(reverse("device_begin"), secure=True).content.decode()
    code = re.search(r'class="code-quote">([A-Z0-9]{4}-[A-Z0-9]{4})<', words)
    assert code
    typed = {"code": code[1], "name": "tablet of zone A"}
    assert Client().post(reverse("device_enrol"), typed, secure=True).status_code == 302


def test_behind_a_proxy_nothing_has_to_be_trusted(owner: Membership) -> None:
    words = page(signed_in(owner), "device_begin", secure=True)
    assert "<b>Three steps</b>" in words
    assert square(words) == ("https://testserver/tablets/enrol/", "Q")
    assert words.count('<svg class="tab-pic"') == 3
    assert "ertificate" not in words


@pytest.mark.parametrize(
    ("host", "sentence"),
    [("testserver", "It begins with http"), ("127.0.0.1", "It leads to this machine only")],
)
def test_by_plain_http_it_says_why_not_and_how(owner: Membership, host: str, sentence: str) -> None:
    words = page(signed_in(owner), "device_begin", HTTP_HOST=host)
    assert sentence in words
    assert "deploy/start --lan gallery.lan" in words
    assert "GALLERY_OPS_HTTPS=on" in words
    assert "tab-qr" not in words


@pytest.mark.parametrize("name", ["round_list", "device_enrol"])
def test_the_round_says_at_once_when_it_cannot_open_without_the_network(
    owner: Membership, name: str
) -> None:
    browser = signed_in(owner)
    assert NO_NETWORK in page(browser, name)
    assert reverse("device_begin") in page(browser, name)
    assert NO_NETWORK not in page(browser, name, secure=True)
    assert NO_NETWORK not in page(browser, name, HTTP_HOST="localhost:8000")


def test_a_carer_makes_no_code(owner: Membership, own: State) -> None:
    carer = signed_in(a_member(owner, name="Bram Tolliver"))
    assert carer.get(reverse("device_begin"), secure=True).status_code == 403
    assert carer.post(reverse("device_begin"), secure=True).status_code == 403


def test_the_page_without_https_gives_the_certificate_and_no_fingerprint(own: State) -> None:
    write_door_page()
    written = {path.name: path.read_bytes() for path in (own.folder / "page").iterdir()}
    assert written["gallery.crt"] == (own.folder / "authority.crt").read_bytes()
    assert b"PRIVATE" not in written["gallery.crt"]
    words = written["index.html"].decode()
    assert 'href="gallery.crt"' in words
    assert "https://gallery.lan:8443/tablets/enrol/" in words
    assert " ".join(own.fingerprint.split(":")[:8]) not in words
    assert not re.search("<script|<form|<input|csrf", words)


def test_without_lan_no_page_is_written(settings: Any, own: State) -> None:
    settings.LAN_URL = ""
    write_door_page()
    assert not (own.folder / "page").exists()


@pytest.mark.parametrize(
    ("url", "is_here"),
    [
        # W3C Secure Contexts, 3.1: 127.0.0.0/8, ::1, localhost and what ends with .localhost
        ("http://localhost:8000/", True),
        ("http://gallery.localhost/", True),
        ("http://127.0.0.1/", True),
        ("http://127.9.9.9/", True),
        ("http://[::1]:8000/", True),
        ("http://192.168.1.20:8000/", False),
        ("http://gallery.lan/", False),
        ("http://localhost.example/", False),
    ],
)
def test_what_a_browser_trusts_without_https(url: str, is_here: bool) -> None:
    assert is_this_machine(url) is is_here
