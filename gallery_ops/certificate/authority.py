"""An authority for one name only, and the certificate that a gallery shows for that name.

Three certificates. The *authority* is what a tablet trusts, for ten years. It signs one *signer*
and its own key is then forgotten: it never reaches a disk. The signer's key is kept, and signs a
*leaf* each year. Both are limited to the name (RFC 5280, 4.2.1.10, critical): whoever steals the
kept key can pass for this gallery and for nobody else, also before a tablet that heeds the limit
of a signer and not that of what it trusts itself. A limit binds only the kinds of names that it
speaks of, so all addresses are excluded where none is asked for.

Pure: nothing is read, written or asked here; `at` is the machine's own time, because a browser
compares with that and knows no other.
"""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass
from datetime import datetime, timedelta

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

AUTHORITY_DAYS = 3650
# From memory: public authorities were held to 398 days (CA/Browser Forum, Baseline Requirements
# 6.3.2). A private one need not follow, but some clients have looked at it all the same.
LEAF_DAYS = 396
SLOW_CLOCK = timedelta(days=1)  # a tablet's clock may be behind
EVERYWHERE = ("0.0.0.0/0", "::/0")

Key = ec.EllipticCurvePrivateKey


@dataclass(frozen=True)
class Made:
    """An authority's certificate, and the signer that it left behind."""

    authority: x509.Certificate
    signer: x509.Certificate
    signer_key: Key


def make_authority(name: str, address: str | None, at: datetime) -> Made:
    """An authority for `name` and, if given, for one address; both as `names` has passed them."""
    forgotten, signer_key = _new_key(), _new_key()
    root = _subject(name, f"Gallery Ops, authority of {at:%Y-%m-%d}")
    below = _subject(name, f"Gallery Ops, signer of {at:%Y-%m-%d}")
    limits = _limits(name, address)

    def ca(subject: x509.Name, key: Key, depth: int) -> x509.Certificate:
        draft = (
            _draft(root, subject, forgotten, key, at, at + timedelta(days=AUTHORITY_DAYS))
            .add_extension(x509.BasicConstraints(ca=True, path_length=depth), critical=True)
            .add_extension(_usage(key_cert_sign=True), critical=True)
            .add_extension(limits, critical=True)
        )
        return _signed(draft, forgotten)

    return Made(ca(root, forgotten, 1), ca(below, signer_key, 0), signer_key)


def make_leaf(
    signer: x509.Certificate, signer_key: Key, name: str, address: str | None, at: datetime
) -> tuple[x509.Certificate, Key]:
    """What the gallery shows: for LEAF_DAYS, and never for longer than its signer lasts."""
    key = _new_key()
    ends = min(at - SLOW_CLOCK + timedelta(days=LEAF_DAYS), signer.not_valid_after_utc)
    sans: list[x509.GeneralName] = [x509.DNSName(name)]
    if address:
        sans.append(x509.IPAddress(ipaddress.ip_address(address)))
    draft = (
        _draft(signer.subject, _subject(name), signer_key, key, at, ends)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(digital_signature=True), critical=True)
        .add_extension(x509.SubjectAlternativeName(sans), critical=False)
    )
    return _signed(draft, signer_key), key


def _limits(name: str, address: str | None) -> x509.NameConstraints:
    networks = [address] if address else EVERYWHERE
    found = [x509.IPAddress(ipaddress.ip_network(network)) for network in networks]
    return x509.NameConstraints(
        permitted_subtrees=[x509.DNSName(name), *(found if address else [])],
        excluded_subtrees=None if address else found,
    )


def _draft(
    issuer: x509.Name, subject: x509.Name, issuer_key: Key, key: Key, at: datetime, until: datetime
) -> x509.CertificateBuilder:
    whose = x509.AuthorityKeyIdentifier.from_issuer_public_key(issuer_key.public_key())
    return (
        x509.CertificateBuilder()
        .issuer_name(issuer)
        .subject_name(subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(at - SLOW_CLOCK)
        .not_valid_after(until)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .add_extension(whose, critical=False)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
    )


def _usage(*, digital_signature: bool = False, key_cert_sign: bool = False) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=digital_signature,
        key_cert_sign=key_cert_sign,
        crl_sign=False,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _subject(name: str, title: str = "") -> x509.Name:
    """The name for itself, so that it is found in a tablet's list of what it trusts."""
    whose = [x509.NameAttribute(NameOID.ORGANIZATION_NAME, title)] if title else []
    return x509.Name([*whose, x509.NameAttribute(NameOID.COMMON_NAME, name)])


def _new_key() -> Key:
    return ec.generate_private_key(ec.SECP256R1())


def _signed(draft: x509.CertificateBuilder, key: Key) -> x509.Certificate:
    return draft.sign(key, hashes.SHA256())


def pem(certificate: x509.Certificate) -> bytes:
    return certificate.public_bytes(serialization.Encoding.PEM)


def key_pem(key: Key) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )


def fingerprint(certificate: x509.Certificate) -> str:
    """SHA-256 of the certificate, as settings of tablets show it: AB:CD:..."""
    return certificate.fingerprint(hashes.SHA256()).hex(":").upper()
