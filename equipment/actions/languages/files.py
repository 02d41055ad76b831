"""A message file a language: what is there, what is missing, and what it says otherwise than the code.

gettext's .po for people, .mo beside it for the program: `<folder>/<language>/LC_MESSAGES/django.po`.
"""

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import polib
from babel.messages.plurals import get_plural
from django.conf import settings
from django.utils.translation import to_locale

from equipment.actions.languages.gathering import Word, Words

WIDTH = 100
# What must stand in a translation as it does in the English: what is filled in, and HTML.
KEPT = re.compile(r"%\(\w+\)[sdf]|%[sd%]|\{\w*(?::[^{}]*)?\}|<[^<>]*>")
HEAD = """The words of Shedbook in {language}. `manage.py languages` gathers new ones and makes the .mo of it.
X-Draft in the head below says that no native reader has gone through it yet; strike it once one has."""


@dataclass(frozen=True, slots=True)
class Wrong:
    """What is wrong with the translation of `text`: missing, fuzzy or kept (what must be kept is not)."""

    why: str
    text: str


def path(folder: Path, code: str) -> Path:
    return folder / to_locale(code) / "LC_MESSAGES" / "django.po"


def there() -> Iterator[tuple[str, Path]]:
    """Each language's code and its .po, the farm's own folder first."""
    for folder in settings.LOCALE_PATHS:
        for po in sorted(Path(folder).glob("*/LC_MESSAGES/django.po")):
            yield po.parts[-3], po


def begin(po: Path, code: str) -> polib.POFile:
    """An empty file for a language, with its plurals by the CLDR. Raises babel's UnknownLocaleError."""
    made = polib.POFile(wrapwidth=WIDTH)
    made.header = HEAD.format(language=code)
    plural = get_plural(to_locale(code))
    made.metadata = {
        "Project-Id-Version": "Shedbook",
        "Language": to_locale(code),
        "MIME-Version": "1.0",
        "Content-Type": "text/plain; charset=UTF-8",
        "Content-Transfer-Encoding": "8bit",
        "Plural-Forms": f"nplurals={plural.num_plurals}; plural={plural.plural_expr};",
        "X-Draft": "yes",
    }
    po.parent.mkdir(parents=True, exist_ok=True)
    return made


def read(po: Path) -> polib.POFile:
    return polib.pofile(str(po), wrapwidth=WIDTH)


def refresh(known: polib.POFile, words: Words) -> polib.POFile:
    """The same file with the words of today, in the order of the code: those that are gone leave it, new ones are
    empty."""
    told = {(entry.msgid, entry.msgctxt): entry for entry in known}
    empty = dict.fromkeys(range(_forms(known)), "")
    for word, places in words.items():
        entry = told.get((word.text, word.context)) or polib.POEntry(msgid=word.text, msgctxt=word.context)
        entry.occurrences = [(place, "") for place in sorted(places)]
        entry.msgid_plural = word.plural or ""
        entry.msgstr_plural = {**empty, **entry.msgstr_plural} if word.plural else {}
        told[word.text, word.context] = entry
    known[:] = [told[word.text, word.context] for word in words]
    return known


def missing(known: polib.POFile, words: Words) -> list[Word]:
    """Words of the code that the file has not heard of, or has without their plural."""
    heard = {(entry.msgid, entry.msgctxt, entry.msgid_plural or None) for entry in known}
    return [word for word in words if (word.text, word.context, word.plural) not in heard]


def compiled(known: polib.POFile) -> bytes:
    """The .mo: the same words as the same bytes."""
    return known.to_binary()  # type: ignore[no-any-return]


def wrongs(known: polib.POFile) -> Iterator[Wrong]:
    for entry in known:
        if "fuzzy" in entry.flags:
            yield Wrong("fuzzy", entry.msgid)
        elif not all(_said(entry)):
            yield Wrong("missing", entry.msgid)
        elif not all(_keeps(entry, said) for said in _said(entry)):
            yield Wrong("kept", entry.msgid)


def _said(entry: polib.POEntry) -> Sequence[str]:
    return list(entry.msgstr_plural.values()) if entry.msgid_plural else [entry.msgstr]


def _keeps(entry: polib.POEntry, said: str) -> bool:
    """A form of one may say "one" for the number."""
    ways = [Counter(KEPT.findall(text)) for text in (entry.msgid, entry.msgid_plural) if text]
    return Counter(KEPT.findall(said)) in ways and _ends(said) == _ends(entry.msgid)


def _ends(text: str) -> tuple[str, str]:
    """The blanks around it."""
    return text[: len(text) - len(text.lstrip())], text[len(text.rstrip()) :]


def _forms(known: polib.POFile) -> int:
    """How many forms a number asks for in this language."""
    found = re.search(r"nplurals=(\d)", known.metadata.get("Plural-Forms", ""))
    return int(found[1]) if found else 2
