"""The page that a scanner is calibrated by: every character that the farm's symbols hold, known beforehand."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from equipment.documents import fonts, symbols
from equipment.documents.fonts import BOLD, MONO, PLAIN
from equipment.documents.page import A4, MARGIN, Paper
from equipment.domain import codes

ALPHABET = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"
# Nothing wears it. Keyboards disagree most often about these two letters.
CODE = codes.make("QZ", 5739)
ELSEWHERE = "https://shed-1.example:8000"
TOP = A4[1] - 36
STEP, SYMBOL = 74.0, 62.0
LINE = 5.0


@dataclass(frozen=True)
class Probe:
    """One symbol of the page: what it holds, what it is called, and what it is scanned for."""

    name: str
    holds: str
    title: str
    why: str


def probes(url_base: str = "") -> Sequence[Probe]:
    """The symbols in the order of the page. `url_base` is what the farm's labels put before a code, or empty."""
    base = (url_base or ELSEWHERE).rstrip("/")
    return (
        Probe(
            "alphabet",
            ALPHABET,
            _("Letters and figures"),
            _("Tells whether scanner and computer agree on the keyboard."),
        ),
        Probe("code", CODE, _("A tag"), _("As on a label or badge. Nothing on the farm wears this one.")),
        Probe(
            "address",
            f"{base}/t/{CODE}",
            _("A tag in an address"),
            _("Only for farms whose labels hold an address: its marks lie elsewhere on each keyboard."),
        ),
    )


def alphabet_page(farm: str, url_base: str = "") -> bytes:
    """One A4 page with a symbol for each of `probes`."""
    paper = Paper(_("To calibrate a scanner"), farm)
    paper.text(MARGIN, A4[1] - 17, paper.title, font=BOLD, size=18, room=130, smallest=12)
    paper.text(A4[0] - MARGIN, A4[1] - 17, farm, size=10, room=55, smallest=7, align="right")
    lead = _("On the counter's computer open “Calibrate a scanner”, then scan these, one after the other.")
    paper.text(MARGIN, A4[1] - 24, lead, size=10, room=A4[0] - 2 * MARGIN, smallest=7)
    for row, probe in enumerate(probes(url_base)):
        _draw(paper, TOP - (row + 1) * STEP, probe, row + 1)
    paper.showPage()
    return paper.finish()


def _draw(paper: Paper, y: float, probe: Probe, number: int) -> None:
    """A symbol to the left and its words beside it, in a band of STEP mm above `y`."""
    paper.rule(MARGIN, y + STEP - 2, A4[0] - 2 * MARGIN)
    symbol = symbols.bare(probe.holds) if probe.name == "code" else symbols.url(probe.holds)
    symbols.draw_quiet(paper, symbol, MARGIN, y + (STEP - SYMBOL) / 2, SYMBOL)
    left, top = MARGIN + SYMBOL + 4, y + STEP - 18
    room = A4[0] - MARGIN - left
    paper.text(left, top, f"{number}. {probe.title}", font=BOLD, size=15, room=room, smallest=10)
    for line in fonts.wrapped(paper.said(probe.why), PLAIN, room * 72 / 25.4, 10, 3):
        top -= LINE
        paper.text(left, top - 2, line, size=10)
    paper.text(left, top - 14, probe.holds, font=MONO, size=11, room=room, smallest=6)
