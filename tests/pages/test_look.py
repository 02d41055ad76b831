"""The look holds what it promises: contrast, nothing inline, symbols that exist, scripts that mount."""

import re
import tomllib
from pathlib import Path

import pytest
from django.template.loader import get_template

ROOT = Path(__file__).parents[2]
STATIC = ROOT / "equipment" / "static" / "equipment"
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))
STYLES = sorted((STATIC / "css").glob("*.css"))
SCRIPTS = sorted((STATIC / "js").glob("*.js"))
TOKENS = dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", (STATIC / "css" / "paper.css").read_text()))
SYMBOLS = set(re.findall(r'<symbol id="(\w+)"', (STATIC / "icons.svg").read_text()))


def luminance(colour: str) -> float:
    """Relative luminance of "#rrggbb", as WCAG 2.2 defines it."""
    shares = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (s / 12.92 if s <= 0.04045 else ((s + 0.055) / 1.055) ** 2.4 for s in shares)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def test_contrast_is_that_of_wcag():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    # The lightest grey that passes 4.5:1 on white, as WCAG's own material gives it (from memory).
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("text", ["ink", "pencil", "leaf", "orange"])
@pytest.mark.parametrize("ground", ["paper", "shade"])
def test_text_is_at_least_seven_to_one(text, ground):
    assert contrast(TOKENS[text], TOKENS[ground]) >= 7  # WCAG 2.2, success criterion 1.4.6


@pytest.mark.parametrize("ground", ["leaf", "orange", "ink"])
def test_paper_reads_on_a_solid_answer(ground):
    assert contrast(TOKENS["paper"], TOKENS[ground]) >= 7


@pytest.mark.parametrize("style", [s for s in STYLES if s.name != "print.css"], ids=lambda s: s.name)
def test_no_colour_beside_the_tokens(style):
    used = set(re.findall(r"#[0-9a-f]{3,6}\b", style.read_text())) - set(TOKENS.values())
    assert used <= {"#fffdf6"}  # the inside of a field, lighter than paper


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda t: str(t.relative_to(ROOT / "templates")))
def test_templates_carry_nothing_inline(template):
    text = template.read_text()
    assert not re.search(r"<style|<[^>]*\sstyle=|<[^>]*\son[a-z]+=|javascript:", text)
    for attributes, body in re.findall(r"<script([^>]*)>(.*?)</script>", text, re.S):
        assert "src=" in attributes and not body.strip()


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda t: str(t.relative_to(ROOT / "templates")))
def test_symbols_named_by_templates_exist(template):
    named = re.findall(r'icon\.html" with (?:[^%]*\s)?name="(\w+)"|\sicon="(\w+)"', template.read_text())
    assert {one or other for one, other in named} <= SYMBOLS


def test_every_kind_of_gear_has_its_symbol():
    kinds = tomllib.loads((ROOT / "equipment" / "catalogue" / "kinds.toml").read_text())
    icons = set(re.findall(r"'icon': '(\w+)'", repr(kinds)))
    assert icons
    assert icons <= SYMBOLS


def test_every_module_has_a_file_to_mount():
    written = (STATIC / "js" / "main.js").read_text()
    named = dict(re.findall(r"(\w+|'[\w-]+'): \(\) => import\('\./([\w-]+\.js)'\)", written))
    named |= {name: f"{name}.js" for name in re.findall(r"^import \* as (\w+) from", written, re.M)}
    assert {"confirm", "print", "refresh"} <= named.keys()
    for file in named.values():
        assert re.search(r"export (async )?function mount\(", (STATIC / "js" / file).read_text()), file


def test_modules_asked_for_are_known():
    known = (STATIC / "js" / "main.js").read_text()
    for template in TEMPLATES:
        for names in re.findall(r'data-module="([^"{]+)"', template.read_text()):
            for name in names.split():
                assert re.search(rf"^  '?{re.escape(name)}'?: ", known, re.M), (template.name, name)


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda s: s.name)
def test_scripts_stay_small(script):
    assert len(script.read_text().splitlines()) <= 150


def test_the_page_after_a_fault_needs_no_context():
    page = get_template("500.html").render()
    assert "<h1>" in page and "paper.css" in page
