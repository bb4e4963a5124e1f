"""Do shipped catalogues arrive, follow their file, and leave alone what is a person's?"""

from pathlib import Path

import pytest

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Closure, Heartbeat
from gallery_ops.kernel.services.catalogue import Loaded, load_rows, read_catalogue
from tests.builders.people import AT, a_showroom

# Heartbeat and Closure stand in for a shared table and one of a showroom: the kernel has no other.


@pytest.mark.django_db
def test_shared_rows_follow_the_file() -> None:
    entries = [{"kind": "a", "seen_at": AT}, {"kind": "b", "seen_at": AT}]

    def load() -> Loaded:
        return load_rows(Heartbeat, entries, key=["kind"], keep_existing=False)

    assert load() == Loaded(2, 0, 0)
    assert load() == Loaded(0, 0, 2)
    entries[0] = {"kind": "a", "seen_at": AT.replace(hour=9)}
    assert load() == Loaded(0, 1, 1)
    assert Heartbeat.objects.get(kind="a").seen_at == AT.replace(hour=9)


@pytest.mark.django_db
def test_rows_of_a_showroom_are_only_added() -> None:
    showroom, other = a_showroom(), a_showroom("elsewhere")
    entries = [{"reason": "stocktaking", "from_on": "2026-01-05", "to_on": "2026-01-06"}]

    def load() -> Loaded:
        return load_rows(
            Closure, entries, key=["reason"], keep_existing=True, fixed={"showroom": showroom}
        )

    assert load() == Loaded(1, 0, 0)
    Closure.objects.update(to_on="2026-01-08")
    assert load() == Loaded(0, 0, 1)
    assert Closure.objects.get().to_on.isoformat() == "2026-01-08"
    assert not Closure.objects.of(other).exists()


@pytest.mark.django_db
def test_a_wrong_entry_is_named_and_nothing_is_changed() -> None:
    good = {"kind": "a", "seen_at": AT}
    for bad in ({"kind": "b"}, {"kind": "b", "seen_at": AT, "colour": "blue"}):
        with pytest.raises(Refused, match=r"^b: "):
            load_rows(Heartbeat, [good, bad], key=["kind"], keep_existing=False)
    assert not Heartbeat.objects.exists()


def test_a_file_is_read_or_refused_with_its_name(tmp_path: Path) -> None:
    file = tmp_path / "tasks.toml"
    with pytest.raises(Refused, match=r"tasks\.toml cannot be read"):
        read_catalogue(file, "task")
    file.write_text("[[task]\n")
    with pytest.raises(Refused, match="not valid TOML"):
        read_catalogue(file, "task")
    file.write_text("[other]\n")
    with pytest.raises(Refused, match=r"no list \[\[task\]\]"):
        read_catalogue(file, "task")
    file.write_text('[[task]]\nkey = "feed"\n')
    assert read_catalogue(file, "task") == [{"key": "feed"}]
