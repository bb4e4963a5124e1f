"""The folder of a gallery's certificate: made once, renewed by itself, read by its owner only.

    <data>/certificate/<name>/authority.crt   what tablets trust; anybody may have it
                              signer.pem      key and certificate that sign the leaf
                              server.pem      key, leaf and signer: what the web server is given
                              page/           what the door hands out, written by get_ready

Each file is written whole under another name and then put in place, so that a kill at any line
leaves the old one or the new one. The web server reads `server.pem` at each connection.
"""

from __future__ import annotations

import os
import secrets
import shutil
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives.serialization import load_pem_private_key

from gallery_ops.certificate.authority import (
    Key,
    fingerprint,
    key_pem,
    make_authority,
    make_leaf,
    pem,
)

RENEW_BEFORE = timedelta(days=60)
WRITTEN = datetime(2026, 1, 1, tzinfo=UTC)  # a clock before this program was written is wrong


class Trouble(Exception):
    """A sentence for people: what is wrong with the folder or the clock, and what to do."""


@dataclass(frozen=True)
class State:
    """What is kept, and what this call did. Times are aware; `said` are sentences for people."""

    folder: Path
    fingerprint: str
    authority_until: datetime
    leaf_until: datetime
    said: tuple[str, ...] = ()

    @property
    def server_file(self) -> Path:
        return self.folder / "server.pem"


def folder_of(data: Path, name: str) -> Path:
    """One folder for each name: a gallery that takes another name and comes back is known."""
    return data / "certificate" / name


def ensure(folder: Path, name: str, address: str | None, at: datetime) -> State:
    """Make what is missing, renew what ends soon, close what others could read. Raises Trouble."""
    if at < WRITTEN:
        raise Trouble(
            f"The clock of this machine says {at:%d %B %Y}, and a certificate made then would be "
            "refused by every tablet. Set the clock, then start again."
        )
    try:
        said = [*_close(folder), *_authority(folder, name, address, at)]
        said += _leaf(folder, name, address, at)
    except OSError as trouble:
        raise Trouble(
            f"The certificate's folder {folder} cannot be used ({trouble.strerror}). Its owner "
            "must be the user that runs Gallery Ops."
        ) from None
    except ValueError as trouble:
        raise Trouble(
            f"A file in {folder} is damaged ({trouble}). Put it back from a copy, or move the "
            "folder away: a new certificate is then made, which every tablet must trust anew."
        ) from None
    return _state(folder, tuple(said))


def read_state(folder: Path) -> State | None:
    """What is kept; None where nothing is, or where this process may not read it."""
    try:
        return _state(folder, ())
    except (OSError, ValueError):
        return None


def _state(folder: Path, said: tuple[str, ...]) -> State:
    authority = _certificate(folder / "authority.crt")
    leaf = _certificate(folder / "server.pem")
    return State(
        folder,
        fingerprint(authority),
        authority.not_valid_after_utc,
        leaf.not_valid_after_utc,
        said,
    )


# --- parts -------------------------------------------------------------------------------------
def _authority(folder: Path, name: str, address: str | None, at: datetime) -> list[str]:
    said = "This gallery's certificate is new: each tablet must trust it once."
    if (folder / "authority.crt").exists():
        authority = _certificate(folder / "authority.crt")
        ends = authority.not_valid_after_utc
        if at < ends:
            _must_allow(authority, folder, address)
            soon = ends - at < 3 * RENEW_BEFORE
            return [_ends_soon(ends)] if soon else []
        folder.rename(folder.with_name(f"{folder.name}.ended-{ends:%Y-%m-%d}"))
        said = f"The certificate that tablets trusted ended on {ends:%d %B %Y}. {said}"
    made = make_authority(name, address, at)
    for above in (folder.parent, folder):
        above.mkdir(mode=0o700, parents=True, exist_ok=True)
    _put(folder / "signer.pem", key_pem(made.signer_key) + pem(made.signer))
    (folder / "server.pem").unlink(missing_ok=True)
    _put(folder / "authority.crt", pem(made.authority))  # last: it says that the others are there
    return [said]


def _ends_soon(ends: datetime) -> str:
    return (
        f"The certificate that tablets trust ends on {ends:%d %B %Y}. Before that day choose a "
        "quiet hour, stop the gallery, move its folder away and start again: each tablet then "
        "trusts the new one."
    )


def _must_allow(authority: x509.Certificate, folder: Path, address: str | None) -> None:
    """An authority is limited for good to the address it was made with, or to none."""
    limits = authority.extensions.get_extension_for_class(x509.NameConstraints).value
    allowed = next(
        (
            str(each.value).partition("/")[0]
            for each in limits.permitted_subtrees or []
            if isinstance(each, x509.IPAddress)
        ),
        None,
    )
    if address and address != allowed:
        what = f"is for the address {allowed}" if allowed else "allows no address"
        raise Trouble(
            f"The certificate that tablets trust {what}, and cannot be changed. Leave --lan-ip "
            f"as it was, or move the folder {folder} away: a new certificate is then made, which "
            "every tablet must trust anew."
        )


def _leaf(folder: Path, name: str, address: str | None, at: datetime) -> list[str]:
    file = folder / "server.pem"
    if file.exists() and _still_serves(_certificate(file), address, at):
        return []
    signer, signer_key = _certificate(folder / "signer.pem"), _key(folder / "signer.pem")
    leaf, key = make_leaf(signer, signer_key, name, address, at)
    _put(file, key_pem(key) + pem(leaf) + pem(signer))
    return [f"The gallery's https certificate holds until {leaf.not_valid_after_utc:%d %B %Y}."]


def _still_serves(leaf: x509.Certificate, address: str | None, at: datetime) -> bool:
    names = leaf.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    addresses = [str(each) for each in names.get_values_for_type(x509.IPAddress)]
    in_time = leaf.not_valid_before_utc <= at < leaf.not_valid_after_utc - RENEW_BEFORE
    return in_time and addresses == ([address] if address else [])


# --- files -------------------------------------------------------------------------------------
def _close(folder: Path) -> list[str]:
    """Take from others what they could read, and say so: a key that was open may be known."""
    said = []
    wanted = {folder.parent: 0o700, folder: 0o700}
    wanted |= {folder / name: 0o600 for name in ("signer.pem", "server.pem")}
    for path, mode in wanted.items():
        if path.exists() and path.stat().st_mode & 0o777 & ~mode:
            path.chmod(mode)
            said.append(
                f"{path} could be read by other users of this machine; it is closed now. Was that "
                "not you? Then move the folder away, start again and trust the new certificate."
            )
    return said


def _put(path: Path, content: bytes) -> None:
    draft = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
    try:
        handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        draft.replace(path)
    finally:
        draft.unlink(missing_ok=True)


def _certificate(path: Path) -> x509.Certificate:
    return x509.load_pem_x509_certificates(path.read_bytes())[0]


def _key(path: Path) -> Key:
    key = load_pem_private_key(path.read_bytes(), password=None)
    if not isinstance(key, Key):
        raise ValueError("its key is of another kind")
    return key


def write_page(folder: Path, files: dict[str, bytes]) -> None:
    """What the door hands out, whole or not at all."""
    fresh, page, old = (folder / name for name in (".page.new", "page", ".page.old"))
    for left in (fresh, old):
        shutil.rmtree(left, ignore_errors=True)
    fresh.mkdir(mode=0o700)
    for name, content in files.items():
        (fresh / name).write_bytes(content)
    if page.exists():
        page.rename(old)
    fresh.rename(page)
    shutil.rmtree(old, ignore_errors=True)
