"""Does every other file get a sentence, and never a crash or a worker held up?"""

from __future__ import annotations

import time
import zipfile
from io import BytesIO

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gallery_ops.fleet_file.read import NotReadable, read_fleet

from .workbooks import lying_workbook, nasty_workbook, unpacking_to, workbook_of


def sentence_of(content: bytes, **wishes: str) -> tuple[str, str]:
    with pytest.raises(NotReadable) as caught:
        read_fleet(content, **wishes)
    return caught.value.code, caught.value.sentence


@pytest.mark.parametrize(
    ("content", "code", "words"),
    [
        (b"", "empty", "This file is empty"),
        (b"\xef\xbb\xbf \r\n", "empty", "This file is empty"),
        (b"%PDF-1.7\n", "not_a_table", "a PDF"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1", "not_a_table", "old .xls workbook, or one with a password"),
        (b"<!DOCTYPE html><table></table>", "not_a_table", "a page with markup"),
        (b"\x89PNG\r\n", "not_a_table", "a picture"),
        (b"abc\x00\x01\x02", "not_text", "not text and not a workbook"),
        (b"one long line of prose without any mark", "one_column", "read as one column"),
        (b"Dear all, here, are, the tanks", "no_headings", "no row with headings was found"),
        (b"title;room\nHeron;North\n", "no_code", "Head that column"),
        (b"code;room\n", "no_rows", "no tank stands below it"),
        (b"PK\x03\x04broken", "broken", "damaged"),
        (b'code;length;"room\n' + b"x" * 200_000, "not_a_table", "quotation mark"),
    ],
)
def test_not_a_list_of_tanks(content: bytes, code: str, words: str) -> None:
    found, sentence = sentence_of(content)
    assert found == code
    assert words in sentence


def test_a_zip_that_is_no_workbook() -> None:
    stream = BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr("letter.txt", "hello")
    code, sentence = sentence_of(stream.getvalue())
    assert code == "not_a_table"
    assert "not an .xlsx workbook" in sentence


def test_too_large_a_file() -> None:
    code, sentence = sentence_of(b"code;room\n" + b"T1;North\n" * 600_000)
    assert code == "too_large"
    assert "5.4 MB; a list of tanks may have up to 5 MB" in sentence


def test_a_workbook_that_unpacks_to_gigabytes_is_not_opened() -> None:
    content = unpacking_to(1_100)
    assert len(content) < 2_000_000
    began = time.perf_counter()
    code, sentence = sentence_of(content)
    assert code == "unpacks_too_large"
    assert "unpacks to 1,100 MB" in sentence
    assert time.perf_counter() - began < 1


def test_a_workbook_that_lies_about_its_size_is_called_damaged() -> None:
    content, sheet = lying_workbook(60)
    with zipfile.ZipFile(BytesIO(content)) as archive:
        assert archive.getinfo(sheet).file_size == 1_000  # as it says, and not as it is
    code, sentence = sentence_of(content)
    assert code == "broken"
    assert "damaged" in sentence


def test_two_thousand_rows_come_in_and_one_more_does_not() -> None:
    lines = [f"T{n};60x30x36 cm".encode() for n in range(2_001)]
    assert len(read_fleet(b"code;dims\n" + b"\n".join(lines[:2_000])).rows) == 2_000
    code, sentence = sentence_of(b"code;dims\n" + b"\n".join(lines))
    assert code == "too_many_rows"
    assert "2,000" in sentence


def test_too_many_columns() -> None:
    heading = ";".join(["code", "dims", *(f"x{n}" for n in range(200))])
    code, _ = sentence_of(f"{heading}\nT1;60x30x36 cm\n".encode())
    assert code == "too_many_columns"


def test_a_sheet_that_does_not_exist_is_answered_with_those_that_do() -> None:
    code, sentence = sentence_of(nasty_workbook(), sheet="Fleet")
    assert code == "no_sheet"
    assert "“Cover”, “Tanks 2026”, “Prices”" in sentence


def test_over_long_text_in_a_cell_is_named() -> None:
    (problem,) = read_fleet(b"code;title\nT1;" + b"a" * 600 + b"\n").problems
    assert "At most 120 characters" in problem.sentence


def test_a_separator_that_a_person_chose_is_used() -> None:
    content = b"code|title\nT1|Heron, Absent; or not\n"
    assert read_fleet(content, separator="|").rows[0].title == "Heron, Absent; or not"
    assert sentence_of(content, separator=";")[0] == "no_headings"
    assert sentence_of(content, separator="#")[0] == "separator"


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16", "utf-16-le", "utf-16-be"]
)
def test_encodings(encoding: str) -> None:
    content = "Becken;Länge cm;Raum\nB1;60;Südsaal\n".encode(encoding)
    row = read_fleet(content).rows[0]
    assert (row.length_mm, row.room) == (600, "Südsaal")


def _rows_or_a_sentence(content: bytes) -> None:
    try:
        file = read_fleet(content)
    except NotReadable as error:
        refused = error
    else:
        assert file.rows
        assert all(problem.sentence for problem in file.problems)
        return
    assert refused.code
    assert refused.sentence.endswith((".", "”", "?"))
    assert len(refused.sentence) < 1_000


@given(st.binary(max_size=400))
def test_any_bytes_give_rows_or_a_sentence(content: bytes) -> None:
    _rows_or_a_sentence(content)


_CELLS = st.one_of(
    st.text(max_size=12),
    st.sampled_from(
        [
            "60x30x36",
            "60 cm",
            "1.000",
            "=1+1",
            "-",
            "Summe",
            "code",
            "²",
            "٣",
            "1e9",
            "9" * 45,
            "0,3",
            '"',
            "in",
            "NaN",
            "inf",
            "show week 9",
        ]
    ),
)


@given(
    st.lists(
        st.sampled_from(
            [
                "dims",
                "Länge",
                "depth",
                "glass",
                "CO2",
                "cyl",
                "Zustand",
                "wc",
                "stil",
                "walk",
                "place",
                "Liter",
                "x",
            ]
        ),
        max_size=8,
    ),
    st.lists(st.lists(_CELLS, max_size=10), max_size=6),
    st.sampled_from([";", ",", "\t", "|"]),
    st.sampled_from(["utf-8", "utf-16"]),
)
def test_any_cells_below_known_headings_give_rows_or_a_sentence(
    headings: list[str], rows: list[list[str]], mark: str, encoding: str
) -> None:
    text = "\n".join(mark.join(row) for row in [["code", *headings], *rows])
    _rows_or_a_sentence(text.encode(encoding, errors="replace"))


@given(st.binary(min_size=1, max_size=8), st.integers(min_value=0, max_value=6_000))
def test_a_damaged_workbook_gives_rows_or_a_sentence(noise: bytes, at: int) -> None:
    content = bytearray(_WORKBOOK)
    content[at : at + len(noise)] = noise
    _rows_or_a_sentence(bytes(content))


_WORKBOOK = workbook_of([["code", "dims cm"], ["T1", "60x30x36"]])
