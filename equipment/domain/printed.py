"""What the symbol on a printed register says: which printing it is, and the digest of what was printed.

Under the farm's address it opens the page that checks the paper; without one it is the code, a blank and the digest,
letters and digits only, as a scanner types them.
"""

import re
from dataclasses import dataclass
from urllib.parse import parse_qs, urlsplit

from equipment.domain import codes
from equipment.domain.words import gettext_noop

# Of the 64 hex digits of SHA-256: as many as anyone types, and as few as still say something.
WHOLE, FEWEST = 64, 8
_DIGEST = re.compile(rf"[0-9A-Fa-f]{{{FEWEST},{WHOLE}}}")
_TYPED = re.compile(r"[\W_]*([A-Za-z]{2}[0-9]{4,7}[A-Za-z0-9])(?:[\W_]+(.*))?", re.DOTALL)


class NotAPrinting(codes.BadCode):
    message = gettext_noop(
        "“%(text)s” is not from a printed register. Scan its symbol again, or type the code at its foot."
    )


@dataclass(frozen=True)
class Printed:
    """`digest` in lower case: all 64 hex digits, the first of them (at least 8), or "" where only the code was read."""

    code: str
    digest: str = ""

    def agrees(self, digest: str) -> bool:
        """Whether what was read of the digest is the beginning of `digest`."""
        return digest.startswith(self.digest)


def make(code: str, digest: str, url_base: str = "") -> str:
    """What the symbol of the printing `code` holds; `url_base` as in `symbols.for_room`."""
    if url_base:
        return f"{url_base.rstrip('/')}/verify/{code}/?digest={digest}"
    return f"{code} {digest}".upper()


def parse(text: str) -> Printed:
    """What a scanner sent or a person typed: an address, code and digest in any case and grouping, or the bare code.

    Raises NotAPrinting, or WrongCheck where the code was misread.
    """
    shown = " ".join(text[:40].split())
    if len(text) > codes.LONGEST_TEXT:
        raise NotAPrinting(text=shown)
    code, digest = _of_address(text) if "://" in text else _of_typing(text)
    digest = re.sub(r"[\W_]+", "", digest)
    if digest and not _DIGEST.fullmatch(digest):
        raise NotAPrinting(text=shown)
    try:
        found = codes.parse(code)
    except codes.NotACode as error:
        raise NotAPrinting(text=shown) from error
    if found.prefix != codes.PRINTING:
        raise NotAPrinting(text=shown)
    return Printed(found.text, digest.lower())


def _of_address(text: str) -> tuple[str, str]:
    try:
        query = urlsplit(text.strip()).query
    except ValueError:
        query = ""
    return text, parse_qs(query).get("digest", [""])[0]


def _of_typing(text: str) -> tuple[str, str]:
    found = _TYPED.fullmatch(text)
    return (found[1], found[2] or "") if found else (text, "")
