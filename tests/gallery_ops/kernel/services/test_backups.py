"""Is a backup unpacked where it should be, whatever the archive says of itself?"""

import hashlib
import io
import tarfile
from pathlib import Path

import pytest

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.services.backups import Manifest, unpack

pytestmark = pytest.mark.once

BYTES = b"green"


def an_archive(folder: Path, name: str, mode: int = 0o644) -> tuple[Path, Manifest]:
    """With one file of that name, and the manifest that tells its sum."""
    file = folder / "backup.tar.gz"
    with tarfile.open(file, "w:gz") as tar:
        entry = tarfile.TarInfo(name)
        entry.size, entry.mode, entry.uid = len(BYTES), mode, 12
        tar.addfile(entry, io.BytesIO(BYTES))
    fields = dict.fromkeys(Manifest.__dataclass_fields__, "")
    sums = {name: hashlib.sha256(BYTES).hexdigest()}
    return file, Manifest(**{**fields, "sums": sums})  # type: ignore[arg-type]


def test_a_file_is_taken_out_with_its_bytes_and_nothing_else(tmp_path: Path) -> None:
    file, manifest = an_archive(tmp_path, "media/leaf.txt", mode=0o4777)
    unpack(file, manifest, tmp_path / "into")
    taken = tmp_path / "into" / "media" / "leaf.txt"
    assert taken.read_bytes() == BYTES
    assert taken.stat().st_mode & 0o7111 == 0
    assert taken.stat().st_uid == (tmp_path / "into").stat().st_uid


@pytest.mark.parametrize("name", ["../leaf.txt", "media/../../leaf.txt"])
def test_a_path_that_leads_out_is_refused(tmp_path: Path, name: str) -> None:
    file, manifest = an_archive(tmp_path, name)
    with pytest.raises(Refused, match=r"leads out of the backup.*Nothing was changed"):
        unpack(file, manifest, tmp_path / "into")
    assert not (tmp_path / "leaf.txt").exists()


def test_an_absolute_path_is_refused(tmp_path: Path) -> None:
    file, manifest = an_archive(tmp_path, str(tmp_path / "leaf.txt"))
    with pytest.raises(Refused, match="leads out of the backup"):
        unpack(file, manifest, tmp_path / "into")
    assert not (tmp_path / "leaf.txt").exists()
