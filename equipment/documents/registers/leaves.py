"""The pages of a long document: each goes into the file, compressed, as soon as it is full.

How many there are is known at the end only: every page shows one small form, which is drawn last. So memory holds what
a reader of the file would hold, however long it gets.
"""

import zlib
from typing import BinaryIO

from django.utils.translation import get_language
from reportlab.lib.rl_accel import escapePDF
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFName, PDFStream
from reportlab.pdfgen.canvas import Canvas

from equipment.documents import fonts
from equipment.documents.fonts import PLAIN
from equipment.documents.page import Align

A4, LETTER = (210.0, 297.0), (215.9, 279.4)
SIZES = {"A4": A4, "Letter": LETTER}
COUNT_FORM = "pages"
# Level 1 is three times as fast as 6 and makes a file that is a tenth larger.
LEVEL = 1
# Texts that a document keeps ready: names, kinds and times stand there again and again.
MOST_READY = 20_000


class Leaves(Canvas):
    """`size` in mm, `by_hand` whether this page has a gap to fill by hand, `number` that of this page.

    As on all our paper, places are in mm from the lower left corner and type sizes in points.
    """

    def __init__(self, to: BinaryIO, title: str, author: str, size: tuple[float, float]) -> None:
        fonts.register()
        self.width, self.height = size
        # Without a first face of its own, reportlab names one that is not embedded.
        super().__init__(
            to,
            pagesize=(size[0] * mm, size[1] * mm),
            lang=get_language() or "en",
            pageCompression=0,
            initialFontName=PLAIN,
        )
        self.setTitle(title)
        self.setAuthor(author)
        self.setCreator("Shedbook")
        self.setViewerPreference("DisplayDocTitle", "true")
        self.number = 1
        self.by_hand = False

    def text(
        self, x: float, y: float, text: str, *, font: str = PLAIN, size: float = 8, room: float = 0,
        smallest: float = 0, align: Align = "left",
    ) -> None:  # fmt: skip
        """One line at baseline `y`; shrinks to `smallest` to fit `room` (0: any), then is cut short."""
        text = self.said(text)
        if room:
            text, size = fonts.fitted(text, font, room * mm, size, smallest or size)
        self.setFont(font, size)
        draw = {"left": self.drawString, "middle": self.drawCentredString, "right": self.drawRightString}
        draw[align](x * mm, y * mm, text)

    def said(self, text: str) -> str:
        """`text` as it can be printed; the page remembers when a gap was left to fill by hand."""
        shown = fonts.printable(text)
        self.by_hand = self.by_hand or (shown is not text and fonts.BY_HAND in shown)
        return shown

    def rule(self, y: float, x: float, end: float, weight: float = 0.4) -> None:
        """A horizontal line; `weight` in points."""
        self.setLineWidth(weight)
        self.line(x * mm, y * mm, end * mm, y * mm)

    def showPage(self) -> None:  # noqa: N802 (reportlab's name)
        super().showPage()
        page = self._doc.Pages.pages[-1]
        packed = zlib.compress(page.stream.encode("latin-1"), LEVEL)
        page.stream = None
        page.Contents = PDFStream(PDFDictionary({"Filter": PDFName("FlateDecode")}), packed)
        self.number += 1
        self.by_hand = False

    def show_count(self, x: float, y: float) -> None:
        """The number of pages, to begin at (`x`, `y`): known when the document is finished."""
        self.saveState()
        self.translate(x * mm, y * mm)
        self.doForm(COUNT_FORM)
        self.restoreState()

    def finish(self, font: str, size: float) -> None:
        """Write the file. The last page must have been ended with showPage."""
        self.beginForm(COUNT_FORM, -1, -2 * size, 10 * size, 2 * size)
        self.setFont(font, size)
        self.drawString(0, 0, str(self.number - 1))
        self.endForm()
        self.save()


class Block:
    """Lines of text in one face and size, drawn as one: `canvas.drawText(block)`.

    A text is encoded once for the whole document (`ready`), where `Canvas.drawString` does so each time it is drawn.
    """

    def __init__(self, leaves: Leaves, font: str, size: float, ready: dict[str, str]) -> None:
        self.document, self.font, self.size = leaves._doc, pdfmetrics.getFont(font), size
        self.ready = ready
        self.code = ["BT"]

    def put(self, x: float, y: float, text: str) -> None:
        """`text` from (`x`, `y`) on, in points."""
        operators = self.ready.get(text) or self._encoded(text)
        self.code.append(f"1 0 0 1 {x:.2f} {y:.2f} Tm {operators}")

    def getCode(self) -> str:  # noqa: N802 (the name by which reportlab asks for the operators)
        return "\n".join([*self.code, "ET"])

    def _encoded(self, text: str) -> str:
        """Piece by piece: a face is embedded in parts of at most 256 characters."""
        if len(self.ready) > MOST_READY:
            self.ready.clear()
        self.ready[text] = " ".join(
            f"{self.font.getSubsetInternalName(part, self.document)} {self.size:g} Tf ({escapePDF(piece)}) Tj"
            for part, piece in self.font.splitString(text, self.document)
        )
        return self.ready[text]
