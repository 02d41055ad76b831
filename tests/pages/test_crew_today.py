"""A crew today: where it is, told now or a little late, taken back; its next dip; its morning check."""

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.utils import timezone

from equipment.models import Entry, ItemState, Visit
from tests.cast import Farm
from tests.mornings import ago, hours_up, told

GOOD = {
    "present": "2",
    "kits": "yes",
    "long_nails": "0",
    "open_wounds": "0",
    "first_aid_kits": "1",
    "water": "1",
    "toilets": "1",
    "hand_washing": "1",
    "gloves_dry": "yes",
    "temperature": "22,5",
    "humidity": "60",
    "fruit_dry": "yes",
}


class Today:
    """The page of the red crew, in the browser of one of the cast."""

    def __init__(self, farm: Farm, client: Any, crew: str = "red") -> None:
        self.client, self.address = client, f"/crews/{farm.crews[crew].pk}/today/"

    def page(self) -> str:
        return text(self.client.get(self.address))

    def tell(self, what: str, **sent: str) -> str:
        """What the page says afterwards."""
        answer = self.client.post(f"{self.address}{what}/", sent, follow=True)
        assert answer.status_code in (200, 400), answer.status_code
        return text(answer)


def text(answer: Any) -> str:
    return " ".join(answer.content.decode().split())


@pytest.fixture
def today(ruled_farm: Farm, client_of: Any) -> Today:
    return Today(ruled_farm, client_of("sam"))


def clock(at: datetime) -> str:
    return f"{timezone.localtime(at):%H:%M}"


def midnight() -> datetime:
    return timezone.localtime().replace(hour=0, minute=0, second=0, microsecond=0)


def test_a_day_is_told(ruled_farm: Farm, today: Today) -> None:
    ruled_farm.plan("red", "N4")
    page = today.page()
    assert "In no block yet today." in page and 'label="Planned today"> <option value="N4">' in page
    assert "Written down: in N4 since" in today.tell("arrived", block="N4")
    assert "In N4 since" in today.page()
    assert "they stopped at" in today.tell("stopped", cause="rain")
    assert "In no block since" in (page := today.page()) and "Picking again in N4, now" in page
    today.tell("arrived", block="N4")
    today.tell("arrived", block="S2")
    assert "they left at" in today.tell("left")
    visits = Visit.objects.order_by("at", "id").values_list("block", "cause")
    assert list(visits) == [("N4", "rain"), ("N4", "moved"), ("S2", "left")]


def test_what_was_told_late_goes_where_it_belongs(today: Today) -> None:
    half = midnight() + (timezone.now() - midnight()) / 2
    half = half.replace(second=0, microsecond=0)
    today.tell("arrived", block="N4", time=clock(half), day="today")
    assert Visit.objects.get().at == half
    yesterday = {"time": "06:30", "day": "yesterday"}
    assert "in S2 since" in today.tell("arrived", block="S2", **yesterday)
    first = Visit.objects.earliest("at")
    assert timezone.localtime(first.at).strftime("%H:%M") == "06:30"
    assert timezone.localdate(first.at) == timezone.localdate() - timedelta(days=1)


def test_a_late_visit_changes_what_fell_due(ruled_farm: Farm, today: Today) -> None:
    (tag,) = hours_up(ruled_farm, 1)
    arrived = Visit.objects.get().at
    before = ItemState.objects.get(tag=tag).due_at
    told(ruled_farm, "left", arrived + timedelta(minutes=30))
    told(ruled_farm, "arrived", arrived + timedelta(minutes=90), block="N4")
    assert ItemState.objects.get(tag=tag).due_at == before + timedelta(hours=1)


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"time": "25:00"}, "Write the time as 06:30."),
        ({"day": "yesterday"}, "Say at what time it was yesterday."),
        ({"block": "X9"}, "Select a valid choice"),
    ],
)
def test_what_cannot_be_is_said(today: Today, sent: dict[str, str], said: str) -> None:
    assert said in today.tell("arrived", **{"block": "N4", **sent})
    assert not Entry.objects.filter(verb="arrived").exists()


