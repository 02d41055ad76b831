"""The message files: whole, and the same for people (.po) and for the program (.mo).

What a .mo says is asked of Python's own gettext, which reads the format that GNU gettext's manual gives; how many
forms a number has, of the CLDR through Babel.
"""

import gettext
from pathlib import Path

import polib
import pytest
from babel.messages.plurals import get_plural
from django.conf import settings

from config import languages
from equipment.actions.languages import files, gathering
from equipment.actions.languages.gathering import Word
from equipment.actions.languages.trade_words import trade_words

OURS = settings.BASE_DIR / "config" / "locale"
FILES = sorted(OURS.glob("*/LC_MESSAGES/django.po"))


@pytest.fixture(params=FILES, ids=lambda po: po.parts[-3])
def po(request: pytest.FixtureRequest) -> Path:
    return request.param


def test_there_is_spanish_and_it_says_that_it_is_a_draft() -> None:
    assert [po.parts[-3] for po in FILES] == ["es"]
    assert "X-Draft" in files.read(FILES[0]).metadata


def test_every_word_is_translated_and_keeps_what_is_filled_in(po: Path) -> None:
    assert list(files.wrongs(files.read(po))) == []


def test_every_word_of_the_program_is_in_it_and_no_other(po: Path) -> None:
    """After a new word: `manage.py languages`, then translate it."""
    known, words = files.read(po), gathering.gather()
    assert files.missing(known, words) == []
    assert {(entry.msgid, entry.msgctxt) for entry in known} == {(word.text, word.context) for word in words}


def test_the_compiled_file_says_what_the_written_one_says(po: Path) -> None:
    known = files.read(po)
    assert po.with_suffix(".mo").read_bytes() == files.compiled(known)
    with po.with_suffix(".mo").open("rb") as file:
        read = gettext.GNUTranslations(file)
    for entry in known:
        if entry.msgid_plural:
            said = {read.ngettext(entry.msgid, entry.msgid_plural, n) for n in (0, 1, 2, 5, 11, 1_000_000)}
            assert said == set(entry.msgstr_plural.values())
        elif entry.msgctxt:
            assert read.pgettext(entry.msgctxt, entry.msgid) == entry.msgstr
        else:
            assert read.gettext(entry.msgid) == entry.msgstr


def test_it_has_as_many_forms_as_numbers_ask_for(po: Path) -> None:
    known = files.read(po)
    forms = get_plural(po.parts[-3]).num_plurals
    assert {len(entry.msgstr_plural) for entry in known if entry.msgid_plural} == {forms}
    assert known.metadata["Plural-Forms"].startswith(f"nplurals={forms};")


def entry(text: str, said: str, **fields: object) -> polib.POEntry:
    return polib.POEntry(msgid=text, msgstr=said, **fields)


@pytest.mark.parametrize(
    ("one", "why"),
    [
        (entry("Sign in", ""), "missing"),
        (entry("Sign in", "Entrar", flags=["fuzzy"]), "fuzzy"),
        (entry("%(n)s left", "quedan"), "kept"),
        (entry("%(n)s left", "quedan %(m)s"), "kept"),
        (entry("5 %% of it", "5 % de ello"), "kept"),
        (entry("<b>no</b>", "<b>no"), "kept"),
        (entry("{n} left", "quedan {m}"), "kept"),
        (entry(" left", "quedan"), "kept"),
        (entry("a", "", msgid_plural="b", msgstr_plural={0: "c", 1: ""}), "missing"),
    ],
)
def test_what_is_wrong_with_a_translation_is_named(one: polib.POEntry, why: str) -> None:
    known = polib.POFile()
    known.append(one)
    assert list(files.wrongs(known)) == [files.Wrong(why, one.msgid)]


def test_words_are_found_in_code_however_they_are_marked() -> None:
    source = """
_("one " "two"); gettext_lazy('it is'); pgettext("where", "what"); ngettext("a", "b", n); f(_(x), _("y"))
"""
    told = {(word.text, word.plural, word.context) for word in gathering.in_python(source)}
    assert told == {
        ("one two", None, None),
        ("it is", None, None),
        ("what", None, "where"),
        ("a", "b", None),
        ("y", None, None),
    }


def test_words_are_found_in_templates_however_they_are_marked() -> None:
    source = (
        '{% load i18n %}{% translate "one" %}'
        '{% blocktranslate with day=at|date:_("j F") %}on {{ day }}{% endblocktranslate %}'
        '{{ at|date:_("j M") }}{% blocktranslate count n=n %}{{ n }} bag{% plural %}{{ n }} bags{% endblocktranslate %}'
        "gettext('no')"
    )
    told = {(word.text, word.plural) for word in gathering.in_template(source)}
    assert told == {
        ("one", None),
        ("j F", None),
        ("on %(day)s", None),
        ("j M", None),
        ("%(n)s bag", "%(n)s bags"),
    }


def test_the_catalogue_is_read_by_people_but_for_its_sources() -> None:
    told = set(trade_words())
    assert {"Picking bag", "Label and safety sheet first.", "Brake holds the loaded trailer?"} <= told
    assert not any("CFR" in text for text in told) and "common practice" not in told


def test_new_words_come_in_and_old_ones_leave(tmp_path: Path) -> None:
    po = files.path(tmp_path, "pl")
    known = files.refresh(files.begin(po, "pl"), {Word("a bag", "bags"): ["x.py"], Word("old"): ["x.py"]})
    # One, few, many: three forms, as gettext's manual has them for Polish.
    assert [entry.msgstr_plural for entry in known] == [{0: "", 1: "", 2: ""}, {}]
    known.find("a bag").msgstr_plural[0] = "torba"
    words = {Word("new"): ["y.py"], Word("a bag", "bags"): ["y.py"]}
    assert files.missing(known, words) == [Word("new")]
    files.refresh(known, words)
    assert [entry.msgid for entry in known] == ["new", "a bag"]
    assert known.find("a bag").msgstr_plural[0] == "torba"


def test_a_language_is_there_as_soon_as_its_file_is(tmp_path: Path) -> None:
    assert languages.found([tmp_path]) == [("en", "English")]
    for code in ("pt_BR", "zu"):
        (tmp_path / code / "LC_MESSAGES").mkdir(parents=True)
        (tmp_path / code / "LC_MESSAGES" / "django.mo").write_bytes(b"")
    # Their own names for themselves, as the CLDR has them.
    assert languages.found([tmp_path]) == [
        ("en", "English"),
        ("zu", "isiZulu"),
        ("pt-br", "português (Brasil)"),
    ]
    assert languages.name("qqq") == "qqq"
