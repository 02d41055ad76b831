"""The type that paper is set in, and what is done with letters that it lacks.

FiraGO and Cascadia Mono (SIL Open Font License) come from the pymupdf-fonts package. They are embedded, so that a
name prints alike on every machine: Latin with all its marks (Vietnamese, Polish, Portuguese, Spanish), click letters,
Greek and Cyrillic. Other scripts need shaping, which this paper does not do; such letters are never printed as boxes
or in the wrong order: a line to write on stands in their place, and the page says so.
"""

import io
import re
import unicodedata
from functools import cache

from pymupdf_fonts import fontbuffers
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

PLAIN, BOLD, MONO = "FarmPlain", "FarmBold", "FarmMono"
BY_HAND = "______"

_CARRIED_AS = {PLAIN: "figo", BOLD: "figbo", MONO: "cascadiab"}
# Latin, phonetic and click letters, combining marks, Greek, Cyrillic; more Latin; punctuation, currency, arrows.
_UNSHAPED = (
    (0x20, 0x052F),
    (0x1E00, 0x1EFF),
    (0x2010, 0x2027),
    (0x2030, 0x205E),
    (0x20A0, 0x20BF),
    (0x2190, 0x2193),
)


@cache
def register() -> frozenset[str]:
    """Load the three faces into reportlab, once a process; the characters that plain and bold both carry."""
    faces = {name: TTFont(name, io.BytesIO(fontbuffers[key]())) for name, key in _CARRIED_AS.items()}
    for face in faces.values():
        pdfmetrics.registerFont(face)
    both = faces[PLAIN].face.charToGlyph.keys() & faces[BOLD].face.charToGlyph.keys()
    return frozenset(
        chr(point) for first, last in _UNSHAPED for point in range(first, last + 1) if point in both
    )


def printable(text: str) -> str:
    """`text` as it can be set: composed, on one line, with BY_HAND in place of each run of letters that are lacking."""
    if text.isascii() and text.isprintable():
        return text
    known = register()
    composed = unicodedata.normalize("NFC", text)
    kept = (" " if c.isspace() or unicodedata.category(c) == "Cc" else c for c in composed)
    marked = "".join(c if c in known else "\0" for c in kept if unicodedata.category(c) != "Cf")
    return " ".join(re.sub(r"\0(?:[\0 ]*\0)?", BY_HAND, marked).split())


def width(text: str, font: str, size: float) -> float:
    """In points."""
    return float(pdfmetrics.stringWidth(text, font, size))


def fitted(text: str, font: str, room: float, size: float, smallest: float) -> tuple[str, float]:
    """`text` and the size at which it is at most `room` points wide: smaller first, cut short with "…" last."""
    wide = width(text, font, size)
    if wide <= room:
        return text, size
    size = max(smallest, size * room / wide)
    if width(text, font, size) <= room * 1.001:
        return text, size
    while text and width(text + "…", font, size) > room:
        text = text[:-1]
    return text.rstrip() + "…", size


def wrapped(text: str, font: str, room: float, size: float, most: int) -> list[str]:
    """`text` in at most `most` lines of `room` points, broken at blanks and after hyphens; what is too long is cut."""
    lines = [""]
    for word in re.findall(r"\S+?-(?=\S)|\S+ *", text):
        if lines[-1] and len(lines) < most and width((lines[-1] + word).rstrip(), font, size) > room:
            lines.append("")
        lines[-1] += word
    return [fitted(line.rstrip(), font, room, size, size)[0] for line in lines]


def set_in(
    text: str, font: str, room: float, choices: tuple[tuple[float, int], ...]
) -> tuple[list[str], float]:
    """`text` wrapped at the first (size, most lines) of `choices` that cuts nothing, or else at the last of them."""
    for size, most in choices:
        lines = wrapped(text, font, room, size, most)
        if not any(line.endswith("…") for line in lines):
            break
    return lines, size
