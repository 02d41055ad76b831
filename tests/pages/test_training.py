"""A lesson is written down for a crew, with who was there, and taken back as a whole."""

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from equipment.actions.change_crew import leave
from equipment.actions.writing import new_id
from equipment.domain.verbs.trained import OUTSIDE
from equipment.models import Entry
from tests.cast import Farm


class Lessons:
    """The training page of the red crew (or another), in the browser of one of the cast."""

    def __init__(self, farm: Farm, client: Any, crew: str = "red") -> None:
        self.farm, self.client, self.address = farm, client, f"/crews/{farm.crews[crew].pk}/training/"

    def page(self) -> str:
        return text(self.client.get(self.address))

    def told(self, *there: str, **said: Any) -> Any:
        """Filled in as it comes, but for what is `said`."""
        user, now = self.client.session["_auth_user_id"], timezone.localtime()
        filled = {
            "topic": "ladder",
            "day": f"{now:%Y-%m-%d}",
            "time": f"{now:%H:%M}",
            "trainer": user,
            "own": str(new_id()),
            **said,
        }
        filled["there"] = [self.farm.pickers[name].pk for name in there]
        return self.client.post(self.address, filled, follow=True)

    def undo(self, lesson: Any) -> str:
        return text(self.client.post(f"{self.address}undo/", {"lesson": str(lesson)}, follow=True))


def text(answer: Any) -> str:
    return " ".join(answer.content.decode().split())


@pytest.fixture
def lessons(farm: Farm, client_of: Any) -> Lessons:
    """Sam's, who leads the red crew."""
    return Lessons(farm, client_of("sam"))


def test_everybody_is_ticked_at_first_and_the_way_there_is_on_the_crews_page(
    farm: Farm, client_of: Any, lessons: Lessons
) -> None:
    page = lessons.page()
    assert page.count('name="there"') == page.count('name="there" value=') == 2
    assert page.count(" checked") == 2 and "No lesson is written down for this crew." in page
    assert lessons.address in text(client_of("sam").get(f"/crews/{farm.crews['red'].pk}/"))


def test_a_line_for_each_who_was_there_in_one_act(farm: Farm, lessons: Lessons) -> None:
    page = text(lessons.told("ana", "ben", minutes="40", note="Under the big trees."))
    assert "The lesson is written down: 2 were there." in page
    assert "2 were there</summary> Ana, Ben</details>" in page
    assert "given by sam, 40 minutes" in page
    one, other = Entry.objects.filter(verb="trained").order_by("position")
    assert one.act == other.act is not None
    assert [one.picker, other.picker] == [farm.pickers["ana"], farm.pickers["ben"]]
    assert one.detail == other.detail == {"topic": "ladder", "minutes": 40}
    assert (one.crew, one.store_id, one.by) == (farm.crews["red"], "A", farm.users["sam"])
    assert one.written_note.text == "Under the big trees."


def test_who_took_their_tick_away_was_not_there(farm: Farm, lessons: Lessons) -> None:
    lessons.told("ben")
    assert Entry.objects.get(verb="trained").picker == farm.pickers["ben"]


def test_the_chain_keeps_numbers_and_no_names(farm: Farm, lessons: Lessons) -> None:
    lessons.told("ana", trainer=farm.users["mo"].pk)
    assert Entry.objects.get(verb="trained").detail == {"topic": "ladder", "trainer": farm.users["mo"].pk}
    assert "given by mo" in lessons.page()
    lessons.told("ana", topic="first_aid", trainer=OUTSIDE, note="The nurse from the clinic.")
    page = lessons.page()
    assert "given by somebody from outside" in page and "The nurse from the clinic." in page
    assert "clinic" not in str([entry.detail for entry in Entry.objects.filter(verb="trained")])


WRONG = {
    "nobody": ((), {}, "Tick those who were there."),
    "one of another crew": (("ana", "cy"), {}, "Select a valid choice"),
    "no such topic": (("ana",), {"topic": "fishing"}, "Select a valid choice"),
    "no minutes": (("ana",), {"minutes": "0"}, "greater than or equal to 1"),
    "a week of minutes": (("ana",), {"minutes": "9999"}, "less than or equal to 1440"),
    "no time": (("ana",), {"time": "noon"}, "Write the time as 06:30."),
    "another lesson of which nobody says what": (
        ("ana",),
        {"topic": "other"},
        "Say what the lesson was about.",
    ),
    "somebody nobody knows": (("ana",), {"trainer": OUTSIDE}, "Say who gave it, and where they are from."),
    "a trainer who is no user": (("ana",), {"trainer": "99999"}, "Select a valid choice"),
}


