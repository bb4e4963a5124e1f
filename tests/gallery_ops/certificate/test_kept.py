"""Is the certificate kept for its owner only, and renewed before anybody misses it?"""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from gallery_ops.certificate.__main__ import main
from gallery_ops.certificate.kept import (
    State,
    Trouble,
    ensure,
    folder_of,
    read_state,
    write_page,
)
from tests.gallery_ops.certificate.handshake import greet, tablet

pytestmark = pytest.mark.once

NAME = "gallery.lan"
NOW = datetime.fromtimestamp(time.time(), UTC)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return folder_of(tmp_path, NAME)


def kept(folder: Path, after: timedelta = timedelta(), address: str | None = None) -> State:
    return ensure(folder, NAME, address, NOW + after)


def test_only_the_owner_reads_it(folder: Path) -> None:
    kept(folder)
    assert folder.stat().st_mode & 0o777 == 0o700
    assert folder.parent.stat().st_mode & 0o777 == 0o700
    files = {path.name: path.stat().st_mode & 0o777 for path in folder.iterdir()}
    assert files == {"authority.crt": 0o600, "signer.pem": 0o600, "server.pem": 0o600}
    secret = [path.name for path in folder.iterdir() if b"PRIVATE KEY" in path.read_bytes()]
    assert sorted(secret) == ["server.pem", "signer.pem"]


def test_what_others_could_read_is_closed_and_said(folder: Path) -> None:
    kept(folder)
    (folder / "server.pem").chmod(0o644)
    folder.chmod(0o755)
    said = kept(folder).said
    assert len(said) == 2
    assert all("could be read by other users of this machine; it is closed now" in s for s in said)
    assert (folder / "server.pem").stat().st_mode & 0o777 == 0o600
    assert kept(folder).said == ()


def test_nothing_is_made_twice(folder: Path) -> None:
    first = kept(folder)
    assert len(first.said) == 2
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    again = kept(folder, timedelta(days=300))
    assert again.said == ()
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before
    assert again.fingerprint == first.fingerprint


def test_a_leaf_is_renewed_sixty_days_before_its_end_and_tablets_need_not_know(
    folder: Path,
) -> None:
    first = kept(folder)
    trusts = tablet(folder / "authority.crt")
    leaf = first.server_file.read_bytes()
    renewed = kept(folder, first.leaf_until - NOW - timedelta(days=59))
    assert renewed.server_file.read_bytes() != leaf
    assert renewed.leaf_until > first.leaf_until + timedelta(days=300)
    assert len(renewed.said) == 1
    assert "The gallery's https certificate holds until" in renewed.said[0]
    assert renewed.fingerprint == first.fingerprint
    kept(folder)  # that clock was wrong: what it made is not valid yet, so once more
    assert greet(trusts, first.server_file, NAME) == "TLSv1.3"


def test_an_authority_that_ended_is_set_aside_and_said(folder: Path) -> None:
    first = kept(folder)
    soon = kept(folder, timedelta(days=3650 - 100))
    assert "The certificate that tablets trust ends on" in soon.said[0]
    assert soon.leaf_until == soon.authority_until
    anew = kept(folder, timedelta(days=3651))
    assert "each tablet must trust it once" in anew.said[0]
    assert anew.fingerprint != first.fingerprint
    assert [p.name for p in folder.parent.iterdir() if ".ended-" in p.name]


def test_an_address_cannot_be_added_afterwards(folder: Path) -> None:
    kept(folder)
    with pytest.raises(Trouble, match="allows no address, and cannot be changed"):
        kept(folder, address="192.168.1.20")
    other = folder_of(folder.parent / "other", NAME)
    ensure(other, NAME, "192.168.1.20", NOW)
    with pytest.raises(Trouble, match=r"is for the address 192\.168\.1\.20"):
        ensure(other, NAME, "192.168.1.21", NOW)
    assert len(ensure(other, NAME, None, NOW).said) == 1  # a leaf without it, no new authority


def test_a_clock_before_the_program_was_written_is_named(folder: Path) -> None:
    with pytest.raises(Trouble, match="clock of this machine says 01 January 1970"):
        ensure(folder, NAME, None, datetime(1970, 1, 1, tzinfo=UTC))
    assert not folder.exists()


def test_a_damaged_file_is_named(folder: Path) -> None:
    kept(folder)
    (folder / "server.pem").write_text("half a cert")
    assert read_state(folder) is None
    with pytest.raises(Trouble, match="is damaged"):
        kept(folder)
    assert (folder / "authority.crt").exists()


def test_the_page_is_exchanged_whole(folder: Path) -> None:
    kept(folder)
    write_page(folder, {"index.html": b"old", "left.txt": b"gone"})
    write_page(folder, {"index.html": b"new"})
    assert [(p.name, p.read_bytes()) for p in (folder / "page").iterdir()] == [
        ("index.html", b"new")
    ]


def test_at_a_prompt(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = [NAME, "--data", str(tmp_path), "--show", "http://gallery.lan:8080/"]
    assert main(words) == 0
    state = read_state(folder_of(tmp_path, NAME))
    said = capsys.readouterr().out
    assert state is not None
    assert f"Fingerprint to compare there: {state.fingerprint}" in said
    assert main([*words, "--lan-ip", "192.168.1.20"]) == 1
    assert "allows no address" in capsys.readouterr().err
    assert main(["localhost", "--data", str(tmp_path)]) == 1
    assert "leads each device to itself" in capsys.readouterr().err
