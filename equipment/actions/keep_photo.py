"""Keep a photo that an entry names, or will."""

import hashlib
from datetime import datetime

from django.utils.translation import gettext as _

from crews.models import User
from equipment.actions.shrink_photo import PhotoRefused, shrink
from equipment.models import Photo

# A file as a camera sends it; a larger one is not even read to its end.
MOST_BYTES = 12_000_000


def keep_photo(data: bytes, by: User, at: datetime, named: str | None = None) -> tuple[Photo, bool]:
    """The photo in `data`, and whether it is new. Sending it again changes nothing, nor does it undo an erasure.

    `named` is the SHA-256 that the sender gives it, in hexadecimal; None where they leave that to us.
    Raises PhotoRefused where the name is another file's, or `shrink` does.
    """
    digest = hashlib.sha256(data).hexdigest()
    if named is not None and named.lower() != digest:
        said = _("What arrived is not the file of this name (its SHA-256). Send it again, whole.")
        raise PhotoRefused("malformed", said)
    known = Photo.objects.defer("data").filter(pk=digest).first()
    if known:
        return known, False
    small = shrink(data)
    new = {
        "data": small.data,
        "width": small.width,
        "height": small.height,
        "size": len(small.data),
        "uploaded_by": by,
        "at": at,
    }
    return Photo.objects.get_or_create(sha256=digest, defaults=new)
