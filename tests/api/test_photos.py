"""Photos of faults: a picture is kept, small; anything else is refused; sending again is harmless."""

import hashlib
import struct
import zlib
from collections.abc import Callable
from io import BytesIO
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.utils import timezone
from PIL import ImageFile
from rest_framework.test import APIClient

from equipment.actions import shrink_photo
from equipment.actions.keep_photo import keep_photo
from equipment.api import photos
from equipment.models import Photo
from tests.cast import Farm
from tests.pictures import file, kept, noise, plain, put, url

SignIn = Callable[[str], APIClient]


@pytest.fixture
def sam(client_of: SignIn) -> APIClient:
    return client_of("sam")


def refused(client: Any, data: bytes, status: int, code: str) -> str:
    answer = put(client, data)
    assert (answer.status_code, answer.json()["code"]) == (status, code), answer.content
    assert not Photo.objects.exists()
    return answer.json()["say"]


# What is taken


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_a_photo_is_kept_once(form: str, farm: Farm, sam: APIClient) -> None:
    data = file(plain(), form)
    first = put(sam, data, content_type=f"image/{form.lower()}")
    assert first.status_code == 201
    assert first.json() == {
        "sha256": hashlib.sha256(data).hexdigest(),
        "width": 64,
        "height": 48,
        "size": Photo.objects.get().size,
        "erased_at": None,
    }
    again = put(sam, data)
    assert (again.status_code, again.json()) == (200, first.json())
    photo = Photo.objects.get()
    assert (photo.uploaded_by, photo.size) == (farm.users["sam"], len(bytes(photo.data)))


def test_sent_again_by_another_it_stays_the_first_ones(farm: Farm, client_of: SignIn) -> None:
    data = file(plain())
    assert put(client_of("sam"), data).status_code == 201
    assert (
        put(client_of("mo"), data, at=url(data).upper().replace("/API/PHOTOS", "/api/photos")).status_code
        == 200
    )
    assert Photo.objects.get().uploaded_by == farm.users["sam"]


def test_it_comes_back_as_a_picture_that_only_browsers_of_its_reader_keep(sam: APIClient) -> None:
    data = file(plain())
    put(sam, data)
    answer = sam.get(url(data), headers={"Accept": "image/jpeg"})
    assert answer["Cache-Control"] == "private, max-age=86400, immutable"
    assert answer["X-Content-Type-Options"] == "nosniff"
    name = hashlib.sha256(data).hexdigest()[:12]
    assert answer["Content-Disposition"] == f'inline; filename="fault-{name}.jpg"'
    assert "Cookie" in answer["Vary"]


def test_every_role_may_send_and_see(farm: Farm, client_of: SignIn) -> None:
    for number, name in enumerate(farm.users):
        kept(client_of(name), file(plain(20 + number)))


def test_large_ones_get_small_and_keep_their_shape(sam: APIClient) -> None:
    assert kept(sam, file(plain(6000, 4000))).size == (1600, 1067)  # 24 megapixels, just allowed
    assert kept(sam, file(plain(900, 3000), "PNG")).size == (480, 1600)
    assert kept(sam, file(plain(5000, 1), "PNG")).size == (1600, 1)
    assert kept(sam, file(plain(1600, 900))).size == (1600, 900)


def test_what_does_not_compress_ends_small_all_the_same(sam: APIClient) -> None:
    data = file(noise(1800, 1800), quality=95)
    picture = kept(sam, data)  # at most 300 kB
    assert len(data) > 3_000_000
    assert picture.width == picture.height >= 600
    assert Photo.objects.get().width == picture.width


# What is refused


def chunk(name: bytes, content: bytes) -> bytes:
    return struct.pack(">I", len(content)) + name + content + struct.pack(">I", zlib.crc32(name + content))


def declared(width: int, height: int) -> bytes:
    """A PNG that says it is so large (ISO/IEC 15948, 11.2.2) and whose few bytes unpack to a great deal."""
    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    zeros = zlib.compress(bytes(20_000_000), 9)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zeros) + chunk(b"IEND", b"")


@pytest.fixture
def undecoded(monkeypatch: pytest.MonkeyPatch) -> None:
    def decode(*args: Any) -> None:
        raise AssertionError("a pixel was decoded")

    monkeypatch.setattr(ImageFile.ImageFile, "load", decode)


@pytest.mark.parametrize(
    ("width", "height"),
    [(6000, 4001), (8000, 5000), (12_000, 10_000), (30_000, 30_000), (2**31 - 1, 2**31 - 1)],
)
def test_too_many_pixels_are_refused_before_any_is_decoded(
    width: int, height: int, sam: APIClient, undecoded: None
) -> None:
    data = declared(width, height)
    assert len(data) < 50_000
    assert "24 megapixels" in refused(sam, data, 413, "too_large")


def test_forty_megapixels_of_a_camera_are_refused(sam: APIClient, undecoded: None) -> None:
    say = refused(sam, file(plain(8000, 5000, 90, "L")), 413, "too_large")
    assert say == (
        "This picture has more than 24 megapixels. Set the camera to a smaller size, or send a smaller copy."
    )


