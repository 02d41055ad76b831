"""Every word that is marked for translation, with the files it stands in."""

import ast
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.utils.translation.template import templatize

from equipment.actions.languages.trade_words import trade_words

APPS = ("config", "crews", "equipment")
TEMPLATES = "templates"
CATALOGUE = "equipment/catalogue"
# What marks a text: how many of its first arguments are a context, and how many are the text (two with a plural).
MARKS = {
    **dict.fromkeys(("_", "gettext", "gettext_lazy", "gettext_noop"), (0, 1)),
    **dict.fromkeys(("ngettext", "ngettext_lazy"), (0, 2)),
    **dict.fromkeys(("pgettext", "pgettext_lazy"), (1, 1)),
    **dict.fromkeys(("npgettext", "npgettext_lazy"), (1, 2)),
}
# Django writes a template's marked texts as calls, amid letters that stand for all the rest.
IN_TEMPLATE = re.compile(rf"(?<!\w)(?:{'|'.join(MARKS)})\(")
STRING = r"""(?:u?'(?:[^'\\]|\\.)*'|u?"(?:[^"\\]|\\.)*")"""
ARGUMENTS = re.compile(rf"\s*{STRING}(?:\s*,\s*{STRING})*", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Word:
    """`text` as the code has it, in English; `plural` and `context` None where it has none."""

    text: str
    plural: str | None = None
    context: str | None = None


Words = dict[Word, list[str]]


def gather(root: Path = settings.BASE_DIR) -> Words:
    """Each word with the paths below `root` that it stands in. A text with and without a plural is one word."""
    found: dict[Word, dict[str, None]] = defaultdict(dict)
    for path, word in _everywhere(root):
        found[word][path] = None
    with_plural = {(word.text, word.context): word for word in found if word.plural}
    whole: Words = {}
    for word, places in found.items():
        whole.setdefault(with_plural.get((word.text, word.context), word), []).extend(places)
    return whole


def _everywhere(root: Path) -> Iterator[tuple[str, Word]]:
    for path in _files(root, APPS, ".py"):
        for word in in_python(path.read_text("utf-8")):
            yield path.relative_to(root).as_posix(), word
    for path in _files(root, (TEMPLATES,), ".html", ".txt"):
        for word in in_template(path.read_text("utf-8")):
            yield path.relative_to(root).as_posix(), word
    for text in trade_words():
        yield CATALOGUE, Word(text)


def _files(root: Path, folders: Iterable[str], *endings: str) -> list[Path]:
    found = [path for folder in folders for path in sorted((root / folder).rglob("*"))]
    return [path for path in found if path.suffix in endings]


def in_python(source: str) -> Iterator[Word]:
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and (name := _called(node.func)) in MARKS:
            yield from _word(name, [each.value for each in node.args if isinstance(each, ast.Constant)])


def in_template(source: str) -> Iterator[Word]:
    told = templatize(source)
    for call in IN_TEMPLATE.finditer(told):
        if given := ARGUMENTS.match(told, call.end()):
            yield from _word(call.group()[:-1], list(ast.literal_eval(f"({given.group()},)")))


def _called(function: ast.expr) -> str:
    return getattr(function, "id", "") or getattr(function, "attr", "")


def _word(mark: str, given: list[object]) -> Iterator[Word]:
    contexts, texts = MARKS[mark]
    told = [each for each in given[: contexts + texts] if isinstance(each, str)]
    if len(told) == contexts + texts:
        context = told[0] if contexts else None
        yield Word(told[contexts], told[contexts + 1] if texts > 1 else None, context)
