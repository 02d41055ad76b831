"""Taking back at the counter: any order, no badge, and who still owes what."""

import pytest
from playwright.sync_api import expect

from equipment.models import Entry, ItemState
from tests.cast import Farm
from tests.counter import Counter, where
from tests.farm import Post

pytestmark = pytest.mark.django_db(transaction=True)


def hand_out(farm: Farm, post: Post, name: str, *kinds: str) -> list[str]:
    tags = [farm.gear(kind)[0] for kind in kinds]
    post(*(farm.entry("handed_out", item=tag, picker=farm.badges[name]) for tag in tags))
    return tags


def wet(*tags: str) -> list[bool]:
    found = dict(ItemState.objects.values_list("tag", "wet"))
    return [found[tag] for tag in tags]


def test_in_any_order_it_says_whose_it_was_and_what_they_owe(
    farm: Farm, at_counter: Counter, post: Post
) -> None:
    bag, clippers = hand_out(farm, post, "ana", "bag", "clippers")
    (other,) = hand_out(farm, post, "ben", "bag")
    at_counter.scan_all("take_back", bag)
    at_counter.says("yes", "Back: Picking bag", "from Ana", f"Ana still owes 1: Clippers {clippers}")
    at_counter.shows("Ana", "Still owes: 1", clippers)
    at_counter.scan_all(other)
    at_counter.says("yes", "from Ben", "Ben: everything is back.")
    at_counter.scan_all(clippers)
    at_counter.says("yes", "from Ana", "Ana: everything is back.")
    at_counter.shows("Everything is back")
    assert {where(tag)[0] for tag in (bag, clippers, other)} == {"store"}


def test_what_stays_until_season_s_end_is_not_owed_tonight(
    farm: Farm, at_counter: Counter, post: Post
) -> None:
    bag, _boots = hand_out(farm, post, "ana", "bag", "gumboots")
    at_counter.scan_all("take_back", bag)
    at_counter.says("yes", "Ana: everything is back.")


def test_gear_of_a_crew_comes_back_from_the_crew(farm: Farm, at_counter: Counter, post: Post) -> None:
    ladders = farm.gear("ladder", 2)
    post(*(farm.entry("handed_out", item=tag, crew=farm.crews["red"].pk) for tag in ladders))
    at_counter.scan_all("take_back", ladders[0])
    at_counter.says("yes", "from Red crew", f"Red crew still owes 1: Ladder {ladders[1]}")


def test_a_badge_or_crew_tag_shows_what_is_owed_and_records_nothing(
    farm: Farm, at_counter: Counter, post: Post
) -> None:
    (bag,) = hand_out(farm, post, "ana", "bag")
    before = Entry.objects.count()
    at_counter.scan_all("take_back", farm.badges["ana"])
    at_counter.says("none", "Ana", bag)
    at_counter.scan_all(farm.crews["red"].pk)
    at_counter.says("none", "Red crew: everything is back.")
    assert Entry.objects.count() == before


def test_what_is_not_out_and_what_was_missing(farm: Farm, at_counter: Counter, post: Post) -> None:
    idle, lost = farm.gear("bag", 2)
    post(farm.entry("missed", item=lost))
    at_counter.scan_all("take_back", idle)
    at_counter.says("no", "It was not out", "store A")
    at_counter.scan_all(lost)
    at_counter.says("yes", "Back: Picking bag")
    assert where(lost)[0] == "store"


def test_undo_puts_it_out_again(farm: Farm, at_counter: Counter, post: Post) -> None:
    (bag,) = hand_out(farm, post, "ana", "bag")
    at_counter.scan_all("take_back", bag, "undo")
    at_counter.says("yes", "Undone", bag)
    at_counter.shows("Still owes: 1")
    assert where(bag) == ("picker", "Ana")


def test_a_crew_that_came_back_wet_marks_what_came_and_what_comes(
    farm: Farm, at_counter: Counter, post: Post
) -> None:
    first, second, third = hand_out(farm, post, "ana", "bag", "gloves", "clippers")
    (blue,) = hand_out(farm, post, "cy", "bag")
    at_counter.page.reload()  # a counter opened in the evening knows who has what
    at_counter.ready()
    at_counter.scan_all("take_back", first, "came_back_wet")
    at_counter.says("yes", "Red crew came back wet", "marked too: 1")
    banner = at_counter.page.locator(".mode")
    expect(banner).to_contain_text("Red crew came back wet")
    at_counter.scan_all(second)
    at_counter.says("yes", "Wet: hang it up to dry.")
    at_counter.scan_all(blue)
    assert wet(first, second, blue) == [True, True, False]
    at_counter.scan_all(farm.crews["red"].pk)
    at_counter.page.wait_for_timeout(2100)
    at_counter.scan_all("came_back_wet", third)
    at_counter.says("yes", "Back: Clippers")
    expect(banner).not_to_contain_text("wet")
    assert wet(first, second, third) == [True, True, False]
    # The first return was taken back and recorded again, as one act.
    again = Entry.objects.filter(item__state__tag=first, verb__in=("reversed", "returned")).order_by(
        "position"
    )
    assert [entry.verb for entry in again] == ["returned", "reversed", "returned"]
    assert again[1].act == again[2].act is not None


def test_wet_needs_a_crew_and_undo_takes_the_wet_return_back(
    farm: Farm, at_counter: Counter, post: Post
) -> None:
    (bag,) = hand_out(farm, post, "ana", "bag")
    at_counter.scan_all("take_back", "came_back_wet")
    at_counter.says("no", "Which crew?")
    at_counter.page.wait_for_timeout(2100)
    at_counter.scan_all(bag, "came_back_wet", "undo")
    assert (where(bag), wet(bag)) == (("picker", "Ana"), [False])


def test_a_set_comes_back_piece_by_piece(farm: Farm, at_counter: Counter) -> None:
    at_counter.scan_all("take_back", "ST0001L")
    at_counter.says("no", "Piece by piece")
