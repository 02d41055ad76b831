"""The farm's logo for the head of a register: a picture that the setting FARM_LOGO names, or a sentence on why not.

The paper prints without it: a logo is never a reason not to have the register.
"""

from functools import lru_cache
from pathlib import Path

from django.conf import settings
from django.utils.translation import gettext as _
from PIL import Image, UnidentifiedImageError

# Enough for 60 mm at 300 dpi.
MOST_PIXELS = (720, 300)
LARGEST_FILE = 20_000_000


def logo() -> tuple[Image.Image | None, str]:
    """The picture, grey or in colour on white and small enough to print; where there is none, what is wrong with it,
    "" where the farm has set none."""
    name = settings.FARM_LOGO
    if not name:
        return None, ""
    try:
        changed = Path(name).stat()
        return _read(name, changed.st_mtime_ns, changed.st_size), ""
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError, UnidentifiedImageError):
        said = _("The logo %(file)s is not a picture that can be printed: registers are printed without it. ")
        return None, said % {"file": name} + _("Set FARM_LOGO to a PNG or JPEG file.")


@lru_cache(maxsize=1)
def _read(name: str, _changed: int, size: int) -> Image.Image:
    if size > LARGEST_FILE:
        raise ValueError(name)
    with Image.open(name, formats=("PNG", "JPEG", "GIF", "BMP", "WEBP", "TIFF")) as opened:
        opened.draft("RGB", MOST_PIXELS)
        picture = opened.convert("RGBA")
    picture.thumbnail(MOST_PIXELS)
    white = Image.new("RGBA", picture.size, "white")
    return Image.alpha_composite(white, picture).convert("RGB")
