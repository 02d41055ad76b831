"""The orchard page as it is read and touched, at the width of a phone and of a desk, every screen of it."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page

from tests.cast import Farm
from tests.orchard import Gear, Orchard

pytestmark = pytest.mark.django_db(transaction=True)

# Shown, and less than 64 px high (a link in a sentence or back is a line of text, but has the height of a thumb too).
SMALL = """() => [...document.querySelectorAll('.orchard :is(button, a, input, select, textarea, summary)')]
  .filter((one) => one.getClientRects().length > 0 && !one.closest('.pick') && !one.classList.contains('sr'))
  .filter((one) => one.getBoundingClientRect().height < 63.5)
  .map((one) => one.outerHTML)"""
TOO_WIDE = "document.documentElement.scrollWidth > document.documentElement.clientWidth"
UNWORDED = "() => document.body.innerText.match(/\\?[a-z]+_?[a-z_]*/g)"


@pytest.mark.parametrize("width", [390, 1280])
def test_every_screen(
    width: int, farm: Farm, gear: Gear, orchard: Orchard, axe: Callable[[Page], None]
) -> None:
    page = orchard.page
    page.set_viewport_size({"width": width, "height": 844})
    orchard.open()
    clippers = gear.ana["clippers"]
    orchard.go("mix", "clippers_daily_bleach")
    page.get_by_label("How many litres of bath?").fill("10")
    orchard.press("Work it out")
    look(orchard, axe)
    orchard.press("It is mixed")
    orchard.says("yes")
    orchard.press("They are in")
    screens = [
        ("crew",),
        ("piece", clippers),
        ("spare", clippers, "clippers_blunt"),
        ("mend", clippers, "clippers_blunt"),
        ("picker", farm.pickers["ana"].pk),
        ("pass", clippers),
        *((name,) for name in "dip mix baths block plan morning knockoff more lost last crews phone".split()),
    ]
    for path in screens:
        orchard.go(*path)
        look(orchard, axe)
    page.context.set_offline(True)
    orchard.go("block")
    orchard.press("N4")
    orchard.unsent(1)
    look(orchard, axe)
    page.get_by_role("button", name="Scan").click()
    look(orchard, axe)


def test_a_number_of_four_digits_stands_whole_in_its_column(farm: Farm, gear: Gear, orchard: Orchard) -> None:
    ana = farm.pickers["ana"]
    ana.number = "2048"
    ana.save()
    orchard.open()
    number = orchard.screen.get_by_role("link", name="Number 2048")
    assert number.evaluate("(one) => one.scrollWidth <= one.clientWidth")
    text = "(one) => { const all = new Range(); all.selectNodeContents(one); return all.getClientRects().length; }"
    assert number.evaluate(text) == 1  # one line


def look(orchard: Orchard, axe: Callable[[Page], None]) -> None:
    page = orchard.page
    axe(page)
    assert page.evaluate(SMALL) == [], page.url
    assert not page.evaluate(TOO_WIDE), page.url
    assert page.evaluate(UNWORDED) is None, page.url


CONTRAST = """() => {
  const lum = (text) => {
    const part = text.match(/[\\d.]+/g).slice(0, 3).map((each) => each / 255)
      .map((c) => (c <= 0.03928 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
    return 0.2126 * part[0] + 0.7152 * part[1] + 0.0722 * part[2];
  };
  const ground = (one) => {
    for (let at = one; at; at = at.parentElement) {
      const colour = getComputedStyle(at).backgroundColor;
      if (!/, 0\\)$/.test(colour)) return colour;
    }
    return 'rgb(255, 255, 255)';
  };
  return [...document.querySelectorAll('.orchard *')]
    .filter((one) => one.getClientRects().length && [...one.childNodes].some((n) => n.nodeType === 3 && n.data.trim()))
    .map((one) => {
      const [a, b] = [lum(getComputedStyle(one).color), lum(ground(one))].sort((x, y) => y - x);
      return [(a + 0.05) / (b + 0.05), one.outerHTML.slice(0, 120)];
    })
    .filter(([ratio]) => ratio < 7);
}"""


def test_words_stand_out_seven_to_one(farm: Farm, gear: Gear, orchard: Orchard) -> None:
    """WCAG 2.2, contrast (enhanced): at least 7:1, for eyes in bright sun."""
    orchard.open()
    for path in (["crew"], ["piece", gear.ana["clippers"]], ["block"], ["plan"], ["morning"], ["phone"]):
        orchard.go(*path)
        assert orchard.page.evaluate(CONTRAST) == []
    orchard.page.context.set_offline(True)
    orchard.go("block")
    orchard.press("N4")
    orchard.unsent(1)
    assert orchard.page.evaluate(CONTRAST) == []