@pytest.mark.parametrize(("there", "said", "why"), WRONG.values(), ids=WRONG)
def test_what_cannot_be_is_said_and_nothing_is_written(
    lessons: Lessons, there: tuple[str, ...], said: dict[str, Any], why: str
) -> None:
    answer = lessons.told(*there, **said)
    assert answer.status_code == 400 and why in text(answer)
    assert not Entry.objects.filter(verb="trained").exists()


@pytest.mark.parametrize(
    ("days", "why"), [(1, "That time is still to come."), (-400, "more than a year ago")]
)
def test_neither_ahead_nor_years_back(lessons: Lessons, days: int, why: str) -> None:
    day = timezone.localdate() + timedelta(days=days)
    assert why in text(lessons.told("ana", day=f"{day:%Y-%m-%d}"))
    assert not Entry.objects.filter(verb="trained").exists()


def test_a_lesson_of_last_week(lessons: Lessons) -> None:
    day = timezone.localdate() - timedelta(days=7)
    lessons.told("ana", day=f"{day:%Y-%m-%d}", time="13:30")
    at = timezone.localtime(Entry.objects.get(verb="trained").happened_at)
    assert (at.date(), f"{at:%H:%M}") == (day, "13:30")


def test_a_lesson_is_taken_back_for_all_who_were_there(farm: Farm, lessons: Lessons) -> None:
    lessons.told("ana", "ben")
    act = Entry.objects.filter(verb="trained").first().act
    assert "Take back the lesson “Ladders: setting up, climbing, carrying”" in lessons.page()
    assert "Taken back. Its lines stay in the book, struck." in lessons.undo(act)
    undone = {entry.detail["entry"] for entry in Entry.objects.filter(verb="reversed")}
    assert undone == {str(pk) for pk in Entry.objects.filter(verb="trained").values_list("pk", flat=True)}
    assert "<s>Ladders" in lessons.page() and "Take back the lesson" not in lessons.page()
    assert "That lesson is struck already" in lessons.undo(act)
    assert Entry.objects.filter(verb="reversed").count() == 2


def test_a_line_that_came_by_the_api_without_an_act_is_a_lesson_too(
    farm: Farm, lessons: Lessons, post: Any
) -> None:
    entry = farm.entry(
        "trained", crew=farm.crews["red"].pk, picker=farm.badges["ana"], detail={"topic": "bath"}
    )
    (answer,) = post(entry, name="sam")
    assert (answer["outcome"], answer["say"]) == ("recorded", "The lesson is written down.")
    assert "1 was there</summary> Ana</details>" in lessons.page()
    assert "Taken back." in lessons.undo(entry["id"])


def test_whose_work_it_is(farm: Farm, client_of: Any) -> None:
    assert "The lesson is written down" in text(Lessons(farm, client_of("olga")).told("ana"))
    assert "The lesson is written down" in text(Lessons(farm, client_of("frank"), "blue").told("cy"))
    lesson = Entry.objects.filter(verb="trained").first().act
    rosa, blue = Lessons(farm, client_of("rosa")), Lessons(farm, client_of("sam"), "blue")
    assert "Ladders" in rosa.page() and "Write down a lesson" not in rosa.page()
    assert rosa.told("ana").status_code == 403
    assert rosa.client.post(f"{rosa.address}undo/", {"lesson": str(lesson)}).status_code == 403
    assert blue.told("cy").status_code == 404
    assert client_of("mo").get(rosa.address).status_code == 403


def test_a_supervisor_who_keeps_the_store_as_well_trains_their_own_crew_only(
    farm: Farm, client_of: Any
) -> None:
    farm.users["sam"].groups.add(farm.users["rosa"].groups.get())
    blue = Lessons(farm, client_of("sam"), "blue")
    assert "Write down a lesson" not in blue.page()
    assert "Write down a lesson" in Lessons(farm, client_of("sam")).page()
    blue.told("cy")
    assert not Entry.objects.filter(verb="trained").exists()


