"""Is a gallery that was put back the one that was kept? Run as processes, as its owner would.

Where DATABASE_URL is set it runs on that server, in a database of its own.
"""

import fcntl
import subprocess
import sys
import tarfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.faults.program import migrated

HOUSE = Path(__file__).resolve().parents[2]
Manage = Callable[..., subprocess.CompletedProcess[str]]

MAKE_A_GALLERY = """
from gallery_ops.kernel import clock
from gallery_ops.kernel.services.people import add_person, make_showroom
at = clock.now()
showroom = make_showroom(code="lower-weir", name="Lower Weir", zone="Europe/London",
                         currency="GBP", country="GB", at=at)
add_person(showroom=showroom, login="ada.brook", name="Ada Brook", role="owner", by=None, at=at,
           password="a-long-winded-otter")
"""
WHO_AND_WHAT = """
import hashlib, json
from django.apps import apps
from gallery_ops.kernel.models import Epoch
def rows(model):
    fields = [f.attname for f in model._meta.concrete_fields]
    found = model._base_manager.order_by("pk").values_list(*fields)
    return [[str(value) for value in row] for row in found]
tables = {m._meta.label: rows(m) for m in apps.get_models() if m is not Epoch}
for label in ("kernel.Heartbeat", "sessions.Session", "contenttypes.ContentType",
              "auth.Permission"):
    tables.pop(label, None)
print(sum(map(len, tables.values())), hashlib.sha256(json.dumps(tables).encode()).hexdigest())
print(str(Epoch.objects.order_by("-pk").first().token))
"""
ONE_MORE_PERSON = """
from gallery_ops.kernel import clock
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.services.people import add_person
owner = Membership.objects.get()
add_person(showroom=owner.showroom, login="late.comer", name="Late Comer", role="carer", by=owner,
           at=clock.now())
"""
CHANGE_A_FACT = """
from gallery_ops.kernel.models import AuditEntry
try:
    AuditEntry.objects.update(deed="nothing")
except Exception as error:
    print("refused", type(error).__name__)
"""


@pytest.fixture
def manage(plain_environment: dict[str, str]) -> Iterator[Manage]:
    """Run manage.py on a gallery of its own."""
    environment = dict(plain_environment)
    with migrated(environment):
        yield from _in_a_gallery(environment)


def _in_a_gallery(environment: dict[str, str]) -> Iterator[Manage]:
    def run(*words: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "manage.py", *words],
            cwd=HOUSE,
            env=environment,
            capture_output=True,
            text=True,
            check=False,
            timeout=120,
        )

    done = run("shell", "-c", MAKE_A_GALLERY)
    assert done.returncode == 0, done.stderr
    yield run


def state(manage: Manage) -> tuple[str, str]:
    """Sum of all rows, and the identity of the database."""
    rows, epoch = manage("shell", "-c", WHO_AND_WHAT).stdout.strip().splitlines()[-2:]
    return rows, epoch


def test_what_was_kept_comes_back_and_what_stood_there_is_set_aside(
    manage: Manage, tmp_path: Path
) -> None:
    data = tmp_path / "data"
    (data / "media").mkdir()
    (data / "media" / "leaf.txt").write_text("green")
    before, epoch = state(manage)
    made = manage("back_up")
    assert made.returncode == 0, made.stderr
    (kept,) = (data / "backups").glob("gallery-*.tar.gz")
    assert kept.stat().st_mode & 0o077 == 0

    assert manage("shell", "-c", ONE_MORE_PERSON).returncode == 0
    (data / "media" / "leaf.txt").write_text("brown")
    assert state(manage)[0] != before

    unasked = manage("restore", str(kept))
    assert unasked.returncode == 1
    assert "There is a gallery here. With --replace" in unasked.stderr
    done = manage("restore", str(kept), "--replace")
    assert done.returncode == 0, done.stderr
    after, new_epoch = state(manage)
    assert after == before
    assert new_epoch != epoch
    assert (data / "media" / "leaf.txt").read_text() == "green"
    (aside,) = data.glob("before-restore-*")
    assert (aside / "database").stat().st_size > 0
    assert (aside / "media" / "leaf.txt").read_text() == "brown"
    assert (
        manage("shell", "-c", CHANGE_A_FACT).stdout.strip().splitlines()[-1].startswith("refused")
    )


def test_what_cannot_be_restored_changes_nothing(manage: Manage, tmp_path: Path) -> None:
    data, before = tmp_path / "data", state(manage)
    whole = tmp_path / "whole.tar.gz"
    assert manage("back_up", "--to", str(whole)).returncode == 0
    cut = tmp_path / "cut.tar.gz"
    cut.write_bytes(whole.read_bytes()[: whole.stat().st_size // 2])
    text = tmp_path / "text.tar.gz"
    text.write_text("no backup")
    changed = tmp_path / "changed.tar.gz"
    with tarfile.open(whole) as old, tarfile.open(changed, "w:gz") as new:
        for entry in old:
            body = old.extractfile(entry)
            assert body is not None
            if entry.name == "database":
                (tmp_path / "other").write_bytes(body.read()[:-1] + b"x")
                new.add(tmp_path / "other", entry.name)
            else:
                new.addfile(entry, body)
    sentences = {
        "none.tar.gz": "There is no file",
        text.name: "is no whole backup of a gallery",
        cut.name: "Nothing was changed",
        changed.name: "database is not what was written. Nothing was changed",
    }
    for name, sentence in sentences.items():
        refused = manage("restore", str(tmp_path / name), "--replace")
        assert refused.returncode == 1
        assert sentence in refused.stderr, name
    with (data / "start.lock").open("a+") as running:
        fcntl.flock(running, fcntl.LOCK_EX)
        refused = manage("restore", str(whole), "--replace")
    assert "Stop it first" in refused.stderr
    assert state(manage) == before


def test_only_so_many_are_kept(manage: Manage, tmp_path: Path) -> None:
    own = tmp_path / "data" / "backups"
    own.mkdir()
    for day in (1, 2, 3):
        (own / f"gallery-2020010{day}T000000Z.tar.gz").touch()
    said = manage("back_up", "--keep", "2")
    assert said.returncode == 0, said.stderr
    left = sorted(path.name for path in own.iterdir())
    assert len(left) == 2
    assert left[0] == "gallery-20200103T000000Z.tar.gz"
    assert "gallery-20200101T000000Z.tar.gz was the oldest and is gone." in said.stdout
