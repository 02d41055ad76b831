"""A scanner is calibrated: the diagnosis as a table, and the page by scanner alone, on a screen and on a phone.

What arrives on which keyboard is what everybody who has plugged in a scanner knows: Y and Z on a German one, A and Q,
Z and W and the figures above Shift on a French one (common practice; the keys by xkeyboard-config).
"""

import time
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from equipment.documents.alphabet import ALPHABET, CODE, ELSEWHERE
from tests.cast import Farm

SHEET = {"alphabet": ALPHABET, "code": CODE, "address": f"{ELSEWHERE}/t/{CODE}"}
DIAGNOSE = """async ([cases, sheet]) => {
  const { diagnose } = await import('/static/equipment/js/calibrate/diagnose.js');
  return cases.map((strokes) => diagnose(strokes, sheet));
}"""
LETTERS, DIGITS = ALPHABET[:26], ALPHABET[26:]
GERMAN = LETTERS.replace("YZ", "ZY") + DIGITS
FRENCH = "QBCDEFGHIJKL?NOPARSTUVZXYW" + "à&é\"'(-è_ç"
BELGIAN = FRENCH[:26] + "à&é\"'(§è!ç"
CZECH = GERMAN[:26] + "é+ěščřžýáí"
SCANNER_FRENCH = "QBCDEFGHIJKL:NOPARSTUVZXYW" + ")!@#$%^&*("


def keys(text: str, end: str = "Enter", gap: float = 8, **flags: Any) -> list[dict[str, Any]]:
    names = [*text, *([end] if end else [])]
    return [{"key": key, "at": gap * number, **flags} for number, key in enumerate(names)]


def control(letter: str) -> dict[str, Any]:
    return {"key": letter, "at": 0, "ctrl": True}


def halting(text: str, ms: float) -> list[dict[str, Any]]:
    return [{**key, "at": key["at"] + (ms if place > 3 else 0)} for place, key in enumerate(keys(text))]


# What came, the level of it all, the codes of what was found.
TABLE: list[tuple[list[dict[str, Any]], str, list[str]]] = [
    *[(keys(text), "good", []) for text in SHEET.values()],
    (keys(GERMAN), "stops", ["layout us de"]),
    (keys(FRENCH), "stops", ["layout us fr"]),
    (keys(BELGIAN), "stops", ["layout us be"]),
    (keys(CZECH), "stops", ["layout us cz"]),
    (keys(SCANNER_FRENCH), "stops", ["layout fr us"]),
    (keys(GERMAN.lower(), caps=True), "stops", ["layout us de", "caps_lock"]),
    # On a French keyboard Caps Lock turns every key round.
    (keys(FRENCH[:26].lower().replace("?", ",") + DIGITS, caps=True), "stops", ["layout us fr", "caps_lock"]),
    # Spanish: letters and figures alike, the marks of an address elsewhere.
    (keys("httpsÑ--shed'1.exampleÑ8000-t-" + CODE), "wants", ["layout us es"]),
    (keys(LETTERS.replace("E", "3") + DIGITS), "stops", ["unknown_layout"]),
    (keys(ALPHABET.lower(), caps=True), "good", ["caps_lock"]),
    (keys(ALPHABET.lower()), "good", ["lower"]),
    (keys(SHEET["address"].swapcase()), "good", ["caps_lock"]),
    (keys(SHEET["address"].upper()), "good", ["upper"]),
    (keys("]Q3" + CODE), "good", ["aim"]),
    (keys("*" + CODE + "*"), "good", ["prefix", "suffix"]),
    (keys("A" + CODE + "07"), "stops", ["prefix", "suffix"]),
    ([{"key": "]", "at": -8, "altgr": True}, *keys("Q3" + CODE)], "stops", ["aim"]),
    ([control("b"), *keys(CODE)], "wants", ["control"]),
    ([*keys(CODE, end=""), control("j")], "wants", ["control_end"]),
    (keys(CODE, end=""), "wants", ["no_end"]),
    (keys(CODE, end="Tab"), "wants", ["tab_end"]),
    ([*keys(CODE), {"key": "Enter", "at": 90}], "wants", ["two_ends"]),
    (keys(CODE, gap=200), "wants", ["slow"]),
    (halting(CODE, 150), "wants", ["split"]),
    (keys("".join(each * 2 for each in ALPHABET)), "stops", ["doubled"]),
    (keys(CODE[:3] + CODE[2:]), "stops", ["doubled"]),
    (keys(ALPHABET.replace("K", "").replace("7", "")), "stops", ["lost"]),
    (keys(ALPHABET[:20]), "stops", ["cut_off"]),
    (keys("0065" * 7, alt=True), "stops", ["alt_codes"]),
    (keys("good morning"), "unknown", ["not_the_sheet"]),
]


@pytest.fixture
def calibrating(farm: Farm, page: Page, sign_in: Any) -> Page:
    sign_in(page, farm.users["rosa"])
    page.goto("/counter/calibrate/")
    page.locator("[data-ready]").wait_for()
    return page


@pytest.fixture
def farm(transactional_db: None) -> Farm:
    from tests.cast import found_farm

    return found_farm()


def scan(page: Page, text: str, end: str, gap: float = 0.004) -> None:
    """Strokes at the times at which a scanner makes them, however busy this machine is: the page looks at those."""
    line, now = page.context.new_cdp_session(page), time.time()
    for number, key in enumerate([*text, end]):
        stroke = {"key": key, "timestamp": now + number * gap} | ({"text": key} if len(key) == 1 else {})
        line.send("Input.dispatchKeyEvent", {"type": "keyDown", **stroke})
        line.send("Input.dispatchKeyEvent", {"type": "keyUp", "key": key, "timestamp": stroke["timestamp"]})
    line.detach()


def named(finding: dict[str, Any]) -> str:
    return " ".join([finding["code"], *(finding[who] for who in ("scanner", "computer") if who in finding)])


def test_what_is_found(calibrating: Page) -> None:
    answers = calibrating.evaluate(DIAGNOSE, [[strokes for strokes, _, _ in TABLE], SHEET])
    told = [(answer["level"], [named(each) for each in answer["findings"]]) for answer in answers]
    assert told == [(level, findings) for _, level, findings in TABLE]
    french = answers[4]
    assert french["of"] == "alphabet" and [mark["should"] for mark in french["marks"]][:2] == ["A", ""]
    split = next(each for answer in answers for each in answer["findings"] if each["code"] == "split")
    assert split["ms"] == 158


def test_by_scanner_alone(calibrating: Page, axe: Any) -> None:
    """A keyboard as a German computer has it, then everything right; the page says so and stays where it is."""
    page = calibrating
    scan(page, GERMAN, "Tab")
    says = page.locator(".findings li")
    expect(says).to_have_count(2)
    expect(says.first).to_contain_text("the computer listens for German")
    expect(says.last).to_contain_text("ends with Tab instead of Enter")
    expect(page.locator(".key-other")).to_have_count(2)
    for width, height in ((1280, 800), (390, 844)):
        page.set_viewport_size({"width": width, "height": height})
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        axe(page)
    page.locator("a", has_text="Print the page").focus()
    for name, symbol in SHEET.items():
        scan(page, symbol, "Enter")
        expect(page.locator(f"[data-of={name}]")).to_contain_text("Arrives as printed")
    expect(page.get_by_text("Nothing to set: go on with the next symbol.")).to_be_visible()
    expect(says).to_have_count(0)
    assert page.url.endswith("/counter/calibrate/")
