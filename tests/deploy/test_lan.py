"""Does --lan say what it cannot do, and does the gallery then answer to the right names?"""

from pathlib import Path

import pytest

pytestmark = pytest.mark.once


def plan(folder: Path, *words: str):  # type: ignore[no-untyped-def]  # a program of deploy/
    import bring_up

    return bring_up.make_plan(bring_up.read_options(["--data", str(folder), *words]))


def test_without_it_this_machine_only_and_plain_http(tmp_path: Path) -> None:
    import bring_up

    found = plan(tmp_path)
    assert (found.host, found.port, found.lan) == ("127.0.0.1", 8000, None)
    assert "door" not in bring_up.commands(Path("python"), found)
    assert "--certfile" not in bring_up.commands(Path("python"), found)["web"]
    assert "GALLERY_OPS_LAN_URL" not in bring_up.child_environment(found)


def test_with_it_the_house_by_https_and_a_door_without(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import bring_up

    monkeypatch.setenv("GALLERY_OPS_HOSTS", "other.example")
    found = plan(tmp_path, "--lan", "Gallery.LAN")
    assert found.address == "https://gallery.lan:8443/"
    started = bring_up.commands(Path("python"), found)
    server = str(tmp_path / "certificate/gallery.lan/server.pem")
    for option in ("--certfile", "--keyfile"):
        assert started["web"][started["web"].index(option) + 1] == server
    assert started["web"][started["web"].index("--bind") + 1] == "0.0.0.0:8443"
    assert started["door"][started["door"].index("--bind") + 1] == "0.0.0.0:8080"
    assert "gallery_ops.certificate.door:application" in started["door"]
    settings = bring_up.child_environment(found)
    assert settings["GALLERY_OPS_HOSTS"] == "other.example,gallery.lan"
    assert settings["GALLERY_OPS_LAN_URL"] == "https://gallery.lan:8443"
    assert settings["GALLERY_OPS_TRUST_URL"] == "http://gallery.lan:8080"


def test_an_address_beside_the_name_is_what_tablets_ask_for(tmp_path: Path) -> None:
    words = ("--lan", "gallery.lan", "--lan-ip", "192.168.1.20", "--port", "443")
    found = plan(tmp_path, *words, "--trust-port", "80").lan
    assert (found.url, found.door_url) == ("https://192.168.1.20", "http://192.168.1.20")
    assert found.hosts() == ["gallery.lan", "192.168.1.20"]
    six = plan(tmp_path, "--lan", "gallery.lan", "--lan-ip", "fd00::1").lan
    assert six.url == "https://[fd00::1]:8443"
    assert six.hosts() == ["gallery.lan", "[fd00::1]"]


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["--lan-ip", "192.168.1.20"], "go with --lan NAME only"),
        (["--trust-port", "8081"], "go with --lan NAME only"),
        (["--lan", "a.lan", "--port", "8080"], "cannot share port 8080"),
    ],
)
def test_words_that_do_not_go_together_are_named(
    tmp_path: Path, words: list[str], sentence: str
) -> None:
    import environment

    with pytest.raises(environment.Trouble, match=sentence):
        plan(tmp_path, *words)


def test_a_proxy_in_front_and_https_of_its_own_exclude_each_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import environment

    monkeypatch.setenv("GALLERY_OPS_HTTPS", "on")
    with pytest.raises(environment.Trouble, match="Take out one of them"):
        plan(tmp_path, "--lan", "gallery.lan")


@pytest.mark.parametrize(
    ("found", "words", "sentences"),
    [
        ({"192.168.1.20"}, [], ["The name gallery.lan leads to 192.168.1.20."]),
        (set(), [], ["gallery.lan is not known; tablets must find it at 192.168.1.20", "router"]),
        ({"10.0.0.9"}, [], ["gallery.lan leads to 10.0.0.9; tablets must find it at 192.168.1.20"]),
        (set(), ["--lan-ip", "192.168.1.20"], []),
    ],
)
def test_it_says_where_the_name_leads(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    found: set[str],
    words: list[str],
    sentences: list[str],
) -> None:
    import lan

    def asked(*_: object) -> list[tuple[object, ...]]:
        if not found:
            raise lan.socket.gaierror("not known")
        return [(None, None, None, None, (address, 8443)) for address in found]

    monkeypatch.setattr(lan.socket, "getaddrinfo", asked)
    said = "\n".join(
        lan.name_words(plan(tmp_path, "--lan", "gallery.lan", *words).lan, "192.168.1.20")
    )
    assert all(sentence in said for sentence in sentences)
    assert bool(said) is bool(sentences)


def test_a_name_that_is_announced_needs_the_machines_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import lan

    monkeypatch.setattr(lan.socket, "getaddrinfo", lambda *_: [])
    said = lan.name_words(plan(tmp_path, "--lan", "undershore.local").lan, None)
    assert any("call it 'undershore'" in line and "avahi-daemon" in line for line in said)


def test_it_looks_at_the_certificate_each_day_until_the_gallery_stops() -> None:
    import subprocess
    import threading

    import lan

    class Days(threading.Event):
        waited: list[float]

        def wait(self, timeout: float | None = None) -> bool:
            self.waited.append(timeout or 0)
            return len(self.waited) > 3

    stop, said = Days(), []
    stop.waited = []
    outcomes = iter([("", ""), ("renewed", ""), ("", "the clock is wrong")])
    lan.renew_daily(
        lambda: subprocess.CompletedProcess([], 0, *next(outcomes)),
        lambda name, line: said.append((name, line)),
        stop,
    )
    assert stop.waited == [24 * 3600.0] * 4
    assert said == [("start", "renewed"), ("start", "the clock is wrong")]
