"""Photos: kept with their entry, sent after it under the digest of their bytes, and never in its way."""

import base64
import hashlib
from collections.abc import Callable
from io import BytesIO
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Page, Request

from equipment.models import Entry, Photo
from tests import pictures
from tests.cast import Farm
from tests.outboxes import DEVICE, Phone, dead, html

pytestmark = pytest.mark.django_db(transaction=True)

Expect = Callable[[str], None]
PHOTOS = "**/api/photos/**"
PREPARE = """async ([width, height]) => {
  const canvas = new OffscreenCanvas(width, height);
  const grey = new ImageData(width, height);
  for (let at = 0; at < grey.data.length; at += 1) grey.data[at] = at % 4 === 3 ? 255 : (at * 7919) % 251;
  canvas.getContext('2d').putImageData(grey, 0, 0);
  const large = await canvas.convertToBlob({ type: 'image/jpeg', quality: 0.95 });
  const { sha256, bytes } = await preparePhoto(large);
  const text = Array.from(new Uint8Array(bytes), (byte) => String.fromCharCode(byte)).join('');
  return { sha256, large: large.size, small: btoa(text) };
}"""
RECORD = """async ([draft, pictures]) => {
  const photos = [];
  for (const bytes of pictures) {
    photos.push(await preparePhoto(new Blob([new Uint8Array(bytes)], { type: 'image/jpeg' })));
  }
  await box.record([{ ...draft, detail: { ...draft.detail, photo: photos[0].sha256 } }], { photos });
  return photos.map((photo) => photo.sha256);
}"""


@pytest.fixture
def phone(farm: Farm, page: Page, sign_in: Any) -> Phone:
    farm.users["sam"].groups.set(farm.users["rosa"].groups.all())
    sign_in(page, farm.users["sam"])
    phone = Phone(farm, page).open()
    phone.until(line="on")
    return phone


def broken(phone: Phone, *photos: bytes) -> list[str]:
    """Record a fault with photos; their digests."""
    (bag,) = phone.farm.gear("bag", days_ago=1)
    draft = {"verb": "fault_found", "item": bag, "detail": {"fault": "bag_hole"}}
    return phone.page.evaluate(RECORD, [draft, [list(photo) for photo in photos]])


def picture(colour: Any = pictures.RED) -> bytes:
    return pictures.file(pictures.plain(colour=colour))


def test_photos_go_after_the_entries_by_their_digest(phone: Phone) -> None:
    order: list[str] = []

    def note(request: Request) -> None:
        if request.method in ("POST", "PUT"):
            order.append(request.method)

    phone.page.on("request", note)
    digests = broken(phone, picture(), picture(pictures.BLUE))
    phone.until(unsent=0, photos=0)
    assert digests[0] == hashlib.sha256(picture()).hexdigest()
    assert sorted(Photo.objects.values_list("pk", flat=True)) == sorted(digests)
    assert order == ["POST", "PUT", "PUT"]
    assert Entry.objects.get(device=DEVICE).detail["photo"] == digests[0]
    assert {photo.uploaded_by for photo in Photo.objects.all()} == {phone.user}


def test_a_large_one_is_made_small_before_it_is_named(phone: Phone) -> None:
    made = phone.page.evaluate(PREPARE, [2400, 1800])
    small = base64.b64decode(made["small"])
    assert len(small) < made["large"] and made["sha256"] == hashlib.sha256(small).hexdigest()
    assert Image.open(BytesIO(small)).size == (1600, 1200)


def test_what_is_no_picture_is_parked_and_stops_no_other(phone: Phone, expect_problem: Expect) -> None:
    expect_problem("400")
    _, good = broken(phone, b"no picture at all", picture())
    phone.until(unsent=0, photos=0, line="on")
    assert [photo.pk for photo in Photo.objects.all()] == [good]
    (kept,) = phone.page.evaluate(
        "() => kept.run(['photos'], 'readonly', (t) => new Promise((done) => {"
        "t.objectStore('photos').getAll().onsuccess = (event) => done(event.target.result); }))"
    )
    assert kept["status"] == "parked" and kept["say"]


@pytest.mark.parametrize(
    ("how", "problem"),
    [
        pytest.param(dead, "ERR_CONNECTION_REFUSED", id="dead server"),
        pytest.param(html(200), "", id="a page in its place"),
        pytest.param({"status": 500, "body": "no"}, "500", id="500"),
        pytest.param({"json": {"sha256": "another"}}, "", id="another file's answer"),
    ],
)
def test_it_stays_until_the_book_has_it(how: Any, problem: str, phone: Phone, expect_problem: Expect) -> None:
    if problem:
        expect_problem(problem)
    phone.answers(how, url=PHOTOS)
    (digest,) = broken(phone, picture())
    assert phone.until(unsent=0, line="unreachable")["photos"] == 1
    phone.answers(None, url=PHOTOS)
    phone.flush()
    assert phone.until(photos=0, line="on") and Photo.objects.get().pk == digest


def test_one_that_arrives_damaged_is_sent_again_three_times_at_most(
    phone: Phone, expect_problem: Expect
) -> None:
    expect_problem("400")
    said = {"status": 400, "json": {"code": "malformed", "say": "not the file of this name"}}
    sent: list[str] = []
    phone.page.on("request", lambda request: sent.append(request.url) if request.method == "PUT" else None)
    phone.answers(said, url=PHOTOS)
    broken(phone, picture())
    phone.until(unsent=0, photos=0, line="on")  # by its own timer
    phone.flush()
    assert len(sent) == 3 and Photo.objects.count() == 0
