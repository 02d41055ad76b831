"""The orchard page is the same for everybody, and has every word that its script says."""

import re
from pathlib import Path

import pytest
from django.test import Client

from equipment.pages.orchard_words import words
from tests.cast import Farm

SCRIPTS = Path("equipment/static/equipment/js")
SAID = re.compile(r"\bsay\(\s*(?:[\w.]+ \? )?'(\w+)'(?:\s*:\s*'(\w+)')?")
BUILT = re.compile(r"\bsay\(`(\w+_)\$\{")


@pytest.mark.django_db
def test_it_holds_nothing_of_whoever_is_signed_in(farm: Farm, client: Client) -> None:
    stranger = client.get("/orchard/").content
    client.force_login(farm.users["sam"], backend="crews.signing_in.RoleBackend")
    assert client.get("/orchard/").content == stranger
    assert b"csrf" not in stranger
    for name in ("Ana", "Ben", "sam"):
        assert f">{name}<".encode() not in stranger


def scripts() -> list[Path]:
    return [SCRIPTS / "orchard.js", *(SCRIPTS / "orchard").rglob("*.js")]


def said() -> tuple[set[str], set[str]]:
    """The words that the scripts name, and the beginnings of those that they put together."""
    names, beginnings = set(), set()
    for path in scripts():
        text = path.read_text()
        names |= {name for pair in SAID.findall(text) for name in pair if name}
        beginnings |= set(BUILT.findall(text))
    return names, beginnings


def test_every_word_that_the_script_says_is_there() -> None:
    names, beginnings = said()
    assert len(names) > 150
    assert names - set(words()) == set()
    assert {each for each in beginnings if not any(word.startswith(each) for word in words())} == set()


def test_no_word_is_there_that_nothing_says() -> None:
    quoted = {name for path in scripts() for name in re.findall(r"'(\w+)'", path.read_text())}
    assert {w for w in words() if w not in quoted and not w.startswith(tuple(said()[1]))} == set()


def test_scripts_are_short() -> None:
    long = {str(path): n for path in SCRIPTS.rglob("*.js") if (n := len(path.read_text().splitlines())) > 150}
    assert long == {}
