"""Which id does a fact get that was made away from the database?

A UUID of version 7 (RFC 9562, section 5.7). The first 48 bits are milliseconds since 1970, so ids
sort by the time at which they were made. An id names a fact and orders nothing that matters: a
device's clock can be wrong.
"""

from __future__ import annotations

import secrets
import uuid
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

from .limits import OutOfRange

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MILLISECOND = timedelta(milliseconds=1)


def uuid7(at: datetime, random_bits: Callable[[int], int] = secrets.randbits) -> uuid.UUID:
    """A new id for something made at this instant (aware).

    >>> uuid7(datetime(2026, 3, 12, tzinfo=UTC), lambda bits: 0)
    UUID('019cdf57-d000-7000-8000-000000000000')
    """
    if at.tzinfo is None:
        raise OutOfRange("Time", "an instant with a time zone", at)
    ms = (at - _EPOCH) // _MILLISECOND
    if not 0 <= ms < 2**48:
        raise OutOfRange("Time", "a time between 1970 and 10889", at)
    value = ms << 80 | 0x7 << 76 | random_bits(12) << 64 | 0b10 << 62 | random_bits(62)
    return uuid.UUID(int=value)


def parse_uuid7(text: str, *, field: str = "Id") -> uuid.UUID:
    """The id in this text. Raises OutOfRange when it is no UUID of version 7."""
    try:
        found = uuid.UUID(text)
    except (ValueError, AttributeError, TypeError):
        raise OutOfRange(field, "a UUID of version 7", text) from None
    if found.version != 7 or found.variant != uuid.RFC_4122 or str(found) != str(text).lower():
        raise OutOfRange(field, "a UUID of version 7", text)
    return found


def made_at(value: uuid.UUID) -> datetime:
    """The instant that the id carries, to the millisecond."""
    return _EPOCH + (value.int >> 80) * _MILLISECOND
