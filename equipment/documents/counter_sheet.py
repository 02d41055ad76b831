"""The page of counter tags: laid on a counter or pinned beside it, scanned instead of touching the keyboard."""

from django.utils.translation import gettext as _
from reportlab.lib.units import mm

from equipment.documents import fonts, symbols
from equipment.documents.fonts import BOLD, MONO
from equipment.documents.page import A4, MARGIN, Paper
from equipment.domain.counter_tags import COUNTER_TAGS, CounterTag

COLUMNS, ROWS = 2, 4
TOP = A4[1] - 28
WIDTH, HEIGHT, GAP = 93.0, 59.0, 4.0
SYMBOL = 52.0


def counter_tags(farm: str) -> bytes:
    """One A4 page: every counter tag with a large symbol, its words and the key that does the same."""
    paper = Paper(_("Counter tags"), farm)
    paper.text(MARGIN, A4[1] - 17, _("Counter tags"), font=BOLD, size=18)
    paper.text(
        MARGIN,
        A4[1] - 23,
        _("Scan one of these; what you scan next follows it. The key does the same."),
        size=10,
    )
    paper.text(A4[0] - MARGIN, A4[1] - 17, farm, size=10, room=90, smallest=7, align="right")
    for place, tag in enumerate(COUNTER_TAGS.values()):
        row, column = divmod(place, COLUMNS)
        _tag(paper, MARGIN + column * (WIDTH + GAP), TOP - HEIGHT - row * (HEIGHT + GAP), tag)
    paper.showPage()
    return paper.finish()


def _tag(paper: Paper, x: float, y: float, tag: CounterTag) -> None:
    paper.tag_shape(x, y, WIDTH, HEIGHT, 8, weight=1)
    symbols.draw_quiet(paper, symbols.bare(tag.code), x + 1, y + (HEIGHT - SYMBOL) / 2, SYMBOL)
    left, room = x + SYMBOL - 3, WIDTH - SYMBOL
    lines, size = fonts.set_in(
        paper.said(_(tag.words)), BOLD, room * mm, ((17, 3), (15, 3), (13, 4), (11, 4))
    )
    top = y + HEIGHT - 9
    for line in lines:
        top -= size * 0.4
        paper.text(left, top, line, font=BOLD, size=size)
    paper.box(left, y + 15, 14, 9, weight=1)
    paper.text(left + 7, y + 17.8, tag.key, font=BOLD, size=14, align="middle")
    paper.text(left, y + 8, tag.code, font=MONO, size=11)
