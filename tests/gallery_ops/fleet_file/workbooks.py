"""Workbooks as an owner keeps them, made for the tests."""

from __future__ import annotations

import io
import zipfile

from openpyxl import Workbook


def nasty_workbook() -> bytes:
    """Merged title, two-line headings, extra columns, totals by formula, headings again.

    The units stand in the headings, in a line below them, in the cells and in a number
    format. Two sheets stand beside it, one of them first.
    """
    book = Workbook()
    cover = book.active
    cover.title = "Cover"
    cover["A1"] = "Undershore, tanks and budget"
    sheet = book.create_sheet("Tanks 2026")
    sheet["A2"] = "Our tanks"
    sheet.merge_cells("A2:J2")
    sheet.append([])
    sheet.append([])
    headings = [
        "Owner's nickname",
        "Tank no.",
        "Layout title",
        "Dimensions",
        "Glass",
        "Stage",
        "Dose",
        "CO2 g/day",
        "Volume",
        "Cylinder (kg)",
        "Insured for",
    ]
    sheet.append(headings)
    sheet.append([None, None, None, "(cm)", "mm", None, "ml/day", None, "litres"])
    sheet.append(
        ["Heron", 1, "Heron, Absent", "60x30x36", 6, "show", 3, 2.5, "=60*30*36/1000", 0.5, 300]
    )
    sheet.append(["Barn", 2, "Tithe Barn", "60 × 30 × 36 cm", 6, "grow-in", "3 ml", 2.5, 64, 0.5])
    sheet.append([])
    sheet.append(headings)
    sheet.append(
        ["Long", 3, "The Long Ebb", "1800 x 600 x 600 mm", 15, "Show", 0.1 + 0.2, 18, 648, 5]
    )
    sheet.append(["Low", 4, '=HYPERLINK("x")', "90*45*45", 0.8, "show", 9, 6, 250, 2])
    sheet.append(["Total", None, None, None, None, None, "=SUM(G7:G12)", "=SUM(H7:H12)"])
    sheet["E11"].number_format = "0"
    sheet["E12"].number_format = '0.0" cm"'
    book.create_sheet("Prices").append(["Item", "Price"])
    return saved(book)


def saved(book: Workbook) -> bytes:
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def workbook_of(rows: list[list[object]]) -> bytes:
    """A workbook with one sheet of these rows."""
    book = Workbook()
    for row in rows:
        book.active.append(row)
    return saved(book)


def unpacking_to(megabytes: int) -> bytes:
    """A small workbook whose sheet unpacks to so many megabytes."""
    stream = io.BytesIO(workbook_of([["code", "length"], ["T01", 60]]))
    with zipfile.ZipFile(stream, "a", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet2.xml", b" " * (megabytes * 1_000_000))
    return stream.getvalue()


def lying_workbook(megabytes: int) -> tuple[bytes, str]:
    """A workbook whose first sheet says 1,000 bytes and unpacks to megabytes; and its name."""
    sheet = "xl/worksheets/sheet1.xml"
    stream = io.BytesIO()
    whole = zipfile.ZipFile(io.BytesIO(workbook_of([["code", "length cm"], ["T01", 60]])))
    with whole, zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for part in whole.infolist():
            data = whole.read(part)
            if part.filename == sheet:
                data = data.replace(b"</sheetData>", b" " * megabytes * 1_000_000 + b"</sheetData>")
            archive.writestr(part.filename, data)
    content = bytearray(stream.getvalue())
    # In the zip's own list the unpacked size stands 22 bytes before the name (APPNOTE 4.3.12).
    at = content.rindex(sheet.encode()) - 22
    content[at : at + 4] = (1_000).to_bytes(4, "little")
    return bytes(content), sheet
