"""From whatever a camera sends to a small upright JPEG that holds nothing but the picture."""

import threading
from dataclasses import dataclass
from io import BytesIO

from django.utils.translation import gettext as _
from PIL import Image, ImageCms, ImageOps

from equipment.models.photos import MOST_KEPT_BYTES

FORMATS = ("JPEG", "PNG", "WEBP")
MOST_PIXELS = 24_000_000
MOST_SCANS = 100
LONG_SIDE = 1600
QUALITIES = (82, 70, 58, 46)
START_OF_SCAN = b"\xff\xda"

# A PNG of 24 megapixels takes some 300 MB while it is read: several phones that find signal at once must not add up.
_one_at_a_time = threading.Lock()


class PhotoRefused(ValueError):
    """Why a photo is not taken, as a sentence; `code` is `not_a_photo`, `too_large` or `malformed`."""

    def __init__(self, code: str, sentence: str) -> None:
        super().__init__(sentence)
        self.code = code


@dataclass(frozen=True)
class SmallPhoto:
    """A JPEG of at most `MOST_KEPT_BYTES` bytes and `LONG_SIDE` pixels a side, without any metadata."""

    data: bytes
    width: int
    height: int


def shrink(data: bytes) -> SmallPhoto:
    """The picture in `data` made anew.

    Raises PhotoRefused where `data` is no whole JPEG, PNG or WebP picture, or one of more than `MOST_PIXELS` by its
    own header, which is asked before a single pixel is decoded.
    """
    with _one_at_a_time:
        return _smallest(_picture(data))


def _picture(data: bytes) -> Image.Image:
    try:
        with Image.open(BytesIO(data), formats=FORMATS) as photo:
            _refuse_a_bomb(photo, data)
            return _plain(photo)
    except PhotoRefused:
        raise
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise _too_many_pixels() from None
    except Exception as error:  # a decoder raises nearly anything at a file that is broken on purpose
        said = _("This is no picture that can be read. Send a whole JPEG, PNG or WebP file.")
        raise PhotoRefused("not_a_photo", said) from error


def _refuse_a_bomb(photo: Image.Image, data: bytes) -> None:
    """A few bytes that would take all memory (pixels) or all day (every scan of a progressive JPEG visits them all)."""
    if photo.width * photo.height > MOST_PIXELS:
        raise _too_many_pixels()
    if photo.info.get("progressive") and data.count(START_OF_SCAN) > MOST_SCANS:
        raise PhotoRefused("not_a_photo", _("This picture is not made as a camera makes one. Take it anew."))


def _too_many_pixels() -> PhotoRefused:
    said = _(
        "This picture has more than %(most)s megapixels. Set the camera to a smaller size, or send a smaller copy."
    )
    return PhotoRefused("too_large", said % {"most": MOST_PIXELS // 1_000_000})


def _plain(photo: Image.Image) -> Image.Image:
    """Small, upright, sRGB and on white, in a new image: to the old one cling EXIF, GPS, XMP and comments."""
    scale = min(1.0, LONG_SIDE / max(photo.size))
    # A JPEG is decoded at a half, a quarter or an eighth straight away where that is still large enough.
    photo.draft(None, (round(photo.width * scale), round(photo.height * scale)))
    profile = photo.info.get("icc_profile")
    picture = _resizable(photo)
    picture.thumbnail((LONG_SIDE, LONG_SIDE), Image.Resampling.LANCZOS)
    picture = _srgb(_on_white(_upright(picture)), profile)
    new = Image.new("RGB", picture.size)
    new.paste(picture)
    return new


def _resizable(photo: Image.Image) -> Image.Image:
    """Whole, and in a mode whose pixels can be averaged: no palette, no bits, no 16-bit grey."""
    photo.load()
    if photo.mode.startswith("I"):
        return photo.convert("I").point(lambda grey: grey * (1 / 256)).convert("L")
    if photo.mode in ("P", "1"):
        return photo.convert("RGBA" if photo.has_transparency_data else "RGB")
    return photo


def _upright(picture: Image.Image) -> Image.Image:
    try:
        return ImageOps.exif_transpose(picture)
    except Exception:  # EXIF that cannot be read says nothing about the picture
        return picture


def _on_white(picture: Image.Image) -> Image.Image:
    if not picture.has_transparency_data:
        return picture
    sheet = Image.new("RGBA", picture.size, "white")
    sheet.alpha_composite(picture.convert("RGBA"))
    return sheet.convert("RGB")


def _srgb(picture: Image.Image, profile: bytes | None) -> Image.Image:
    if profile:
        try:
            given = ImageCms.ImageCmsProfile(BytesIO(profile))
            target = ImageCms.createProfile("sRGB")
            converted = ImageCms.profileToProfile(picture, given, target, outputMode="RGB")
        except (
            ImageCms.PyCMSError,
            OSError,
        ):  # a profile that is broken, or of other colours than the picture's
            converted = None
        if converted:
            return converted
    return picture.convert("RGB")


def _smallest(picture: Image.Image) -> SmallPhoto:
    """Coarser first, then smaller, until it fits."""
    while True:
        for quality in QUALITIES:
            file = BytesIO()
            picture.save(file, "JPEG", quality=quality)
            if file.tell() <= MOST_KEPT_BYTES:
                return SmallPhoto(file.getvalue(), *picture.size)
        picture = ImageOps.scale(picture, 0.8)
