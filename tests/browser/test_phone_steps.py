"""What a verb does to an item, a crew or a bath is the same on the phone: made-up lives through both.

The lives are those of tests/stories.py, nonsense and all. Their order is the book's; what was taken back is left out.
"""

from functools import reduce
from random import Random
from typing import Any
from uuid import UUID

import pytest
from pydantic import TypeAdapter

from equipment.domain.fold import ordered, reversals
from equipment.domain.values import BathState, CrewState, Entry, ItemState, State
from equipment.domain.verbs import STEPS, VERBS
from tests.phone import Phone
from tests.stories import BATH_VERBS, CHOICES, CREW_VERBS, ITEM_VERBS, entry

LIVES = 1500
FAMILIES: dict[str, tuple[State, str]] = {
    "item": (ItemState(), ITEM_VERBS),
    "crew": (CrewState(), CREW_VERBS),
    "bath": (BathState(), BATH_VERBS),
}
LINES = TypeAdapter(list[Entry])
FOLD = """({steps, time, values}, {family, lines}) => {
  let state = {item: values.ITEM, crew: values.CREW, bath: values.BATH}[family];
  for (const line of lines) state = steps.step(family, state, {...line, happened_at: time.micros(line.happened_at)});
  return values.outside(state);
}"""


def life(verbs: str, random: Random) -> list[Entry]:
    """In order, without what was taken back."""
    count = random.randint(1, 16)
    ids = [UUID(int=number) for number in random.sample(range(100, 200), count)]
    drawn = [random.choice([*verbs.split(), "reversed", "settled"]) for _ in ids]
    told = [
        entry(verb, own, {name: random.randrange(most) for name, most in CHOICES.items()}, ids)
        for verb, own in zip(drawn, ids, strict=True)
    ]
    struck = reversals(told)
    return [line for _, line in ordered(told) if line.verb != "reversed" and line.id not in struck]


def folded(start: State, lines: list[Entry]) -> Any:
    state = reduce(lambda state, line: STEPS[line.verb](state, line), lines, start)
    found = TypeAdapter(type(start)).dump_python(state, mode="json")
    found["settled"].sort()
    return found


@pytest.mark.parametrize("family", FAMILIES)
def test_a_life_folds_alike(phone: Phone, family: str) -> None:
    start, verbs = FAMILIES[family]
    random = Random(f"{family} 1")
    lives = [life(verbs, random) for _ in range(LIVES)]
    vectors = [{"family": family, "lines": LINES.dump_python(lines, mode="json")} for lines in lives]
    answers = phone(FOLD, vectors)
    differing = [
        (lines, answer, wanted)
        for lines, answer in zip(lives, answers, strict=True)
        if answer != (wanted := folded(start, lines))
    ]
    assert not differing, differing[0]
    met = {line.verb for lines in lives for line in lines}
    assert met == {*verbs.split(), "settled"}


def test_the_phone_folds_every_verb_of_the_book(phone: Phone) -> None:
    """A new verb is a new step on the phone too."""
    known = "({steps}) => Object.fromEntries(Object.entries(steps.STEPS).map(([f, all]) => [f, Object.keys(all)]))"
    [families] = phone(known, [None])
    for family, names in families.items():
        mine = {verb.name for verb in VERBS.values() if verb.family in (family, "any")}
        assert set(names) == mine - {"reversed"}, family