def test_a_jpeg_of_endless_scans_is_refused(sam: APIClient) -> None:
    """Each scan visits every pixel, and costs the sender some forty bytes."""
    data = file(plain(640, 480, 90, "L"), progressive=True)
    scan = data[data.rindex(shrink_photo.START_OF_SCAN) : -2]
    refused(sam, data[:-2] + scan * 101 + data[-2:], 400, "not_a_photo")
    assert kept(sam, data).size == (640, 480)


NO_PHOTOS = {
    "nothing": b"",
    "text": b"a torn bag, believe me\n" * 50,
    "a page": b"<!DOCTYPE html><script>alert(1)</script>",
    "a drawing": b'<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"/>',
    "the start of a JPEG, then text": b"\xff\xd8\xff\xe0\x00\x10JFIF\x00" + b"text " * 50,
    "a GIF": file(plain().quantize(4), "GIF"),
    "a TIFF": file(plain(), "TIFF"),
    "half a JPEG": file(noise(200, 200))[:9000],
    "a JPEG without its end": file(noise(200, 200))[:-40],
    "half a PNG": file(noise(200, 200), "PNG")[:9000],
    "half a WebP": file(noise(200, 200), "WEBP")[:9000],
    "a PNG with a bit turned": file(plain(), "PNG").replace(b"IDAT", b"IDAU"),
}


@pytest.mark.parametrize("name", NO_PHOTOS)
def test_what_is_no_whole_picture_is_refused(name: str, sam: APIClient) -> None:
    data = NO_PHOTOS[name]
    assert "JPEG, PNG or WebP" in refused(sam, data, 400, "not_a_photo")
    assert sam.get(url(data)).status_code == 404


@pytest.mark.parametrize(
    "digest", [hashlib.sha256(b"another").hexdigest(), "nonsense", "0" * 63, "%00", "é" * 64], ids=str
)
def test_a_name_that_is_not_its_own_is_malformed(digest: str, sam: APIClient) -> None:
    answer = put(sam, file(plain()), at=f"/api/photos/{digest}/")
    assert (answer.status_code, answer.json()["code"]) == (400, "malformed")
    assert not Photo.objects.exists()
    assert sam.get(f"/api/photos/{digest}/").json()["code"] == "not_found"


def test_a_file_too_long_is_not_even_read_to_its_end(sam: APIClient) -> None:
    body = BytesIO(file(plain()) + bytes(photos.MOST_BYTES))
    with pytest.raises(photos.Refused) as refusal:
        photos.PhotoBytes().parse(body)
    assert body.tell() == photos.MOST_BYTES + 1
    assert (refusal.value.status_code, refusal.value.stable_code) == (413, "too_large")
    assert "12 MB" in refused(sam, body.getvalue(), 413, "too_large")
    longest = file(plain())
    longest += bytes(photos.MOST_BYTES - len(longest))
    assert put(sam, longest).status_code == 201


@pytest.mark.parametrize(
    "content_type", ["application/json", "multipart/form-data; boundary=x", "text/plain"]
)
def test_another_content_type_is_415(content_type: str, sam: APIClient) -> None:
    answer = put(sam, file(plain()), content_type=content_type)
    assert (answer.status_code, answer.json()["code"]) == (415, "unsupported_media_type")


def test_who_is_not_signed_in_neither_sends_nor_sees(sam: APIClient) -> None:
    data, other = file(plain()), file(plain(20))
    put(sam, data)
    for answer in (Client().get(url(data)), put(Client(), data), put(Client(), other)):
        assert (answer.status_code, answer.json()["code"]) == (401, "not_signed_in")
    assert Photo.objects.count() == 1


def test_it_is_neither_changed_nor_removed_from_outside(sam: APIClient) -> None:
    data = file(plain())
    put(sam, data)
    for method in ("post", "patch", "delete"):
        assert getattr(sam, method)(url(data)).status_code == 405
    assert Photo.objects.count() == 1


# What is erased


def test_an_erased_photo_is_gone_and_stays_so(sam: APIClient) -> None:
    data, other = file(plain()), file(plain(20))
    put(sam, data)
    put(sam, other)
    at = timezone.now()
    assert Photo.objects.filter(pk=hashlib.sha256(data).hexdigest()).erase(at) == 1
    answer = sam.get(url(data), headers={"Accept": "image/jpeg"})
    assert (answer.status_code, answer.json()["code"]) == (410, "erased")
    again = put(sam, data)
    assert (again.status_code, again.json()["size"]) == (200, 0)
    assert again.json()["erased_at"]
    photo = Photo.objects.get(erased_at=at)
    assert bytes(photo.data) == b""
    assert Photo.objects.erase(timezone.now()) == 1  # the other; what is erased keeps its time
    assert Photo.objects.filter(erased_at=at).count() == 1


def test_the_database_holds_no_large_photo(farm: Farm) -> None:
    photo, new = keep_photo(file(plain()), farm.users["mo"], timezone.now())
    assert new
    for wrong in ({"size": 300_001}, {"size": 0}, {"erased_at": timezone.now()}):
        with pytest.raises(IntegrityError), transaction.atomic():
            Photo.objects.filter(pk=photo.pk).update(**wrong)
