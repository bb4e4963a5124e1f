"""Is the gallery's certificate good for its own name and for nothing else?

Asked of others: Python's ssl module with OpenSSL beneath, and the program `openssl verify`.
"""

from __future__ import annotations

import ipaddress
import shutil
import ssl
import subprocess
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509

from gallery_ops.certificate.authority import Made, key_pem, make_authority, make_leaf, pem
from tests.gallery_ops.certificate.handshake import greet, tablet

pytestmark = pytest.mark.once

NAME = "gallery.lan"
NOW = datetime.fromtimestamp(time.time(), UTC)  # OpenSSL looks at the machine's clock


class Kept:
    """An authority and a leaf in files."""

    def __init__(
        self, folder: Path, made: Made, name: str, address: str | None, at: datetime
    ) -> None:
        leaf, key = make_leaf(made.signer, made.signer_key, name, address, at)
        self.authority, self.server = folder / "authority.crt", folder / "server.pem"
        self.leaf, self.signer = folder / "leaf.crt", folder / "signer.crt"
        self.authority.write_bytes(pem(made.authority))
        self.leaf.write_bytes(pem(leaf))
        self.signer.write_bytes(pem(made.signer))
        self.server.write_bytes(key_pem(key) + pem(leaf) + pem(made.signer))

    def openssl(self, *words: str) -> str:
        command = ["openssl", "verify", "-x509_strict", "-purpose", "sslserver"]
        files = ["-CAfile", str(self.authority), "-untrusted", str(self.signer), str(self.leaf)]
        done = subprocess.run(
            [*command, "-no-CApath", *words, *files], capture_output=True, text=True
        )
        return done.stdout + done.stderr


@pytest.fixture(scope="module")
def made() -> Made:
    return make_authority(NAME, None, NOW)


def test_a_tablet_that_trusts_only_the_authority_opens_the_gallery(
    made: Made, tmp_path: Path
) -> None:
    kept = Kept(tmp_path, made, NAME, None, NOW)
    assert greet(tablet(kept.authority), kept.server, NAME) == "TLSv1.3"
    with pytest.raises(ssl.SSLCertVerificationError, match="Hostname mismatch"):
        greet(tablet(kept.authority), kept.server, "other.lan")
    with pytest.raises(ssl.SSLCertVerificationError, match=r"self-signed|unable to get"):
        greet(ssl.create_default_context(), kept.server, NAME)


@pytest.mark.parametrize("name", ["bank.example", "lan", "notgallery.lan", "gallery.lan.example"])
def test_another_name_signed_with_the_kept_key_is_refused(
    made: Made, tmp_path: Path, name: str
) -> None:
    kept = Kept(tmp_path, made, name, None, NOW)
    with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
        greet(tablet(kept.authority), kept.server, name)


@pytest.mark.parametrize("address", ["192.168.1.20", "8.8.8.8", "fd00::1", "2001:db8::1"])
def test_an_address_signed_with_the_kept_key_is_refused_where_none_was_asked_for(
    made: Made, tmp_path: Path, address: str
) -> None:
    kept = Kept(tmp_path, made, NAME, address, NOW)
    with pytest.raises(ssl.SSLCertVerificationError, match="excluded subtree violation"):
        greet(tablet(kept.authority), kept.server, address)


def test_one_address_is_allowed_where_it_was_asked_for(tmp_path: Path) -> None:
    made = make_authority(NAME, "192.168.1.20", NOW)
    kept = Kept(tmp_path, made, NAME, "192.168.1.20", NOW)
    trusts = tablet(kept.authority)
    assert greet(trusts, kept.server, "192.168.1.20") == "TLSv1.3"
    assert greet(trusts, kept.server, NAME) == "TLSv1.3"
    for address in ("192.168.1.21", "fd00::1"):
        other = Kept(tmp_path, made, NAME, address, NOW)
        with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
            greet(trusts, other.server, address)


def test_after_its_end_it_is_refused(tmp_path: Path) -> None:
    made = make_authority(NAME, None, NOW - timedelta(days=500))
    old = Kept(tmp_path, made, NAME, None, NOW - timedelta(days=397))
    with pytest.raises(ssl.SSLCertVerificationError, match="certificate has expired"):
        greet(tablet(old.authority), old.server, NAME)
    young = Kept(tmp_path, made, NAME, None, NOW)
    assert greet(tablet(young.authority), young.server, NAME) == "TLSv1.3"


@pytest.mark.skipif(not shutil.which("openssl"), reason="the program openssl is not here")
def test_openssl_says_the_same(made: Made, tmp_path: Path) -> None:
    kept = Kept(tmp_path, made, NAME, None, NOW)
    assert kept.openssl("-verify_hostname", NAME).strip().endswith("leaf.crt: OK")
    assert "hostname mismatch" in kept.openssl("-verify_hostname", "other.lan")
    late = str(int((NOW + timedelta(days=396)).timestamp()))
    assert "certificate has expired" in kept.openssl("-attime", late)
    early = str(int((NOW - timedelta(days=2)).timestamp()))
    assert "not yet valid" in kept.openssl("-attime", early)
    other = Kept(tmp_path, made, "bank.example", None, NOW)
    assert "permitted subtree violation" in other.openssl()


def test_what_stands_in_them(made: Made) -> None:
    """RFC 5280: 4.2.1.9 basic constraints, 4.2.1.3 key usage, 4.2.1.10 name constraints."""
    for certificate, depth in ((made.authority, 1), (made.signer, 0)):
        found = certificate.extensions
        basic = found.get_extension_for_class(x509.BasicConstraints)
        assert (basic.critical, basic.value.ca, basic.value.path_length) == (True, True, depth)
        usage = found.get_extension_for_class(x509.KeyUsage)
        assert (usage.critical, usage.value.key_cert_sign) == (True, True)
        assert not usage.value.digital_signature
        limits = found.get_extension_for_class(x509.NameConstraints)
        assert limits.critical
        assert limits.value.permitted_subtrees == [x509.DNSName(NAME)]
        assert [net.value for net in limits.value.excluded_subtrees or []] == [
            ipaddress.ip_network("0.0.0.0/0"),
            ipaddress.ip_network("::/0"),
        ]
    leaf, key = make_leaf(made.signer, made.signer_key, NAME, None, NOW)
    assert leaf.not_valid_after_utc - leaf.not_valid_before_utc <= timedelta(days=397)
    assert key.public_key() != made.signer_key.public_key()
    names = leaf.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    assert list(names) == [x509.DNSName(NAME)]
    assert not leaf.extensions.get_extension_for_class(x509.BasicConstraints).value.ca


def test_the_key_of_the_authority_is_forgotten(made: Made) -> None:
    """The one key that is handed on is not that which tablets trust."""
    trusted = made.authority.public_key()
    assert made.signer_key.public_key() == made.signer.public_key()
    assert made.signer_key.public_key() != trusted
    made.signer.verify_directly_issued_by(made.authority)


def test_a_leaf_never_outlives_its_authority() -> None:
    made = make_authority(NAME, None, NOW - timedelta(days=3500))
    leaf, _ = make_leaf(made.signer, made.signer_key, NAME, None, NOW)
    assert leaf.not_valid_after_utc == made.authority.not_valid_after_utc
