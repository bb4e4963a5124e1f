"""A tablet and a gallery that greet each other in memory, by Python's ssl (OpenSSL)."""

from __future__ import annotations

import ssl
from pathlib import Path


def tablet(authority: Path) -> ssl.SSLContext:
    """Trusts this authority and nothing else, and checks names as a browser does."""
    context = ssl.create_default_context(cafile=str(authority))
    assert context.check_hostname
    assert context.verify_mode is ssl.CERT_REQUIRED
    return context


def greet(trusts: ssl.SSLContext, server_file: Path, name: str) -> str:
    """Version of TLS that both agreed upon. Raises ssl.SSLCertVerificationError."""
    shows = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    shows.load_cert_chain(server_file)
    to_server, to_client = ssl.MemoryBIO(), ssl.MemoryBIO()
    client = trusts.wrap_bio(to_client, to_server, server_hostname=name)
    server = shows.wrap_bio(to_server, to_client, server_side=True)
    open_ = [client, server]
    for _ in range(10):
        for side in list(open_):
            try:
                side.do_handshake()
            except ssl.SSLWantReadError:
                continue
            open_.remove(side)
        if not open_:
            return str(client.version())
    raise AssertionError("the handshake does not end")
