"""Ids made in the browser are those of RFC 9562."""

from pathlib import Path
from uuid import UUID

from playwright.sync_api import Browser

import equipment

MODULE = Path(equipment.__file__).parent / "static/equipment/js/counter/uuid7.js"
CALL = """async ([source, calls]) => {
  const { uuid7 } = await import(URL.createObjectURL(new Blob([source], {type: 'text/javascript'})));
  return calls.map(([now, random]) => now === null ? uuid7() : uuid7(now, new Uint8Array(random)));
}"""


def made(chromium: Browser, *calls: tuple[int | None, list[int] | None]) -> list[UUID]:
    page = chromium.new_page()
    try:
        return [UUID(text) for text in page.evaluate(CALL, [MODULE.read_text(), list(calls)])]
    finally:
        page.close()


def test_the_example_of_the_standard(chromium: Browser) -> None:
    # RFC 9562, appendix A.6: 2022-02-22T19:22:22Z, random bits CC3 and 18C4DC0C0C07398F.
    example = UUID("017F22E2-79B0-7CC3-98C4-DC0C0C07398F")
    random = [0x0C, 0xC3, 0x18, 0xC4, 0xDC, 0x0C, 0x0C, 0x07, 0x39, 0x8F]
    assert made(chromium, (0x017F22E279B0, random)) == [example]


def test_version_and_variant_whatever_the_random_bits(chromium: Browser) -> None:
    for found in made(chromium, (0, [0] * 10), (2**48 - 1, [255] * 10), *[(None, None)] * 50):
        assert (found.version, found.variant) == (7, "specified in RFC 4122")


def test_no_two_are_alike(chromium: Browser) -> None:
    assert len(set(made(chromium, *[(None, None)] * 1000))) == 1000
