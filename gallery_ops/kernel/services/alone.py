"""One at a time, also where there is no row yet that could be locked."""

from __future__ import annotations

from hashlib import blake2b

from django.db import connection


def alone(deed: str) -> None:
    """Wait until no other transaction is at this deed, and keep others waiting until ours ends.

    To be called inside a transaction, before looking. On SQLite a transaction that writes is alone
    from its begin anyway.
    """
    if connection.vendor != "postgresql":
        return
    key = int.from_bytes(blake2b(deed.encode(), digest_size=8).digest(), "big", signed=True)
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [key])