def test_nothing_is_told_ahead(today: Today, monkeypatch: pytest.MonkeyPatch) -> None:
    noon = midnight().replace(hour=12)
    monkeypatch.setattr("equipment.pages.crews.today.timezone.now", lambda: noon)
    assert "That time is still to come." in today.tell("arrived", block="N4", time="12:01")
    assert not Visit.objects.exists()


def test_who_is_there_does_not_arrive_and_who_is_nowhere_does_not_leave(today: Today) -> None:
    assert "The book has them in no block at" in today.tell("left")
    assert "The book has them in no block at" in today.tell("stopped", cause="rain")
    today.tell("arrived", block="N4")
    assert "They are in N4 already" in today.tell("arrived", block="N4")
    assert Entry.objects.filter(crew__isnull=False, verb__in=("arrived", "left", "stopped")).count() == 1


def test_a_line_is_taken_back_once(ruled_farm: Farm, today: Today) -> None:
    entry = str(told(ruled_farm, "arrived", ago(minutes=5), block="N4"))
    assert "Taken back." in today.tell("undo", entry=entry)
    assert not Visit.objects.exists()
    page = today.page()
    assert "<s>Came into block N4.</s>" in page and "taken back" in page
    assert "That line is struck already" in today.tell("undo", entry=entry)
    other = str(told(ruled_farm, "arrived", ago(minutes=5), crew="blue", block="N4"))
    assert "not of these days" in today.tell("undo", entry=other)
    assert Visit.objects.get().crew == ruled_farm.crews["blue"]


def test_by_when_they_dip(ruled_farm: Farm, today: Today) -> None:
    assert "Dip" not in today.page()
    tags = hours_up(ruled_farm, 2, late=timedelta(minutes=-75))
    due = ItemState.objects.get(tag=tags[0]).due_at
    assert (
        f"{clock(due)}</p>" in today.page().replace(" </", "</") and "2 pieces fall due then" in today.page()
    )


def test_that_they_are_late_to_dip(ruled_farm: Farm, today: Today) -> None:
    hours_up(ruled_farm, 3)
    assert "Dip now: 3 pieces are not sterile." in today.page()


def test_own_crews_only(ruled_farm: Farm, client_of: Any) -> None:
    blue = Today(ruled_farm, client_of("sam"), "blue")
    assert blue.client.get(blue.address).status_code == 404
    assert blue.client.post(f"{blue.address}arrived/", {"block": "N4"}).status_code == 404
    assert "Written down" in Today(ruled_farm, client_of("rosa"), "blue").tell("arrived", block="N4")
    for name in ("olga", "frank"):
        other = Today(ruled_farm, client_of(name))
        assert "They are there" not in other.page()
        assert other.client.post(f"{other.address}arrived/", {"block": "N4"}).status_code == 403


def test_a_supervisor_who_is_the_officer_too_tells_of_their_own_crews(
    ruled_farm: Farm, client_of: Any
) -> None:
    sam, officers = ruled_farm.users["sam"], ruled_farm.users["olga"].groups.get()
    sam.groups.add(officers)
    blue = Today(ruled_farm, client_of("sam"), "blue")
    assert "They are there" not in blue.page()
    assert blue.client.post(f"{blue.address}arrived/", {"block": "N4"}).status_code == 403


def test_the_morning_check_is_written_down(ruled_farm: Farm, today: Today) -> None:
    assert "The morning check is written down." in today.tell("morning", **GOOD)
    entry = Entry.objects.get(verb="morning_checked")
    assert entry.detail["answers"]["present"] == 2 and entry.detail["answers"]["temperature"] == "22.5"
    page = today.page()
    assert "All in order." in page and "2 here." in page and "Answer it again" in page


