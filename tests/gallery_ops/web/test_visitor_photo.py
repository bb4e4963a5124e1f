"""How large is a photo that visitors get, and what does it tell beside its pixels?"""

from __future__ import annotations

import io
import time
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from PIL import Image

from gallery_ops.kernel import clock
from gallery_ops.kernel.services.backups import MADE_AGAIN, _sent_in
from tanks.models import Photo
from tanks.services.photo_files import bytes_of, keep_photo, smaller_of
from tanks.services.photos import review_photo
from tests.builders.gallery import an_owner
from tests.built_once import built_once
from tests.gallery_ops.web.pages.addresses import a_photo
from tests.gallery_ops.web.visitor_world import AT, TODAY, World, a_world

pytestmark = pytest.mark.django_db

built, world = built_once(a_world)


@pytest.fixture(autouse=True)
def at_09_14(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", TODAY.strftime("%Y-%m-%dT%H:%M"))
    monkeypatch.setattr(clock, "_started", time.monotonic())


def test_visitors_get_a_smaller_photo_that_tells_nothing_beside_its_pixels(
    world: World, settings: Any, tmp_path: Path
) -> None:
    settings.MEDIA_ROOT = tmp_path
    owner = an_owner(world.tank.showroom)
    camera = Image.effect_noise((2560, 1920), 40).convert("RGB")
    told = Image.Exif()
    told[271] = "maker of the camera"
    out = io.BytesIO()
    camera.save(out, "JPEG", quality=90, exif=told)
    photo = keep_photo(showroom=owner.showroom, data=out.getvalue(), subject="", by=owner, at=AT)
    Photo.objects.filter(pk=photo.pk).update(tank=world.tank, layout=world.layout)
    review_photo(
        showroom=owner.showroom, photo=photo.uid, outcome="public", by=owner, at=AT,
        credit="Corvin Aldaye", alternative_text="Steps under water",
    )  # fmt: skip
    address = reverse("public_photo", args=[world.code.code, photo.uid])
    answer = Client().get(address)
    with Image.open(io.BytesIO(answer.content)) as shown:
        assert (shown.size, shown.format, dict(shown.getexif())) == ((1280, 960), "JPEG", {})
    assert b"maker of the camera" not in answer.content
    assert len(answer.content) < len(bytes_of(photo)) / 3
    (made,) = (tmp_path / MADE_AGAIN).rglob(str(photo.kept_sha256))
    made_at = made.stat().st_mtime_ns
    again = Client().get(address, headers={"if-none-match": answer["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert Client().get(address).content == answer.content
    assert made.stat().st_mtime_ns == made_at, "it is drawn once"
    assert not any(MADE_AGAIN in name for name in _sent_in()), "a backup need not hold it"
    made.unlink()
    assert Client().get(address).content == answer.content, "lost, it is drawn again"


def test_a_photo_that_is_small_enough_is_shown_as_it_is(
    world: World, settings: Any, tmp_path: Path
) -> None:
    settings.MEDIA_ROOT = tmp_path
    photo = a_photo(an_owner(world.tank.showroom), subject="")
    assert smaller_of(photo) == bytes_of(photo)
