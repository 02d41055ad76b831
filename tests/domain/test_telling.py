"""Every verb says how the book tells it, and the page can fill its gaps."""

import re

import pytest

from equipment.domain.contradictions import CONTRADICTIONS
from equipment.domain.refusals import REFUSALS
from equipment.domain.verbs import VERBS
from equipment.domain.verbs.written_off import CIRCUMSTANCES, WrittenOff

REFERENCES = {"who", "crew", "store", "block", "from", "to", "what", "tag", "cleaning", "when", "how"}


def gaps(template: str) -> set[str]:
    return set(re.findall(r"%\((\w+)\)s", template))


@pytest.mark.parametrize("verb", VERBS.values(), ids=lambda verb: verb.name)
def test_each_verb_is_told_with_words_that_an_entry_has(verb):
    known = REFERENCES | {field.alias or name for name, field in verb.detail.model_fields.items()}
    for template in (verb.told, *verb.told_with.values()):
        assert template[0].isupper() or template.startswith(("%(who)s", "%(cleaning)s"))
        assert gaps(template) <= known


def test_a_word_that_the_entry_has_chooses_the_sentence():
    handed = VERBS["handed_out"]
    assert handed.telling({"who": "Ana"}) == "Handed out to %(who)s."
    assert handed.telling({"who": "Ana", "from": None}) == "Handed out to %(who)s."
    assert handed.telling({"who": "Ana", "from": "Ben"}) == "Passed on from %(from)s to %(who)s."


def test_each_circumstance_has_words():
    assert set(CIRCUMSTANCES) == set(WrittenOff.model_fields["circumstance"].annotation.__args__)


def test_what_contradicts_is_a_code_that_can_be_refused_too():
    assert set(CONTRADICTIONS) <= set(REFUSALS)
    assert all(gaps(template) == {"what"} for template in CONTRADICTIONS.values())
