"""A picture for a claim: kept under its hash without what the camera adds, shown to nobody else."""

from __future__ import annotations

import hashlib
import io
import time
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from gallery_ops.kernel import clock
from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.values.quantity import Mass
from inventory.models import PurchaseOrder
from inventory.queries.orders import lines_of
from inventory.services.receipts import Came, receive_goods
from tanks.models import Photo
from tanks.services.photo_files import MOST_BYTES, bytes_of, keep_photo
from tests.builders.gallery import AT, a_showroom, an_owner
from tests.builders.orders import a_pack, a_supplier, an_order
from tests.builders.stock import a_food
from tests.gallery_ops.web.pages.addresses import signed_in

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def kept_here(monkeypatch: pytest.MonkeyPatch, settings: Any, tmp_path: Path) -> None:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T08:08")
    monkeypatch.setattr(clock, "_started", time.monotonic())
    settings.MEDIA_ROOT = tmp_path


def a_jpeg(colour: str = "green") -> bytes:
    """Twelve by eight pixels, lying on its side, with a place and a maker written beside them."""
    out, told = io.BytesIO(), Image.Exif()
    told[0x010F] = "Maker of the camera"
    told[0x0112] = 6
    told.get_ifd(0x8825)[2] = (53.0, 28.0, 0.0)
    Image.new("RGB", (12, 8), colour).save(out, "JPEG", exif=told)
    return out.getvalue()


def a_broken_tub(owner: Membership) -> tuple[PurchaseOrder, str]:
    """An order of which one tub came broken, and what a picture of it is called."""
    trade = a_supplier(owner.showroom, claim_hours=24)
    food = a_food(owner.showroom, name="Fine granules")
    a_pack(trade, food, Mass.g(100))
    order = an_order(trade, (food, Mass.g(100), 2))
    (line,) = lines_of([order])[order.pk]
    receipt = receive_goods(order=order, came=[Came(line, whole=1, broken=1)], by=owner, at=AT)
    return order, f"receipt:{receipt.uid}:1"


def send(client: Client, order: PurchaseOrder, of: str, data: bytes | None) -> Any:
    said: dict[str, Any] = {"deed": "photo", "of": of}
    if data is not None:
        said["photo"] = SimpleUploadedFile("broken.jpg", data, content_type="image/jpeg")
    return client.post(reverse("order_detail", args=[order.uid]), said)


def test_a_picture_is_kept_once_upright_and_without_place_and_maker(tmp_path: Path) -> None:
    owner = an_owner(a_showroom())
    order, of = a_broken_tub(owner)
    client, data = signed_in(owner), a_jpeg()
    for _ in range(2):
        assert send(client, order, of, data).status_code == 302
    photo = Photo.objects.get()
    assert photo.sha256 == hashlib.sha256(data).hexdigest()
    kept = bytes_of(photo)
    assert photo.kept_sha256 == hashlib.sha256(kept).hexdigest()
    assert (tmp_path / "photos" / photo.kept_sha256[:2] / photo.kept_sha256).read_bytes() == kept
    shown = Image.open(io.BytesIO(kept))
    assert (shown.size, dict(shown.getexif())) == ((8, 12), {})
    assert b"Maker" in data
    assert b"Maker" not in kept
    page = client.get(reverse("order_detail", args=[order.uid])).content.decode()
    assert reverse("photo_file", args=[photo.uid]) in page


def test_it_is_private_to_its_gallery() -> None:
    owner = an_owner(a_showroom())
    _order, of = a_broken_tub(owner)
    photo = keep_photo(showroom=owner.showroom, data=a_jpeg(), subject=of, by=owner, at=AT)
    path = reverse("photo_file", args=[photo.uid])
    answer = signed_in(owner).get(path)
    assert answer.status_code == 200
    assert (answer["Content-Type"], answer.content) == ("image/jpeg", bytes_of(photo))
    assert answer["Cache-Control"].startswith("private")
    assert signed_in(an_owner(a_showroom())).get(path).status_code == 404
    assert Client().get(path).status_code == 302


@pytest.mark.parametrize("data", [None, b"", b"not a picture", b"<svg/>", a_jpeg()[:200]])
def test_what_is_no_picture_is_refused_and_leaves_nothing(
    data: bytes | None, tmp_path: Path
) -> None:
    owner = an_owner(a_showroom())
    order, of = a_broken_tub(owner)
    answer = send(signed_in(owner), order, of, data)
    assert answer.status_code == 422
    assert "Picture:" in answer.content.decode()
    assert not Photo.objects.exists()
    assert not list(tmp_path.rglob("*"))


def test_a_picture_of_another_van_or_of_too_many_bytes_is_refused() -> None:
    owner = an_owner(a_showroom())
    order, _of = a_broken_tub(owner)
    assert send(signed_in(owner), order, "receipt:of:another", a_jpeg()).status_code == 422
    with pytest.raises(Refused) as no:
        keep_photo(
            showroom=owner.showroom, data=b"x" * (MOST_BYTES + 1), subject="x", by=owner, at=AT
        )
    assert no.value.code == "too_large"
