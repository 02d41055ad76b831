"""What is kept of a photo: the picture, upright and in its colours, and nothing that came with it."""

from collections.abc import Callable, Iterator
from io import BytesIO
from typing import Any

import pytest
from PIL import ExifTags, Image, ImageCms, PngImagePlugin
from rest_framework.test import APIClient

from equipment.models import Photo
from tests.pictures import BLUE, GREEN, RED, WHITE, close, file, kept, plain

SignIn = Callable[[str], APIClient]
CANARY = "row seventeen behind the dam"


@pytest.fixture
def sam(client_of: SignIn) -> APIClient:
    return client_of("sam")


def markers(jpeg: bytes) -> Iterator[tuple[int, bytes]]:
    """Segments before the first scan: marker and content (ITU-T T.81, B.1.1.4)."""
    at = 2
    while jpeg[at + 1] != 0xDA:
        length = int.from_bytes(jpeg[at + 2 : at + 4], "big")
        yield jpeg[at + 1], jpeg[at + 4 : at + 2 + length]
        at += 2 + length


def located() -> Image.Exif:
    exif = Image.Exif()
    exif[ExifTags.Base.ImageDescription] = CANARY
    exif[ExifTags.Base.Make] = CANARY
    exif.get_ifd(ExifTags.IFD.GPSInfo).update(
        {
            ExifTags.GPS.GPSLatitudeRef: "S",
            ExifTags.GPS.GPSLatitude: (33.0, 27.0, 5.0),
            ExifTags.GPS.GPSAreaInformation: CANARY,
        }
    )
    return exif


def talkative(form: str) -> bytes:
    """A picture with something to tell in every place that its format has for it."""
    xmp = f'<x:xmpmeta xmlns:x="adobe:ns:meta/"><where>{CANARY}</where></x:xmpmeta>'.encode()
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes() + CANARY.encode()
    options: dict[str, Any] = {"exif": located(), "icc_profile": profile}
    if form == "PNG":
        text = PngImagePlugin.PngInfo()
        text.add_text("Comment", CANARY)
        text.add_itxt("XML:com.adobe.xmp", xmp.decode())
        return file(plain(), form, pnginfo=text, **options)
    if form == "JPEG":
        options["comment"] = CANARY
    return file(plain(), form, xmp=xmp, **options) + (CANARY.encode() if form == "JPEG" else b"")


@pytest.mark.parametrize(("form", "times"), [("JPEG", 6), ("PNG", 5), ("WEBP", 5)])
def test_nothing_but_the_picture_is_kept(form: str, times: int, sam: APIClient) -> None:
    data = talkative(form)
    with Image.open(BytesIO(data)) as sent:
        assert sent.getexif().get_ifd(ExifTags.IFD.GPSInfo)
    assert data.count(CANARY.encode()) >= times
    picture = kept(sam, data)
    assert not picture.getexif()
    assert set(picture.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    stored = bytes(Photo.objects.get().data)
    for trace in (CANARY.encode(), b"Exif", b"GPS", b"xmp", b"adobe", b"ICC_PROFILE"):
        assert trace not in stored
    # JFIF, tables and the frame; no other APPn, no comment; nothing behind the end.
    assert {marker for marker, _ in markers(stored)} <= {0xE0, 0xDB, 0xC0, 0xC4}
    assert [content[:5] for marker, content in markers(stored) if marker == 0xE0] == [b"JFIF\0"]
    assert stored.endswith(b"\xff\xd9")


# CIPA DC-008 (Exif), tag Orientation: the visual side of the 0th row, then of the 0th column.
SIDES = {
    1: "top left",
    2: "top right",
    3: "bottom right",
    4: "bottom left",
    5: "left top",
    6: "right top",
    7: "right bottom",
    8: "left bottom",
}
OPPOSITE = {"top": "bottom", "bottom": "top", "left": "right", "right": "left"}


@pytest.mark.parametrize("orientation", SIDES)
def test_it_stands_upright(orientation: int, sam: APIClient) -> None:
    stored = plain(96, 64, WHITE)
    stored.paste(RED, (0, 0, 16, 16))
    stored.paste(BLUE, (80, 0, 96, 16))
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = orientation
    row, column = SIDES[orientation].split()
    picture = kept(sam, file(stored, exif=exif, quality=95))
    assert picture.size == ((96, 64) if orientation < 5 else (64, 96))
    for colour, sides in ((RED, {row, column}), (BLUE, {row, OPPOSITE[column]})):
        x = 4 if "left" in sides else picture.width - 5
        y = 4 if "top" in sides else picture.height - 5
        assert close(picture, x, y, colour)


def test_exif_that_is_nonsense_harms_nothing(sam: APIClient) -> None:
    assert kept(sam, file(plain(), exif=b"Exif\0\0nonsense")).size == (64, 48)


@pytest.mark.parametrize(
    ("picture", "form", "colour"),
    [
        (plain(colour=(0, 0, 0, 0), mode="RGBA"), "PNG", WHITE),
        (plain(colour=(0, 0, 255, 255), mode="RGBA"), "WEBP", BLUE),
        (plain(colour=(0, 0), mode="LA"), "PNG", WHITE),
        (plain(colour=RED).quantize(4), "PNG", RED),
        (plain(colour=1, mode="1"), "PNG", WHITE),
        (plain(colour=128, mode="L"), "JPEG", (128, 128, 128)),
        (plain(colour=128 * 257, mode="I;16"), "PNG", (128, 128, 128)),
        (plain(colour=(0, 255, 255, 0), mode="CMYK"), "JPEG", RED),
    ],
    ids="clear solid grey_clear palette bits grey deep_grey cmyk".split(),
)
def test_colours_stay_and_what_is_clear_is_white(
    picture: Image.Image, form: str, colour: tuple[int, ...], sam: APIClient
) -> None:
    shown = kept(sam, file(picture, form))
    assert shown.mode == "RGB"
    assert close(shown, 20, 20, colour)


def test_colours_of_another_profile_become_srgb(sam: APIClient) -> None:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    # The same profile with its red and green exchanged: by it, a red picture looks green.
    odd = profile.replace(b"rXYZ", b"----").replace(b"gXYZ", b"rXYZ").replace(b"----", b"gXYZ")
    assert close(kept(sam, file(plain(), icc_profile=odd)), 20, 20, GREEN)
    assert close(kept(sam, file(plain(), icc_profile=b"no profile")), 20, 20, RED)
