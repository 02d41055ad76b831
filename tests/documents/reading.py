"""Reads a PDF back with other people's tools: pdfium draws it, zxing reads the symbols, pypdf the words."""

from collections import Counter
from io import BytesIO

import pypdf
import pypdfium2
import zxingcpp
from PIL import Image

SCREEN, TINY = 200, 300
POINTS_PER_MM = 72 / 25.4


def drawn(pdf: bytes, dpi: int = SCREEN) -> list[Image.Image]:
    """Every page as a grey picture."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        return [page.render(scale=dpi / 72, grayscale=True).to_pil() for page in document]
    finally:
        document.close()


def scanned(pdf: bytes, dpi: int = SCREEN) -> Counter[str]:
    """How often each symbol's text was read, over all pages."""
    return Counter(found.text for picture in drawn(pdf, dpi) for found in zxingcpp.read_barcodes(picture))


def scanned_by_page(pdf: bytes, dpi: int = SCREEN) -> list[set[str]]:
    return [{found.text for found in zxingcpp.read_barcodes(picture)} for picture in drawn(pdf, dpi)]


def words(pdf: bytes) -> list[str]:
    """The text of every page, blanks and line ends made one."""
    return [" ".join((page.extract_text() or "").split()) for page in reader(pdf).pages]


def reader(pdf: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(BytesIO(pdf))


def sizes(pdf: bytes) -> set[tuple[float, float]]:
    """Width and height of the pages, in mm to a tenth."""
    boxes = [page.mediabox for page in reader(pdf).pages]
    return {
        (round(float(b.width) / POINTS_PER_MM, 1), round(float(b.height) / POINTS_PER_MM, 1)) for b in boxes
    }


def pictures(pdf: bytes) -> int:
    """How many bitmaps the document holds."""
    return sum(len(page.images) for page in reader(pdf).pages)
