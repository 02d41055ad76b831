"""Symbols: the size and level they promise, and still read when a part of them is gone."""

from io import BytesIO

import pytest
import zxingcpp
from PIL import Image, ImageDraw
from qrcode.exceptions import DataOverflowError
from reportlab.pdfgen.canvas import Canvas

from equipment.documents import symbols
from equipment.domain import codes
from tests.documents.reading import drawn, scanned

CODE = codes.make("CL", 9_999_999)
BASE = "https://shed.rooikrans.example:8000"


def page_with(symbol: symbols.Symbol, side: float = 40) -> bytes:
    made = BytesIO()
    canvas = Canvas(made, pagesize=(200, 200))
    symbols.draw_quiet(canvas, symbol, 10, 10, side)
    canvas.save()
    return made.getvalue()


def read(picture: Image.Image) -> zxingcpp.Barcode:
    (found,) = zxingcpp.read_barcodes(picture)
    return found


@pytest.mark.parametrize("code", [codes.make("CL", 1), codes.make("CL", 10_000), CODE])
def test_a_bare_code_is_version_1_at_level_h(code: str) -> None:
    # ISO/IEC 18004: version 1 has 17 + 4 modules a side and holds ten alphanumeric characters at level H.
    symbol = symbols.bare(code)
    found = read(drawn(page_with(symbol))[0])
    assert symbol.size == 21
    assert (found.text, found.ec_level) == (code, "H")


def test_a_code_that_is_too_long_for_version_1_is_refused() -> None:
    with pytest.raises(DataOverflowError):
        symbols.bare(CODE + "X")


def test_a_bare_code_survives_a_thumb() -> None:
    """Level H mends up to 30 % of the codewords; here 4 by 4 of 21 by 21 modules are painted over, off the corners."""
    picture = drawn(page_with(symbols.bare(CODE)))[0]
    position = read(picture).position
    module = (position.top_right.x - position.top_left.x) / 21
    left, top = position.top_left.x + 13 * module, position.top_left.y + 13 * module
    ImageDraw.Draw(picture).rectangle((left, top, left + 4 * module, top + 4 * module), fill=255)
    assert read(picture).text == CODE


def test_a_url_goes_where_its_modules_stay_half_a_millimetre() -> None:
    address = f"{BASE}/t/{CODE}"
    size = symbols.url(address).size
    enough = (size + 8) * symbols.URL_MODULE
    assert symbols.for_room(CODE, BASE, enough + 0.01).size == size
    assert symbols.for_room(CODE, BASE, enough - 0.01) == symbols.bare(CODE)
    assert symbols.for_room(CODE, "", 100) == symbols.bare(CODE)


@pytest.mark.parametrize("base", [BASE, BASE + "/", "http://10.0.0.7:8000", "https://shed.example/citrus/"])
def test_a_url_leads_to_the_tags_own_page(base: str) -> None:
    (text,) = scanned(page_with(symbols.for_room(CODE, base, 60), 60))
    assert text == f"{base.rstrip('/')}/t/{CODE}"
    assert codes.parse(text).text == CODE


@pytest.mark.parametrize("dpi", [96, 200, 301, 600])
def test_the_symbol_is_one_path_and_shows_no_hairlines(dpi: int) -> None:
    """The three rows that make the middle of a corner pattern meet without a light line between them."""
    symbol = symbols.bare(CODE)
    (picture,) = drawn(page_with(symbol, 29), dpi)  # a module is one millimetre
    corner = read(picture).position.top_left
    dot = 25.4 / dpi
    first, last = 2.4 / dot, 4.6 / dot
    middle = picture.crop((corner.x + first, corner.y + first, corner.x + last, corner.y + last))
    assert middle.getextrema()[1] < 40
    assert symbol.path.count("n ") == 1


def test_equal_codes_make_equal_symbols_and_others_do_not() -> None:
    assert symbols.bare(CODE) == symbols.bare(CODE)
    assert symbols.bare(CODE) != symbols.bare(codes.make("CL", 1))
