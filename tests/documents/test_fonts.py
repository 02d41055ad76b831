"""The type: whose names it can print, and what it does with those it cannot."""

import pytest

from equipment.documents import fonts
from equipment.documents.fonts import BOLD, BY_HAND, PLAIN

# Alphabets beyond A to Z, and names as people write them: common practice, no source.
ALPHABETS = {
    "Vietnamese": "ăâđêôơư ẮẰẲẴẶ ấầẩẫậ éèẻẽẹ ếềểễệ íìỉĩị óòỏõọ ốồổỗộ ớờởỡợ úùủũụ ứừửữự ýỳỷỹỵ Đ",
    "Polish": "ąćęłńóśźż ĄĆĘŁŃÓŚŹŻ",
    "Portuguese": "áâãàçéêíóôõú ÁÂÃÀÇÉÊÍÓÔÕÚ",
    "Spanish": "áéíñóúü¿¡ ÁÉÍÑÓÚÜ",
    "Shona": "bh ch dh dzv ng' sv tsv zh zv",
    "Venda": "ḓḽṅṋṱ ḒḼṄṊṰ",
    "Northern Sotho": "êôš ÊÔŠ",
    "Afrikaans": "êëïôû ’n",
    "clicks": "ǀ ǁ ǂ ǃ ʘ ǃXóõ ǀXam",
    "Romanian": "ăâîșț ĂÂÎȘȚ",
    "Turkish": "çğıöşü ÇĞİÖŞÜ",
    "Yoruba": "ẹọṣ ẸỌṢ",
}
NAMES = {
    "李小龙": BY_HAND,
    "Bruce 李小龙": f"Bruce {BY_HAND}",
    "李 小龙 Bruce": f"{BY_HAND} Bruce",
    "محمد علي": BY_HAND,
    "अनिल": BY_HAND,
    "สมชาย": BY_HAND,
    "Ana 🍊 Pérez": f"Ana {BY_HAND} Pérez",
    "A\x00n\ta\r\nPérez": "A n a Pérez",
    "Ana\u200b\u202eb": "Anab",
    "\ud800": BY_HAND,
    "Nguye\u0302\u0303n": "Nguyễn",
    "  Ana   Pérez ": "Ana Pérez",
    "": "",
}


@pytest.mark.parametrize("language", ALPHABETS)
def test_whole_alphabets_are_printed(language: str) -> None:
    alphabet = ALPHABETS[language]
    assert fonts.printable(alphabet) == alphabet


@pytest.mark.parametrize("name", NAMES)
def test_what_the_type_lacks_is_left_to_write_by_hand(name: str) -> None:
    assert fonts.printable(name) == NAMES[name]


def test_every_printable_character_has_a_width_in_both_faces() -> None:
    known = fonts.register()
    assert len(known) > 1000
    assert not {
        c for c in known if c.isalpha() and 0 in (fonts.width(c, PLAIN, 10), fonts.width(c, BOLD, 10))
    }


def test_text_shrinks_then_is_cut() -> None:
    fonts.register()
    assert fonts.fitted("Ana", PLAIN, 100, 10, 7) == ("Ana", 10)
    text, size = fonts.fitted("Thandiwe Nkosi", PLAIN, 60, 10, 7)
    assert text == "Thandiwe Nkosi" and 7 < size < 10
    text, size = fonts.fitted("Thandiwe Nkosi", PLAIN, 30, 10, 7)
    assert text.endswith("…") and size == 7 and fonts.width(text, PLAIN, size) <= 30
    assert fonts.fitted("W", PLAIN, 0.5, 10, 10)[0] == "…"


def test_wrapping_breaks_at_blanks_and_hyphens_and_loses_nothing() -> None:
    fonts.register()
    name = "Łukasz Wiśniewski-Brzęczyszczykiewicz z Gór"
    lines = fonts.wrapped(name, BOLD, 140, 12, 9)
    assert lines[:2] == ["Łukasz Wiśniewski-", "Brzęczyszczykiewicz z"]
    assert "".join(lines).replace(" ", "") == name.replace(" ", "")
    assert all(fonts.width(line, BOLD, 12) <= 140 for line in lines)
    assert fonts.wrapped("", BOLD, 110, 12, 9) == [""]


def test_the_last_line_takes_the_rest_and_says_that_it_was_cut() -> None:
    fonts.register()
    lines = fonts.wrapped("one two three four five six seven", PLAIN, 40, 10, 2)
    assert len(lines) == 2 and lines[1].endswith("…")


def test_the_first_size_that_fits_whole_is_taken() -> None:
    fonts.register()
    assert fonts.set_in("Ana", BOLD, 100, ((15, 2), (8, 3))) == (["Ana"], 15)
    lines, size = fonts.set_in("Tendai Chikwanha-Mupfumira", BOLD, 100, ((15, 1), (8, 3)))
    assert size == 8 and len(lines) == 2
