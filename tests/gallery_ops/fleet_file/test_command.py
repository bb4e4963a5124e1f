"""Does the command say what it would do, do it, and take it back?"""

from __future__ import annotations

import time
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from gallery_ops.kernel import clock
from maintenance.models import ImportRun
from tanks.models import Tank

from .a_gallery import FILES, OUTSIDE, a_gallery

pytestmark = pytest.mark.django_db

FLEET = OUTSIDE / "demo_fleet.csv"


@pytest.fixture(autouse=True)
def at_09_14(monkeypatch: pytest.MonkeyPatch) -> None:
    """The clock begins anew in each test; else it runs on from the start of the whole run."""
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T09:14")
    monkeypatch.setattr(clock, "_started", time.monotonic())


def said(path: Path, *options: str) -> str:
    out = StringIO()
    call_command("import_fleet", str(path), *options, stdout=out)
    return out.getvalue()


def test_a_dry_run_names_each_row_and_writes_nothing() -> None:
    a_gallery()
    text = said(FILES / "becken_cp1252.csv", "--dry-run")
    assert "Read as semicolon separated, Windows-1252, decimal comma." in text
    assert "row 5  B01: new" in text
    assert "Row 15, column B “Becken-Nr.”: it says “B03”. Row 8 has that code already" in text
    assert "Row 11 was left out: a total (Summe; 38,0; 1021)." in text
    assert "Column O “Bemerkung” is left out: its heading is not known." in text
    assert "Nothing has been written: this is a dry run." in text
    assert Tank.objects.count() == 0


def test_in_twice_and_back() -> None:
    a_gallery()
    text = said(FLEET)
    assert "20 tanks brought in, 0 changed. Written in the name of Maud Ellerkamp" in text
    text = said(FLEET)
    assert (
        "This very file was brought in on 12 March 2026 at 09:14 by Maud Ellerkamp. "
        "Nothing was written." in text
    )
    assert (Tank.objects.count(), ImportRun.objects.count()) == (20, 1)
    assert "Taken back: 20 tanks count as never written" in said(FLEET, "--undo")
    assert Tank.objects.filter(voided_at=None).count() == 0


def test_wrong_rows_stop_it_with_a_sentence() -> None:
    a_gallery()
    with pytest.raises(CommandError, match="2 of 8 rows cannot come in, so nothing was written"):
        said(FILES / "becken_cp1252.csv")
    assert Tank.objects.count() == 0
    assert "6 tanks brought in" in said(FILES / "becken_cp1252.csv", "--leave-out")


def test_every_wrong_wish_gets_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="There is no showroom yet"):
        said(FLEET)
    a_gallery()
    with pytest.raises(CommandError, match=r"cannot be read \(No such file or directory\)"):
        said(tmp_path / "none.csv")
    with pytest.raises(CommandError, match="There is no such person here"):
        said(FLEET, "--by", "nobody")
    with pytest.raises(CommandError, match="choose mm or cm"):
        said(FLEET, "--unit", "inch")
    with pytest.raises(CommandError, match="There is no such import here"):
        said(FLEET, "--undo")
    (tmp_path / "empty.csv").write_bytes(b"")
    with pytest.raises(CommandError, match="This file is empty"):
        said(tmp_path / "empty.csv")
    a_gallery("farshore")
    with pytest.raises(CommandError, match="Name one with --showroom: undershore, farshore"):
        said(FLEET)
    assert Tank.objects.count() == 0
