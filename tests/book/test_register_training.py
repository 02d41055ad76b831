"""Training given: a line for each who was there, and a place for each to sign."""

from typing import Any

from equipment.actions.train import Lesson, take_back, train
from equipment.domain.verbs.trained import OUTSIDE
from equipment.models import Entry
from equipment.models.registers import REGISTERS
from tests.cast import Farm
from tests.printing import at, keeps_its_word, lines, rows, sums


def lesson(
    farm: Farm, topic: str = "ladder", *names: str, by: str = "sam", crew: str = "red", **more: Any
) -> Any:
    there = [farm.pickers[name] for name in names or ("ana", "ben")]
    told = Lesson(topic, more.pop("when", at(2)), **more)
    assert train(farm.pen(by), farm.crews[crew], there, told) is None
    return Entry.objects.filter(verb="trained").latest("recorded_at").act


def test_a_line_for_each_who_was_there(farm: Farm) -> None:
    lesson(farm, minutes=40, note="in the red shed")
    first, second = rows("training")
    assert [first["picker"], second["picker"]] == ["Ana (1)", "Ben (2)"]
    assert first["topic"] == "Ladders: setting up, climbing, carrying"
    assert (first["crew"], first["minutes"], first["trainer"]) == ("Red crew", "40", "sam")
    assert first["note"] == "in the red shed"


def test_who_gave_it_where_that_is_not_who_wrote_it_down(farm: Farm) -> None:
    lesson(farm, "bath", "ana", trainer=farm.users["mo"].pk)
    lesson(farm, "first_aid", "ana", trainer=OUTSIDE, note="The district nurse.")
    assert [row["trainer"] for row in rows("training")] == ["mo", "from outside, see the note"]


def test_no_name_stands_in_the_chain(farm: Farm) -> None:
    lesson(farm, "ladder", trainer=farm.users["mo"].pk, note="Mo showed it.")
    for entry in Entry.objects.filter(verb="trained"):
        assert set(entry.detail) == {"topic", "trainer"} and isinstance(entry.detail["trainer"], int)


def test_each_has_a_place_to_sign_and_the_cautions_of_the_topics_are_named() -> None:
    register = REGISTERS["training"]
    assert [column.name for column in register.columns if column.sign] == ["signed"]
    assert {"ladder", "clippers", "bleach"} <= set(register.cautions)


def test_people_are_counted_once_for_each_topic(farm: Farm) -> None:
    lesson(farm, "ladder", "ana", "ben")
    lesson(farm, "ladder", "ana", when=at(1))
    lesson(farm, "bath", "ana")
    assert sums("training") == [
        "Ladders: setting up, climbing, carrying: 2 people.",
        "The dip bath: mixing, dipping, emptying: 1 people.",
    ]


def test_filters(farm: Farm) -> None:
    lesson(farm, "ladder", "ana", "ben")
    lesson(farm, "bath", "cy", crew="blue", by="olga", when=at(9))
    assert len(lines("training")) == 3 and len(lines("training", days=5)) == 2
    assert len(lines("training", crew=farm.crews["blue"].pk)) == 1
    assert len(lines("training", picker=farm.pickers["ben"].pk)) == 1
    assert not lines("training", store="B")


def test_the_same_heads_give_the_same_lines(farm: Farm) -> None:
    act = lesson(farm)

    def later() -> None:
        lesson(farm, "clippers", when=at(3))
        take_back(farm.pen("sam"), farm.crews["red"], act)

    before, now = keeps_its_word("training", later)
    assert len(before) == 2
    assert {row["topic"].partition(":")[0] for row in rows("training")} == {"Clippers"} and len(now) == 2


def test_its_questions_do_not_grow_with_its_lines(farm: Farm, django_assert_max_num_queries: Any) -> None:
    for _ in range(6):
        lesson(farm)
    with django_assert_max_num_queries(4):
        assert len(lines("training")) == 12
