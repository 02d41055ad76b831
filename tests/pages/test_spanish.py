"""Every page in Spanish: no English is left in it, and what scripts and browsers read of it is as it is in English.

English is told by its commonest words, which Spanish does not have (from memory), and by our own message file.
"""

import re
from collections.abc import Iterator
from html.parser import HTMLParser
from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from django.urls import NoReverseMatch, reverse

from crews import policy
from crews.models import User
from equipment.actions.languages import files
from tests.cast import Farm
from tests.farm import Post, SignIn

ENGLISH = frozenset(
    "the and of with which what was are this that have been from they you your not for it its by when where".split()
)
SILENT = frozenset({"script", "style", "svg", "template"})
SAID = frozenset({"aria-label", "title", "alt", "placeholder"})
VOID = frozenset("area base br col hr img input link meta source use path".split())
# Numbers that a browser or a script reads: a comma in them would be another number, or none.
NUMBER = re.compile(r"^-?\d+([.,]\d+)?$")
# Those of people; what is made of them on paper is another test's.
PAGES = [
    name
    for name, endpoint in policy.ENDPOINTS.items()
    if endpoint.look and not name.startswith("api:") and not name.endswith("_pdf")
]


class Reading(HTMLParser):
    """What a person sees or is told (`texts`), and the numbers in attributes (`numbers`)."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []
        self.numbers: list[tuple[str, str, str]] = []
        self._open: list[bool] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.texts += [given[name] or "" for name in SAID if name in given]
        self.numbers += [(tag, name, value) for name, value in attrs if value and NUMBER.match(value)]
        self.numbers += [
            (tag, name, value) for name, value in attrs if value and name in ("d", "points", "viewbox")
        ]
        if tag not in VOID:
            # What stays as it was written, such as the titles of works, says so: WCAG 2.2, 3.1.2.
            silent = tag in SILENT or (tag != "html" and given.get("lang") == "en")
            self._open.append(silent or bool(self._open and self._open[-1]))

    def handle_endtag(self, tag: str) -> None:
        if tag not in VOID and self._open:
            self._open.pop()

    def handle_data(self, data: str) -> None:
        if data.strip() and not (self._open and self._open[-1]):
            self.texts.append(" ".join(data.split()))


def read(html: str) -> Reading:
    found = Reading()
    found.feed(html)
    return found


@pytest.fixture(scope="module")
def translated() -> dict[str, str]:
    """English -> Spanish, where the two differ."""
    known = files.read(settings.BASE_DIR / "config/locale/es/LC_MESSAGES/django.po")
    return {entry.msgid: entry.msgstr for entry in known if entry.msgstr and entry.msgid != entry.msgstr}


def left(texts: list[str], translated: dict[str, str]) -> Iterator[str]:
    spanish = set(translated.values())
    for text in texts:
        if (text in translated and text not in spanish) or len(
            ENGLISH & set(re.findall(r"[a-z]+", text.lower()))
        ) > 1:
            yield text


@pytest.fixture
def paths(ruled_farm: Farm, post: Post) -> list[str]:
    """A day with something of everything, and each page that it can be seen on."""
    farm = ruled_farm
    (bag,), (worn,), (ladder,) = (
        farm.gear("bag"),
        farm.gear("clippers", days_ago=9),
        farm.gear("ladder", size="3 m"),
    )
    post(farm.entry("handed_out", item=bag, picker=farm.badges["ana"]))
    post(farm.entry("fault_found", item=worn, detail={"fault": "clippers_worn_spring"}))
    farm.plan("red", "N4")
    # Contradictions, for To settle.
    post(farm.entry("returned", item=ladder), gate="note")
    known = {
        "item": [bag], "tag": [bag], "crew": ["red"], "crew_today": ["red"], "crew_training": ["red"],
        "picker": [farm.pickers["ana"].pk], "block": ["N4"], "store": ["A"], "rule": ["inspection ladder_recorded"],
        "register": ["handout"], "figure": ["lifetimes"], "counter_crew": ["red"], "import": ["pickers"],
    }  # fmt: skip
    known |= {
        name: [farm.crews["red"].pk] for name in ("crew", "crew_today", "crew_training", "counter_crew")
    }
    return [path for name in PAGES for path in _addresses(name, known.get(name, []))] + [
        f"/gear/{tag}/" for tag in (worn, ladder)
    ]


def _addresses(name: str, args: list[Any]) -> Iterator[str]:
    try:
        yield reverse(name, args=args)
    except NoReverseMatch:
        return


def seen(client: Client, path: str) -> str | None:
    answer = client.get(path, follow=True)
    if answer.status_code != 200 or "html" not in answer.headers["Content-Type"]:
        return None
    return (b"".join(answer.streaming_content) if answer.streaming else answer.content).decode()


def test_no_page_has_english_left_in_it(
    ruled_farm: Farm, as_: SignIn, paths: list[str], translated: dict[str, str]
) -> None:
    User.objects.update(language="es")
    wrong, looked_at = [], set()
    for name in ("frank", "olga", "rosa"):
        client = as_(name)
        for path in paths:
            if path not in looked_at and (html := seen(client, path)):
                looked_at.add(path)
                wrong += [(path, text) for text in left(read(html).texts, translated)]
    assert wrong == []
    assert len(looked_at) > 50


def test_scripts_and_browsers_read_the_same_numbers(ruled_farm: Farm, as_: SignIn, paths: list[str]) -> None:
    frank = as_("olga")
    for path in paths:
        told = []
        for language in ("en", "es"):
            User.objects.update(language=language)
            told.append(read(seen(frank, path) or "").numbers)
        assert told[0] == told[1], path


def test_what_is_left_in_english_would_be_found(translated: dict[str, str]) -> None:
    html = '<p title="Sign in">Board</p><p>It was not the bag</p>'
    html += '<svg><text>the and</text></svg><b lang="en">the of</b>'
    assert sorted(left(read(html).texts, translated)) == ["Board", "It was not the bag", "Sign in"]
    assert read('<a data-n="1,5" x="b">').numbers == [("a", "data-n", "1,5")]
