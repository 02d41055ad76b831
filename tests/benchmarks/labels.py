"""1,000 labels against the same symbols and words drawn on a bare canvas: wanted, at least 60 % of its speed."""

import io

import qrcode
from qrcode.util import MODE_ALPHA_NUM, QRData
from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from tests.benchmarks.report import Report
from tests.benchmarks.timing import alternate

COUNT, ROUNDS = 1000, 5
COLUMNS, ROWS, WIDTH, HEIGHT, SIDE = 3, 8, 66 * mm, 33.9 * mm, 20 * mm


def bare(codes: list[str]) -> bytes:
    """What nobody can do without: a symbol of a fixed version and mask as rectangles, and two lines of type."""
    buffer = io.BytesIO()
    canvas = Canvas(buffer, pagesize=A4, pageCompression=1)
    for number, code in enumerate(codes):
        place = number % (COLUMNS * ROWS)
        if number and not place:
            canvas.showPage()
        row, column = divmod(place, COLUMNS)
        x, y = 7 * mm + column * WIDTH, A4[1] - 13 * mm - (row + 1) * HEIGHT
        symbol = qrcode.QRCode(version=1, error_correction=qrcode.ERROR_CORRECT_H, border=0, mask_pattern=3)
        symbol.add_data(QRData(code, mode=MODE_ALPHA_NUM))
        symbol.make(fit=False)
        _rectangles(canvas, symbol.modules, x, y)
        canvas.setFont("Courier-Bold", 14)
        canvas.drawString(x + SIDE + 2 * mm, y + 15 * mm, code)
        canvas.setFont("Helvetica", 9)
        canvas.drawString(x + SIDE + 2 * mm, y + 8 * mm, "Clippers")
        canvas.drawString(x + SIDE + 2 * mm, y + 4 * mm, "Tornek, left-handed")
    canvas.save()
    return buffer.getvalue()


def _rectangles(canvas: Canvas, modules: list[list[bool | None]], x: float, y: float) -> None:
    module = SIDE / len(modules)
    path = canvas.beginPath()
    for line, cells in enumerate(modules):
        start = 0
        while start < len(cells):
            end = start
            while end < len(cells) and cells[end]:
                end += 1
            if end > start:
                height = y + SIDE - (line + 1) * module
                path.rect(x + start * module, height, (end - start) * module, module)
            start = max(end, start + 1)
    canvas.drawPath(path, stroke=0, fill=1)


def run(report: Report) -> None:
    from equipment.documents.labels import LabelRow, label_sheets
    from equipment.documents.layouts import LAYOUTS
    from equipment.domain import codes

    tags = [codes.make("CL", number) for number in range(1, COUNT + 1)]
    rows = [LabelRow(tag, ("Clippers", "Tornek, left-handed")) for tag in tags]
    layout = next(iter(LAYOUTS.values()))
    ours, theirs = alternate(lambda: label_sheets(rows, layout, "Farm"), lambda: bare(tags), ROUNDS)
    figure = "labels a second, against bare symbols on a canvas"
    report.ratio(figure, COUNT / ours.median, COUNT / theirs.median, unit="/s", at_least=0.6)
