"""What people must be able to look up is written down: every setting, command, verb, code and role."""

import re
from pathlib import Path

import pytest

from crews.policy import ROLES
from equipment.domain.counter_tags import COUNTER_TAGS
from equipment.domain.refusals import REFUSALS
from equipment.domain.verbs import VERBS

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text()
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text()
SETTINGS = (ROOT / "config" / "settings.py").read_text()
NOT_FOR_FARMS = {"SHEDBOOK_TESTING"}
# dj-database-url reads DATABASE_URL by itself.
READ = {*re.findall(r'(?:environ\.get|flag|words)\(\s*"([A-Z_]+)"', SETTINGS), "DATABASE_URL"} - NOT_FOR_FARMS


@pytest.mark.parametrize("name", sorted(READ))
def test_each_setting_of_the_environment_is_in_the_readme(name: str) -> None:
    assert f"`{name}`" in README


@pytest.mark.parametrize(
    "command", sorted(p.stem for p in (ROOT / "equipment/management/commands").glob("[a-z]*.py"))
)
def test_each_command_is_in_the_readme(command: str) -> None:
    assert f"`{command}" in README


@pytest.mark.parametrize("tag", COUNTER_TAGS.values(), ids=lambda tag: tag.name)
def test_each_counter_tag_is_in_the_readme(tag) -> None:  # type: ignore[no-untyped-def]
    assert f"| {tag.key} | {tag.words} |" in README


@pytest.mark.parametrize("word", [*VERBS, *REFUSALS])
def test_each_verb_and_code_is_in_the_developers_page(word: str) -> None:
    assert f"`{word}`" in DEVELOPERS


@pytest.mark.parametrize("role", ROLES)
def test_each_role_is_named_in_the_readme(role: str) -> None:
    assert role in README


def test_the_readme_opens_with_the_job() -> None:
    opening = README.split("\n\n")[1]
    assert opening.startswith("A picking supervisor must put a team")