def test_what_is_not_in_order_is_said_with_what_to_mind(ruled_farm: Farm, today: Today) -> None:
    page = today.tell("morning", **{**GOOD, "open_wounds": "1", "temperature": "34", "kits": "no"})
    assert "3 things are not in order:" in page
    assert "<dt>Temperature in the block</dt><dd><b>34 °C</b></dd>" in page
    assert "<dt>How many have an open wound not yet under a blue plaster?</dt><dd><b>1</b></dd>" in page
    result = page.split("3 things are not in order:")[1].split("Answer it again")[0]
    assert "blue plaster before anybody" in result and "cup of cool water" in result


def test_a_missing_point_is_named_and_nothing_is_written(today: Today) -> None:
    page = today.tell(
        "morning", **{name: value for name, value in GOOD.items() if name not in ("kits", "water")}
    )
    assert "Not answered yet:" in page
    assert "<li>Everyone&#x27;s kit complete?</li>" in page
    assert "<li>How many water containers, full and clean?</li>" in page
    assert not Entry.objects.filter(verb="morning_checked").exists()


IMPOSSIBLE = {
    "more wounds than people": ({"open_wounds": "3"}, "That is more than are here."),
    "fewer than none": ({"long_nails": "-1"}, "greater than or equal to 0"),
    "half a person": ({"present": "2.5"}, "Write a number."),
    "nobody": ({"present": "0"}, "greater than or equal to 1"),
    "a boiling block": ({"temperature": "100"}, "less than or equal to 60"),
    "no number at all": ({"humidity": "nan"}, "Write a number."),
    "not yes and not no": ({"kits": "maybe"}, "Select a valid choice"),
}


@pytest.mark.parametrize(("sent", "said"), IMPOSSIBLE.values(), ids=IMPOSSIBLE)
def test_an_answer_that_cannot_be(today: Today, sent: dict[str, str], said: str) -> None:
    assert said in today.tell("morning", **{**GOOD, **sent})
    assert not Entry.objects.filter(verb="morning_checked").exists()


def test_lemons_ask_for_the_cold_front_and_oranges_do_not(ruled_farm: Farm, today: Today) -> None:
    asks = "Whole days since the last cold front had passed"
    plan = ruled_farm.plan("red", "S2")
    assert asks not in today.page()
    plan.block_id = "N4"
    plan.save()
    assert asks in today.page()
    assert f"<li>{asks}</li>" in today.tell("morning", **GOOD)
    assert "1 thing is not in order:" in today.tell("morning", **GOOD, cold_front="1")


# One each for every 20 or part of it: US DOL Fact Sheet 51 on 29 CFR 1928.110 (seen); 3 from 41 on.
@pytest.mark.parametrize(("here", "asked"), [(11, 1), (20, 1), (21, 2), (40, 2), (41, 3)])
def test_the_head_count_asks_for_toilets_and_hand_washing(
    ruled_farm: Farm, today: Today, here: int, asked: int
) -> None:
    ruled_farm.plan("red", "S2")
    sent = {**GOOD, "present": str(here), "water": "9", "first_aid_kits": "9", "hand_washing": "9"}
    enough = today.tell("morning", **{**sent, "toilets": str(asked)})
    assert "All in order." in enough
    assert "1 thing is not in order:" in today.tell("morning", **{**sent, "toilets": str(asked - 1)})
    page = today.tell("morning", **{**sent, "toilets": ""})
    assert f"for {here} here: {asked} asked" in page


def test_without_a_plan_toilets_are_asked_all_the_same(today: Today) -> None:
    assert "1 thing is not in order:" in today.tell(
        "morning", **{**GOOD, "present": "41", "water": "9", "hand_washing": "9"}
    )


def test_its_cost_does_not_grow(ruled_farm: Farm, today: Today, django_assert_max_num_queries: Any) -> None:
    hours_up(ruled_farm, 10)
    for minutes in range(1, 12):
        told(ruled_farm, "arrived", ago(minutes=60 - 4 * minutes), block=("S2", "N4")[minutes % 2])
        told(ruled_farm, "stopped", ago(minutes=58 - 4 * minutes), cause="break")
    with django_assert_max_num_queries(20):
        assert "Told today and yesterday" in today.page()
