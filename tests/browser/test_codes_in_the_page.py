"""codes.js answers every text as codes.py does: the same vectors through both."""

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser

import equipment
from equipment.domain import codes

MODULE = Path(equipment.__file__).parent / "static/equipment/js/codes.js"
PREFIXES = ("BG", "CL", "LD", "GL", "PK", "CW", "ST", "CT", "ZZ")
NUMBERS = (0, 1, 9, 36, 421, 999, 1000, 9999, 10_000, 54_321, 123_456, 999_999, 1_000_000, 9_999_999)
AROUND = (
    "{}", " {}\r\n", "]Q3{}", "\x02]d2{}\x03", "*{}*", "\ufeff{};", "]{}", "]]{}", "]Q3]Q3{}", "Ä{}", "1{}", "{}{}",
    "https://x/t/{}?x=1", "HTTP://ANOTHER.HOST:8000/{}/", "https://x/{}/print#{}", "]Q3https://x/t/{}\n",
    "https://{}/", "https://x/t/?tag={}", "x/t/{}", "https://x/t/ {}", "https://x/t/%20{}", "₁{}", "{}\u0301", "_{}_",
)  # fmt: skip
ODD = (
    "",
    " ",
    "hello",
    "CL421K",
    "CL00421K",
    "CL0421",
    "\N{KELVIN SIGN}L0421K",
    "CLſ0421K",
    "CL０４２１K",
    "]" * 3000,
    "://",
)

PARSE_ALL = """async ([source, texts]) => {
  const module = await import(URL.createObjectURL(new Blob([source], {type: 'text/javascript'})));
  return texts.map((text) => module.parse(text));
}"""


def misreadings(code: str) -> list[str]:
    """Every place changed to a few other characters, every neighbour swapped, one left out, one doubled."""
    wrong = []
    for place in range(len(code)):
        before, here, after = code[:place], code[place], code[place + 1 :]
        wrong += [before + other + after for other in "0O1IZ9K-"]
        wrong += [before + after, before + here + here + after, before + after[:1] + here + after[1:]]
    return wrong


def vectors() -> list[str]:
    made = [codes.make(prefix, number) for prefix in PREFIXES for number in NUMBERS]
    texts = [around.replace("{}", code) for code in made for around in AROUND]
    texts += [code.lower() for code in made]
    texts += [wrong for code in made for wrong in misreadings(code)]
    texts += [around.replace("{}", "CL0421A") for around in AROUND]
    return [*texts, *ODD]


def by_python(text: str) -> dict[str, Any]:
    try:
        code = codes.parse(text)
    except codes.WrongCheck:
        return {"ok": False, "why": "wrong_check"}
    except codes.NotACode:
        return {"ok": False, "why": "not_a_code"}
    return {"ok": True, "prefix": code.prefix, "number": code.number, "text": code.text}


@pytest.fixture
def by_browser(chromium: Browser) -> dict[str, dict[str, Any]]:
    texts = vectors()
    with chromium.new_page() as page:
        return dict(zip(texts, page.evaluate(PARSE_ALL, [MODULE.read_text(), texts]), strict=True))


def test_the_browser_agrees_on_every_vector(by_browser: dict[str, dict[str, Any]]) -> None:
    differing = {
        text: (answer, by_python(text)) for text, answer in by_browser.items() if answer != by_python(text)
    }
    assert not differing


def test_the_vectors_meet_every_answer(by_browser: dict[str, dict[str, Any]]) -> None:
    answers = [answer.get("why", "ok") for answer in by_browser.values()]
    assert all(answers.count(kind) > 500 for kind in ("ok", "wrong_check", "not_a_code"))
