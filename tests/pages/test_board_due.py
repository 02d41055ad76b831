"""The due part of the board: what it says, to whom, and at what cost."""

from datetime import timedelta

import pytest
from django.utils import timezone

from equipment.models import ItemState
from equipment.models.overdue import Fallen
from equipment.pages.due import Teller
from equipment.pages.spans import length
from tests.cast import Farm
from tests.mornings import ago, clippers, dipped, handed, hours_up, told


def text(client, address: str = "/board/due/") -> str:
    return " ".join(client.get(address).content.decode().split())


def test_a_crew_whose_hours_are_up_is_told_with_block_cause_and_how_long(ruled_farm: Farm, client_of) -> None:
    tags = hours_up(ruled_farm, 3)
    found = text(client_of("rosa"))
    assert "Red crew, N4" in found and "Clippers: 3 to sterilise" in found
    assert "for 35 min: their hours in use are up." in found
    assert "their 3 tags" in found and all(f'href="/gear/{tag}/"' in found for tag in tags)
    since = timezone.localtime(ItemState.objects.get(tag=tags[0]).due_at)
    assert f'<time class="line-when" datetime="{since.isoformat()}">' in found


def test_the_next_of_them_is_told_in_the_same_line(ruled_farm: Farm, client_of) -> None:
    hours_up(ruled_farm, 2)
    later = clippers(ruled_farm, 2)
    dipped(ruled_farm, later, ago(hours=3))
    handed(ruled_farm, later, ago(hours=2, minutes=30), "ben")
    at = timezone.localtime(ItemState.objects.get(tag=later[0]).due_at)
    assert f"their hours in use are up; next 2 at {at:%H:%M}." in text(client_of("rosa"))


def test_what_is_due_soon_stands_by_itself(ruled_farm: Farm, client_of) -> None:
    hours_up(ruled_farm, 2, late=timedelta(minutes=-75))
    found = text(client_of("rosa"))
    assert "Due now" not in found
    assert "Clippers: 2 to sterilise: their hours in use are up." in found.split("In the coming two hours")[1]


def test_a_bath_that_ends_and_a_missing_morning_check(ruled_farm: Farm, client_of) -> None:
    ruled_farm.plan("red", "N4")
    pen = ruled_farm.pen()
    mixed = {"recipe": "clippers_daily_bleach", "litres": 10, "product_ml": 1500, "strength_pct": 3.5}
    own = pen.draft("left", crew=ruled_farm.crews["red"].pk).id
    pen.record([pen.draft("mixed", bath=own, happened_at=ago(minutes=105), detail=mixed)])
    found = text(client_of("rosa"))
    assert "good for another 1" in found.split("Dip baths")[1]
    assert "No morning check yet:" in found and "Red crew" in found.split("No morning check yet:")[1]
    pen = ruled_farm.pen()
    pen.record([pen.draft("tested", bath=own, detail={"ppm": 900})])
    assert "no dip in it counts: the bath failed its strength test" in text(client_of("rosa"))


def test_nothing_due_says_so(ruled_farm: Farm, client_of) -> None:
    assert "No cleaning of what is out is due" in text(client_of("rosa"))


def test_a_supervisor_is_told_of_their_own(ruled_farm: Farm, client_of) -> None:
    handed(ruled_farm, clippers(ruled_farm, 1), ago(hours=1), "cy", "blue")
    ruled_farm.plan("blue", "S2")
    assert "Blue crew" in text(client_of("rosa"))
    assert "Blue crew" not in text(client_of("sam")) and "No morning check" not in text(client_of("sam"))


def test_the_board_refreshes_it_with_what_it_showed(ruled_farm: Farm, client_of) -> None:
    hours_up(ruled_farm, 1)
    client = client_of("rosa")
    page, part = text(client, "/"), text(client)
    assert 'data-refresh-url="/board/due/"' in page
    assert part in page and "<html" not in part


def test_its_cost_does_not_grow(ruled_farm: Farm, client_of, django_assert_num_queries) -> None:
    """The six: session, person, what is due, kinds, crews, baths."""
    hours_up(ruled_farm, 2)
    client = client_of("rosa")
    text(client)
    for more in (0, 40):
        if more:
            hours_up(ruled_farm, more)
            told(ruled_farm, "arrived", ago(hours=1), crew="blue", block="S2")
        with django_assert_num_queries(6):
            text(client)


@pytest.mark.parametrize(
    ("minutes", "words"), [(-3, "0 min"), (35, "35 min"), (60, "1 h"), (200, "3 h 20 min"), (2880, "2 days")]
)
def test_spans_in_words(minutes: int, words: str) -> None:
    assert length(timedelta(minutes=minutes)) == words


def test_several_causes_are_told_apart() -> None:
    at = timezone.now()
    found = [Fallen(at, ["A", "B"], "hours"), Fallen(at, ["C"], "block"), Fallen(at, ["D"], "hours")]
    assert (
        Teller(at, {}, {}, {}).causes(found)
        == "3: their hours in use are up; 1: they went into another block"
    )
