"""The label of a dip bath, half an A4 sheet: put on the bucket, so that nobody takes it for water.

What the bath is and until when, who mixed it of what, and every caution; the symbol names the bath to a scanner.
"""

from dataclasses import dataclass
from datetime import datetime

from django.utils.formats import date_format, number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from reportlab.lib.units import mm

from equipment.documents import fonts, symbols
from equipment.documents.fonts import BOLD, PLAIN
from equipment.documents.page import A4, MARGIN, PAGE_END, Paper

HALF = (A4[0], A4[1] / 2)
WIDTH = HALF[0] - 2 * MARGIN
SYMBOL = 38.0
NAME_SIZES = ((20.0, 1), (16.0, 2), (13.0, 2), (11.0, 3))
# Cautions are set as large as the label has room for.
CAUTION_SIZES = (10.0, 9.0, 8.0, 7.0, 6.0, 5.0)
MM_A_POINT = 0.44
MOST_LINES = 4
BULLET = 3.5


@dataclass(frozen=True)
class BucketLabel:
    """`bath` is its number, `strength` in words; `good_until` None where it does not age; `lot` "" where nobody wrote
    it down. Times are of the farm's clock."""

    bath: str
    recipe: str
    strength: str
    litres: float
    mixed_at: datetime
    good_until: datetime | None
    by: str
    lot: str = ""
    contact_seconds: int = 0
    capacity: int | None = None
    steps: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


def bucket_label(label: BucketLabel, farm: str, url_base: str = "") -> bytes:
    """One page of half an A4 sheet. The symbol holds the bath's address under `url_base`, or else its bare number."""
    paper = Paper(_("Dip bath"), farm, size=HALF)
    top = HALF[1] - MARGIN
    symbol = symbols.url(address(label.bath, url_base))
    symbols.draw_quiet(paper, symbol, HALF[0] - MARGIN - SYMBOL, top - SYMBOL, SYMBOL)
    room = WIDTH - SYMBOL - 2
    paper.text(
        MARGIN, top - 3.5, _("Dip bath. Not water. Mix nothing else into it."), font=BOLD, size=11, room=room
    )
    lines, size = fonts.set_in(paper.said(label.recipe), BOLD, room * mm, NAME_SIZES)
    y = top - 6
    for line in lines:
        y -= size * MM_A_POINT
        paper.text(MARGIN, y, line, font=BOLD, size=size)
    y = _facts(paper, y - 2, label, room)
    _sentences(paper, min(y, top - SYMBOL) - 3, label)
    paper.showPage()
    return paper.finish()


def address(bath: str, url_base: str) -> str:
    return f"{url_base.rstrip('/')}/wash/baths/{bath}/" if url_base else bath


def _facts(paper: Paper, y: float, label: BucketLabel, room: float) -> float:
    """Name and value in two columns, the end of the bath's life largest; the lower edge."""
    until = _moment(label.good_until) if label.good_until else _("until it is spent")
    pairs = [
        (_("Good until"), until, 15.0),
        (_("Strength"), label.strength, 11.0),
        (_("Act for"), _lasting(label.contact_seconds), 11.0),
        (_("Mixed"), _moment(label.mixed_at), 11.0),
        (_("By"), label.by, 11.0),
        (_("Volume"), _volume(label), 11.0),
        (_("Lot of the product"), label.lot or _("not written down"), 11.0),
    ]
    for name, value, size in pairs:
        if not value:
            continue
        y -= size * MM_A_POINT
        paper.text(MARGIN, y, name, size=9, room=34, smallest=7)
        paper.text(MARGIN + 36, y, value, font=BOLD, size=size, room=room - 36, smallest=7)
    return y


def _sentences(paper: Paper, top: float, label: BucketLabel) -> None:
    """All cautions and steps, in the largest type in which all of them find room."""
    said = [*label.cautions, *label.steps]
    for size in CAUTION_SIZES:
        wrapped = [
            fonts.wrapped(paper.said(sentence), PLAIN, (WIDTH - BULLET) * mm, size, MOST_LINES)
            for sentence in said
        ]
        step = size * MM_A_POINT
        if sum(map(len, wrapped)) * step <= top - PAGE_END:
            break
    paper.rule(MARGIN, top, WIDTH, 1.2)
    y = top - 0.6
    for number, lines in enumerate(wrapped):
        font = BOLD if number < len(label.cautions) else PLAIN
        for place, line in enumerate(lines):
            y -= step
            if place == 0:
                paper.text(MARGIN, y, "•", font=font, size=size)
            paper.text(
                MARGIN + BULLET, y, line, font=font, size=size, room=WIDTH - BULLET, smallest=size * 0.8
            )


def _moment(at: datetime) -> str:
    return date_format(at, _("l j F H:i"))


def _volume(label: BucketLabel) -> str:
    litres = _("%(litres)s L") % {"litres": number_format(f"{label.litres:g}")}
    if label.capacity is None:
        return litres
    pieces = ngettext("for %(n)d piece", "for %(n)d pieces", label.capacity) % {"n": label.capacity}
    return f"{litres}, {pieces}"


def _lasting(seconds: int) -> str:
    if seconds and seconds % 60 == 0:
        return ngettext("%(n)d minute", "%(n)d minutes", seconds // 60) % {"n": seconds // 60}
    return ngettext("%(n)d second", "%(n)d seconds", seconds) % {"n": seconds} if seconds else ""
