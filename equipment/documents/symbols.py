"""QR symbols (ISO/IEC 18004) as one vector path each, a rectangle for every run of dark modules.

A bare code is the smallest symbol there is: version 1 at level H, which still reads with nearly a third of it gone.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from qrcode import ERROR_CORRECT_H, ERROR_CORRECT_M, QRCode
from qrcode.util import MODE_8BIT_BYTE, MODE_ALPHA_NUM, QRData
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

QUIET_MODULES = 4
# A label has room for a URL where its modules stay this large, in millimetres: a camera at arm's length reads them.
URL_MODULE = 0.5
# Any of the eight masks is read alike; trying all of them to find the prettiest costs ten times as much.
MASK = 3


@dataclass(frozen=True)
class Symbol:
    """`size` modules a side, without the quiet zone; `path` fills the dark ones in units of a module."""

    size: int
    path: str

    @property
    def quiet_share(self) -> float:
        """The quiet zone on one side, as a share of a square that holds symbol and quiet zone."""
        return QUIET_MODULES / (self.size + 2 * QUIET_MODULES)

    def getCode(self) -> str:  # noqa: N802 (the name by which reportlab asks a path for its operators)
        return self.path


def bare(code: str) -> Symbol:
    """`code`, at most ten letters and digits."""
    return _symbol(QRCode(1, ERROR_CORRECT_H, mask_pattern=MASK), QRData(code, MODE_ALPHA_NUM))


def url(address: str) -> Symbol:
    return _symbol(QRCode(None, ERROR_CORRECT_M, mask_pattern=MASK), QRData(address, MODE_8BIT_BYTE))


def as_svg(address: str) -> tuple[int, str]:
    """`address` for a page: modules a side, quiet zone included, and the path of an SVG that fills the dark ones."""
    maker = QRCode(None, ERROR_CORRECT_M, mask_pattern=MASK)
    maker.add_data(QRData(address, MODE_8BIT_BYTE), optimize=0)
    maker.make()
    runs = _runs(maker.modules)
    path = "".join(f"M{x + QUIET_MODULES} {y + QUIET_MODULES}h{length}v1h-{length}z" for x, y, length in runs)
    return maker.modules_count + 2 * QUIET_MODULES, path


def for_room(code: str, url_base: str, side: float) -> Symbol:
    """The symbol for `side` mm, quiet zone included: of `url_base`/t/`code` where its modules stay large enough.

    `url_base` is where the farm's Shedbook answers, such as "https://shed.example"; empty means bare codes everywhere.
    """
    if url_base:
        symbol = url(f"{url_base.rstrip('/')}/t/{code}")
        if side / (symbol.size + 2 * QUIET_MODULES) >= URL_MODULE:
            return symbol
    return bare(code)


def draw(canvas: Canvas, symbol: Symbol, x: float, y: float, side: float) -> None:
    """Fill the dark modules so that they span `side` mm from the lower left corner (`x`, `y`), in mm."""
    module = side * mm / symbol.size
    canvas.saveState()
    canvas.transform(module, 0, 0, module, x * mm, y * mm)
    canvas.drawPath(symbol, stroke=0, fill=1)
    canvas.restoreState()


def draw_quiet(canvas: Canvas, symbol: Symbol, x: float, y: float, side: float) -> None:
    """As `draw`, in a square of `side` mm that holds the quiet zone too."""
    quiet = symbol.quiet_share * side
    draw(canvas, symbol, x + quiet, y + quiet, side - 2 * quiet)


def _symbol(maker: QRCode, data: QRData) -> Symbol:
    maker.add_data(data, optimize=0)
    maker.make(fit=False)
    return Symbol(maker.modules_count, _path(maker.modules))


def _path(rows: list[list[bool | None]]) -> str:
    top = len(rows) - 1
    return "n " + " ".join(f"{across} {top - down} {length} 1 re" for across, down, length in _runs(rows))


def _runs(rows: list[list[bool | None]]) -> Iterator[tuple[int, int, int]]:
    """Each run of dark modules: how far across, how far down, how long."""
    for down, row in enumerate(rows):
        start = None
        for across, dark in enumerate([*row, False]):
            if dark and start is None:
                start = across
            elif not dark and start is not None:
                yield start, down, across - start
                start = None
