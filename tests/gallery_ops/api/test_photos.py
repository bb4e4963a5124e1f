"""A photo arrives in pieces: whole, once, without what the camera wrote beside it, for us alone."""

from __future__ import annotations

import hashlib
import io
import os
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from PIL import Image

from gallery_ops.kernel.services.devices import revoke_device
from maintenance.models import Stop
from tanks.models import Photo
from tanks.services import photo_parts
from tanks.services.photo_files import bytes_of
from tests.built_once import built_once
from tests.gallery_ops.api.asking import (
    AT,
    OWN,
    a_batch,
    a_browser,
    a_morning,
    a_tablet,
    an_action,
    enrolled,
    is_problem,
    opening,
    send,
    verdicts,
)
from tests.maintenance.house import House

pytestmark = pytest.mark.django_db
built, house = built_once(lambda: a_morning(tanks=1))


@pytest.fixture(autouse=True)
def _folder(settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def tablet(house: House) -> Client:
    return a_tablet(enrolled(house))


def a_jpeg(size: tuple[int, int] = (60, 40), colour: str = "green") -> bytes:
    """With a place and a maker written beside the pixels."""
    out, told = io.BytesIO(), Image.Exif()
    told[0x010F] = "Maker of the camera"
    told.get_ifd(0x8825)[2] = (53.0, 28.0, 0.0)
    Image.new("RGB", size, colour).save(out, "JPEG", exif=told)
    return out.getvalue()


def sha(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def put(
    client: Client, data: bytes, part: slice = slice(None), *, name: str = "", size: int = 0
) -> Any:
    """One piece of these bytes, under their hash unless another is given."""
    first, last, _step = part.indices(len(data))
    said = f"bytes {first}-{last - 1}/{size or len(data)}"
    return put_as(client, name or sha(data), said, data[part])


def put_as(client: Client, name: str, said: str, body: bytes = b"", **more: str) -> Any:
    headers = {**OWN, "Content-Range": said, **more}
    return client.put(
        f"/api/v1/photos/{name}", body, content_type="application/octet-stream", headers=headers
    )


def announced(house: House, data: bytes, **body: Any) -> dict[str, Any]:
    told = {
        "sha256": sha(data),
        "size_bytes": len(data),
        "media_type": "image/jpeg",
        "viewpoint": "front",
        "entry": None,
        **body,
    }
    stop = Stop.objects.get(round=opening(house), tank=house.tanks["T01"])
    return an_action(house, "photo", told, stop_id=str(stop.uid))


def tell(house: House, action: dict[str, Any]) -> list[str]:
    action = {**action, "device_id": "desk"}
    return verdicts(send(a_browser(house.owner), a_batch("desk", action)))


@pytest.mark.parametrize("bytes_first", [True, False])
def test_it_is_whole_once_whichever_comes_first(
    house: House, tablet: Client, bytes_first: bool
) -> None:
    data = a_jpeg()
    action = announced(house, data)
    if bytes_first:
        assert put(tablet, data).json()["is_whole"]
        assert not Photo.objects.exists()
    assert tell(house, action) == ["accepted"]
    photo = Photo.objects.get()
    assert (photo.whole_at is not None) == bytes_first
    if not bytes_first:
        assert put(tablet, data).json()["is_whole"]
    assert put(tablet, data).json() == {
        "received_bytes": len(data),
        "size_bytes": len(data),
        "is_whole": True,
    }
    assert tell(house, action) == ["duplicate"]
    photo.refresh_from_db()
    assert (Photo.objects.count(), photo.tank, photo.size_bytes) == (
        1,
        house.tanks["T01"],
        len(data),
    )
    kept = bytes_of(photo)
    with Image.open(io.BytesIO(kept)) as picture:
        assert (picture.size, dict(picture.getexif())) == ((60, 40), {})
    assert b"Maker of the camera" not in kept
    assert sha(kept) == photo.kept_sha256 != photo.sha256


def test_it_goes_on_where_it_ended_however_the_pieces_overlap(house: House, tablet: Client) -> None:
    data = a_jpeg()
    half, size = len(data) // 2, len(data)
    assert put(tablet, data, slice(0, half)).json()["received_bytes"] == half
    asked = put_as(tablet, sha(data), f"bytes */{size}")
    assert asked.json() == {"received_bytes": half, "size_bytes": size, "is_whole": False}
    assert put(tablet, data, slice(0, half)).json()["received_bytes"] == half
    assert is_problem(put(tablet, data, slice(half + 9, size)), 416, "wrong_range")["code"] == "gap"
    assert put(tablet, data, slice(half - 7, half + 5)).json()["received_bytes"] == half + 5
    other = data[:20] + bytes([data[20] ^ 1]) + data[21 : half + 40]
    changed = put_as(tablet, sha(data), f"bytes 0-{len(other) - 1}/{size}", other)
    assert is_problem(changed, 409, "refused")["code"] == "other_bytes"
    assert put(tablet, data, slice(half, size)).json()["is_whole"]
    assert not list(Path(photo_parts._folder(house.showroom)).glob("*.[0-9]*"))


def test_what_is_not_what_it_says_is_refused(house: House, tablet: Client) -> None:
    data = a_jpeg()
    for said, code in [
        ("", 400),
        ("bytes 0-9", 400),
        ("bytes 9-0/10", 400),
        (f"bytes 0-9/{len(data)}", 400),  # more came than it says
        ("bytes 5-9/3", 400),
        (f"bytes 0-{len(data) - 1}/{len(data) - 5}", 416),
        (f"bytes 0-{len(data) - 1}/10000000000", 413),
        ("bytes */10000000000", 413),
        ("bytes */0", 413),
    ]:
        body = b"" if "*" in said else data
        assert put_as(tablet, sha(data), said, body).status_code == code, said
    wrong = put(tablet, data, name=sha(b"else"))
    assert is_problem(wrong, 409, "refused")["code"] == "wrong_hash"
    asked = put_as(tablet, sha(b"else"), f"bytes */{len(data)}")
    assert asked.json()["received_bytes"] == 0
    for name in ("x" * 64, "..", sha(data).upper(), "a" * 63):
        assert put_as(tablet, name, "bytes */9").status_code == 404
    much = b"\0" * (1024 * 1024 + 1)
    is_problem(put(tablet, much, name=sha(data)), 413, "too_large")
    assert put_as(tablet, sha(data), "bytes */9", **{"X-Gallery-Ops": ""}).status_code in {200, 403}


SVG = b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'
HTML = b"\xff\xd8\xff<html><script>alert(1)</script></html>"


def a_bomb() -> bytes:
    out = io.BytesIO()
    Image.new("1", (9000, 9000)).save(out, "PNG")
    return out.getvalue()


@pytest.mark.parametrize("data", [SVG, HTML, b"GIF89a", a_bomb(), a_jpeg()[:90]])
def test_no_picture_is_refused_by_its_content_and_says_so_each_time(
    house: House, tablet: Client, data: bytes
) -> None:
    assert tell(house, announced(house, data)) == ["accepted"]
    for _again in range(2):
        assert is_problem(put(tablet, data), 409, "refused")["code"] == "no_picture"
    photo = Photo.objects.get()
    assert (photo.whole_at, bool(photo.refused_because)) == (None, True)


def test_what_hangs_behind_a_picture_is_cut_off(house: House, tablet: Client) -> None:
    data = a_jpeg() + HTML
    tell(house, announced(house, data))
    assert put(tablet, data).json()["is_whole"]
    assert b"script" not in bytes_of(Photo.objects.get())


def test_another_gallery_and_a_tablet_out_of_service_reach_nothing(
    house: House, tablet: Client
) -> None:
    data = a_jpeg()
    tell(house, announced(house, data))
    assert put(tablet, data).json()["is_whole"]
    other = a_tablet(enrolled(a_morning("otherhall", tanks=1)))
    asked = put_as(other, sha(data), f"bytes */{len(data)}")
    assert asked.json() == {"received_bytes": 0, "size_bytes": len(data), "is_whole": False}
    revoked = enrolled(house)
    revoke_device(device=revoked.device, by=house.owner, at=AT)
    is_problem(put(a_tablet(revoked), a_jpeg(colour="red")), 403, "device_unknown")
    assert put(Client(), data).status_code == 401
    foreign = a_tablet(enrolled(house), enforce_csrf_checks=True)
    answer = put_as(foreign, sha(data), "bytes */9", Origin="https://elsewhere.example")
    is_problem(answer, 403, "from_elsewhere")


def test_pieces_that_nobody_goes_on_with_are_thrown_away_and_room_is_bounded(
    house: House, tablet: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    data = a_jpeg()
    put(tablet, data, slice(0, 50))
    old = (AT - timedelta(days=8)).timestamp()
    (part,) = photo_parts._folder(house.showroom).glob("*.[0-9]*")
    os.utime(part, (AT.timestamp(), AT.timestamp()))
    assert photo_parts.tidy_parts(showroom=house.showroom, at=AT) == 0
    os.utime(part, (old, old))
    assert photo_parts.tidy_parts(showroom=house.showroom, at=AT) == 1
    monkeypatch.setattr(photo_parts, "MOST_UNFINISHED_BYTES", 60)
    assert put(tablet, data, slice(0, 50)).status_code == 200
    full = put(tablet, a_jpeg(colour="red"), slice(0, 50))
    is_problem(full, 507, "no_room")
    assert full["Retry-After"]


def test_a_slip_is_taken_back(house: House, tablet: Client) -> None:
    data = a_jpeg()
    action = announced(house, data)
    undo = an_action(
        house, "undo", {"takes_back": action["action_id"]}, corrects=action["action_id"]
    )
    assert tell(house, action) + tell(house, undo) == ["accepted", "accepted"]
    assert [r.outcome for r in Photo.objects.get().reviews.all()] == ["undone"]
