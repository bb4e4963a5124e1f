"""Which kind of file is this, and in which letters is it written?"""

from __future__ import annotations

from gallery_ops.fleet_file.read import bounds
from gallery_ops.fleet_file.read.types import NotReadable

_SAVE_AS = "Save the list as .xlsx or .csv and bring that in."

_OTHER_KINDS = (
    (b"\xd0\xcf\x11\xe0", "an old .xls workbook, or one with a password"),
    (b"%PDF", "a PDF"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"{\\rtf", "a text document"),
    (b"\x1f\x8b", "a packed file"),
    (b"7z\xbc\xaf", "a packed file"),
    (b"Rar!", "a packed file"),
    (b"SQLite format 3", "a database"),
)
_MARKUP = (b"<!doctype", b"<html", b"<?xml", b"<table")


def check_size(content: bytes) -> None:
    """Refuse an empty file and one that is too large to be a list of tanks."""
    if not content.strip(b"\x00\t\r\n \xef\xbb\xbf\xff\xfe"):
        raise NotReadable("empty", "This file is empty. Bring the list with its headings.")
    if len(content) > bounds.FILE_BYTES:
        raise NotReadable(
            "too_large",
            f"This file has {len(content) / 1_000_000:.1f} MB; a list of tanks may have up to "
            f"{bounds.FILE_BYTES // 1_000_000} MB. Save the one sheet with the tanks as a file "
            "of its own, without pictures.",
        )


def is_zip(content: bytes) -> bool:
    return content[:4] in {b"PK\x03\x04", b"PK\x05\x06"}


def check_kind(content: bytes) -> None:
    """Refuse what is known to be something other than a table in text."""
    for start, what in _OTHER_KINDS:
        if content.startswith(start):
            raise NotReadable("not_a_table", f"This is {what}, not a table. {_SAVE_AS}")
    if content[:200].lstrip(b"\xef\xbb\xbf \t\r\n").lower().startswith(_MARKUP):
        raise NotReadable("not_a_table", f"This is a page with markup, not a table. {_SAVE_AS}")


def decode(content: bytes) -> tuple[str, str]:
    """The text of a file and the name of its encoding.

    A byte order mark is believed. Without one, zeros in every second byte mean UTF-16;
    what is valid UTF-8 is UTF-8, and the rest is read as Windows-1252, the code of older
    spreadsheet exports. Raises NotReadable where none of them gives plain text.
    """
    encoding, words = _encoding(content)
    try:
        text = content.decode(encoding)
    except UnicodeDecodeError as error:
        raise NotReadable(
            "not_text", f"This file begins as {words} text and then breaks off. {_SAVE_AS}"
        ) from error
    if any(ord(sign) < 32 and sign not in "\t\n\r\f\v\x1c\x1d\x1e\x1f" for sign in text):
        raise NotReadable("not_text", f"This file is not text and not a workbook. {_SAVE_AS}")
    return text.removeprefix("\ufeff"), words


def _encoding(content: bytes) -> tuple[str, str]:
    if content.startswith(b"\xef\xbb\xbf"):
        return "utf-8-sig", "UTF-8"
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16", "UTF-16"
    start = content[:2_000]
    if len(start) >= 4 and start.count(0) * 4 > len(start):
        high_zeros = start[0::2].count(0)
        return ("utf-16-be" if high_zeros * 2 > start.count(0) else "utf-16-le"), "UTF-16"
    try:
        content.decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252", "Windows-1252"
    return "utf-8", "UTF-8"
