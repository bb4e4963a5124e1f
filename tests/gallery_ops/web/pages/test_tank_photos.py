"""Photos of a tank, then beside now: looked at by a person, taken to the tank that they show."""

from __future__ import annotations

import io
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from PIL import Image

from gallery_ops.kernel import clock
from gallery_ops.kernel.errors import Forbidden, Unknown
from tanks.models import Photo, Tank
from tanks.services.photo_parts import receive_part
from tanks.services.photos import Announced, announce_photo, review_photo
from tests.built_once import built_once
from tests.gallery_ops.api.asking import AT, a_browser, a_morning
from tests.gallery_ops.api.test_photos import sha
from tests.maintenance.house import House, a_carer

pytestmark = pytest.mark.django_db
built, house = built_once(lambda: a_morning(tanks=2))


@pytest.fixture(autouse=True)
def _here(settings: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    settings.MEDIA_ROOT = tmp_path
    monkeypatch.setattr(clock, "now", lambda: AT)


def a_photo(
    house: House, tank: Tank, colour: str, days_ago: int = 0, *, whole: bool = True
) -> Photo:
    out = io.BytesIO()
    Image.new("RGB", (12, 8), colour).save(out, "PNG")
    data = out.getvalue()
    if whole:
        receive_part(
            showroom=house.showroom,
            sha256=sha(data),
            start=0,
            size_bytes=len(data),
            data=data,
            at=AT,
        )
    taken = AT - timedelta(days=days_ago)
    return announce_photo(
        showroom=house.showroom,
        tank=tank,
        told=Announced(sha(data), len(data), "image/png", "front"),
        by=house.owner,
        at=AT,
        done_at=taken,
        done_at_corrected=taken,
    )


def look(client: Client, photo: Photo, outcome: str, code: str = "T01", **typed: str) -> Any:
    body = {"photo": str(photo.uid), "outcome": outcome, **typed}
    return client.post(f"/tanks/{code}/photos/", body, follow=True)


def test_then_stands_beside_now_and_a_look_is_corrected_by_the_next(house: House) -> None:
    tank, client = house.tanks["T01"], a_browser(house.owner)
    assert "No photo of this tank yet" in client.get("/tanks/T01/photos/").content.decode()
    old, new = a_photo(house, tank, "red", 60), a_photo(house, tank, "blue")
    a_photo(house, tank, "white", whole=False)
    page = client.get("/tanks/T01/photos/").content.decode()
    assert page.index(f"/photos/{old.uid}/") < page.index(f"/photos/{new.uid}/")
    assert "Nobody has looked at 2 photos" in page
    assert "On their way" in page
    assert old.layout is None
    assert new.layout == house.layouts["T01"]

    empty = look(client, new, "public", credit=" ")
    assert empty.status_code == 422
    assert "Write what it shows" in empty.content.decode()
    seen = look(client, new, "public", credit="M. Ellerkamp", alternative_text="Ferns in light")
    assert 'alt="Ferns in light"' in seen.content.decode()
    page = look(client, new, "private").content.decode()
    assert "Stays private. Looked at by Maud Ellerkamp." in page
    assert "Maud Ellerkamp: for visitors." in page
    assert [r.outcome for r in new.reviews.order_by("pk")] == ["public", "private"]


def test_a_photo_of_another_tank_goes_there_and_the_correction_stays_to_be_seen(
    house: House,
) -> None:
    client, photo = a_browser(house.owner), a_photo(house, house.tanks["T01"], "red")
    assert "no tank here is called T99" in look(
        client, photo, "wrong", right_tank="T99"
    ).content.decode().replace("Photo: ", "")
    assert look(client, photo, "wrong", right_tank="T01").status_code == 422
    left = look(client, photo, "wrong", right_tank="T02").content.decode()
    assert "says" not in left
    assert "Not of this tank" in left
    there = client.get("/tanks/T02/photos/").content.decode()
    assert f"/photos/{photo.uid}/" in there
    assert "Nobody has looked at one photo" in there
    gone = look(client, photo, "wrong", "T02").content.decode()
    assert "No photo of this tank yet" in gone
    assert Photo.objects.get().layout == house.layouts["T02"]


def test_only_who_may_correct_says_so_and_strangers_find_nothing(house: House) -> None:
    photo = a_photo(house, house.tanks["T01"], "red")
    carer = a_carer(house, "Bram Tolliver")
    client = a_browser(carer)
    page = client.get("/tanks/T01/photos/").content.decode()
    assert f"/photos/{photo.uid}/" in page
    assert "Look at it" not in page
    assert look(client, photo, "private").status_code == 403
    with pytest.raises(Forbidden):
        review_photo(showroom=house.showroom, photo=photo.uid, outcome="private", by=carer, at=AT)
    other = a_morning("otherhall", tanks=1).owner
    assert look(a_browser(other), photo, "private").status_code == 404
    with pytest.raises(Unknown):
        review_photo(showroom=other.showroom, photo=photo.uid, outcome="private", by=other, at=AT)
    assert not photo.reviews.exists()