def test_the_cautions_of_the_topics_stand_beside_it(lessons: Lessons) -> None:
    page = lessons.page()
    for words in (
        "Nobody climbs a ladder that is set aside",
        "latch them before you carry them",
        "blue plaster",
    ):
        assert words in page
    assert "local law come before" in page


def test_a_crew_of_nobody(farm: Farm, client_of: Any) -> None:
    leave(farm.pen(), [farm.pickers["cy"]])
    page = Lessons(farm, client_of("olga"), "blue").page()
    assert "there is nobody to train" in page and "Write it down" not in page


def test_it_is_told_on_the_crews_day_and_on_the_pickers_page(farm: Farm, lessons: Lessons) -> None:
    lessons.told("ana", "ben")
    today = text(lessons.client.get(f"/crews/{farm.crews['red'].pk}/today/"))
    assert "Lessons today and yesterday" in today and "2 were there, sam" in today
    ana = text(lessons.client.get(f"/pickers/{farm.pickers['ana'].pk}/"))
    assert "Ana was trained: Ladders: setting up, climbing, carrying." in ana


def test_the_registers_stand_where_one_looks_for_them(farm: Farm, client_of: Any, lessons: Lessons) -> None:
    """And open, asked for this crew, this picker, this piece; whoever may not print one is not sent there."""
    (bag,) = farm.gear("bag")
    ana, red = farm.pickers["ana"], farm.crews["red"].pk
    rosa = client_of("rosa")
    for page, address in (
        (f"/crews/{red}/training/", f"/registers/training/?crew={red}"),
        (f"/pickers/{ana.pk}/", f"/registers/gear-card/?picker={ana.number}"),
        (f"/gear/{bag}/", f"/registers/item-life/?tag={bag}"),
    ):
        assert f'href="{address}"' in text(rosa.get(page))
        assert rosa.get(address).status_code == 200
    assert "/registers/training/" in lessons.page()
    rosa.post(
        "/api/entries/",
        farm.batch([farm.entry("handed_out", item=bag, picker=farm.badges["ana"])]),
        format="json",
    )
    seen = lessons.client.get(f"/gear/{bag}/")
    assert seen.status_code == 200 and "/registers/item-life/" not in text(seen)


def test_its_cost_does_not_grow(farm: Farm, lessons: Lessons, django_assert_max_num_queries: Any) -> None:
    lessons.told("ana")
    lessons.page()
    for _ in range(4):
        lessons.told("ana", "ben")
    with django_assert_max_num_queries(14):
        assert lessons.page().count("Take back the lesson") == 5


def test_what_a_picker_says_is_sent_with_its_words_or_not_at_all(farm: Farm, post: Any) -> None:
    (bag,) = farm.gear("bag", days_ago=1)
    post(farm.entry("handed_out", item=bag, picker=farm.badges["ana"]))
    silent = farm.entry("heard", item=bag, picker=farm.badges["ana"])
    said = farm.entry("heard", item=bag, picker=farm.badges["ana"], note="The handle broke off.")
    refused, recorded = post(silent, said, name="sam", gate="note")
    assert (refused["code"], recorded["outcome"]) == ("malformed", "recorded")
    assert "what the picker says is the note" in refused["say"]
    assert recorded["say"] == "What was said is written down."


def test_a_lesson_that_is_sent_twice_is_one_and_another_by_the_same_page_is_asked_about(
    lessons: Lessons,
) -> None:
    first = {"own": str(new_id()), "time": "00:00"}
    for _turn in range(2):
        assert "The lesson is written down" in text(lessons.told("ana", "ben", **first))
    assert Entry.objects.filter(verb="trained").count() == 2
    for there, change in ((("ana",), {}), (("ana", "ben"), {"topic": "bath"})):
        shown = lessons.told(*there, **first, **change)
        assert shown.status_code == 400 and "This page was sent before" in text(shown)
        assert f'name="own" value="{first["own"]}"' not in text(shown)
    assert Entry.objects.filter(verb="trained").count() == 2
