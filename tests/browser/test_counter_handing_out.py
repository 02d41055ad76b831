"""Handing out at the counter, by scanner alone."""

from uuid import UUID

import pytest
from django.utils import timezone

from crews.models import Badge
from equipment.actions import change_crew
from equipment.domain import codes
from equipment.models import Entry, ItemState
from tests.cast import Farm
from tests.counter import Counter, where
from tests.farm import Post

pytestmark = pytest.mark.django_db(transaction=True)
SET = codes.make(codes.SET, 1)


def pack(farm: Farm, post: Post, *tags: str) -> None:
    post(*(farm.entry("packed", item=tag, detail={"set": SET}) for tag in tags))


def test_a_badge_then_items_then_the_next_badge(farm: Farm, at_counter: Counter) -> None:
    farm.plan("red", "S2")
    (bag,), (clippers,) = farm.gear("bag"), farm.gear("clippers")
    at_counter.scan_all(farm.badges["ana"])
    at_counter.says("none", "Ana", "To give: Picking bag, Clippers")
    at_counter.shows("Ana", "Red crew", "S2 orange", "Not yet complete")
    at_counter.scan_all(bag)
    at_counter.says("yes", "Picking bag for Ana", bag)
    at_counter.scan_all(clippers)
    at_counter.shows("Kit is complete", bag, clippers)
    at_counter.scan_all(farm.badges["ben"])
    at_counter.says("none", "Ben")
    assert where(bag) == where(clippers) == ("picker", "Ana")


def test_the_next_badge_says_what_the_last_picker_went_without(farm: Farm, at_counter: Counter) -> None:
    farm.plan("red", "S2")
    at_counter.scan_all(farm.badges["ana"], *farm.gear("bag"), farm.badges["ben"])
    at_counter.says("partial", "Ana is not complete", "Clippers", "Now: Ben")
    assert at_counter.sounds()[-1] == "partial"


def test_yes_no_and_not_yet_complete_sound_different(farm: Farm, at_counter: Counter) -> None:
    (bag,) = farm.gear("bag")
    at_counter.scan_all(farm.badges["ana"], bag, codes.make("BG", 9999), farm.badges["ben"])
    assert at_counter.sounds() == ["note", "yes", "no", "partial"]


def test_a_packed_set_goes_out_by_one_scan(farm: Farm, at_counter: Counter, post: Post) -> None:
    farm.plan("red", "S2")
    tags = [*farm.gear("bag"), *farm.gear("clippers"), *farm.gear("goggles")]
    pack(farm, post, *tags)
    at_counter.scan_all(farm.badges["ana"], SET)
    at_counter.says("yes", "Set for Ana", "pieces: 3")
    at_counter.shows("Kit is complete")
    out = Entry.objects.filter(verb="handed_out")
    assert {where(tag) for tag in tags} == {("picker", "Ana")}
    assert len({entry.act for entry in out}) == 1
    at_counter.scan_all("undo")
    at_counter.says("yes", "Undone", "Set for Ana")
    assert {where(tag)[0] for tag in tags} == {"store"}


def test_of_a_set_the_unfit_piece_is_named_and_the_rest_goes_out(
    farm: Farm, at_counter: Counter, post: Post
) -> None:
    (bag,), (clippers,) = farm.gear("bag"), farm.gear("clippers")
    pack(farm, post, bag, clippers)
    post(farm.entry("missed", item=clippers))
    post(farm.entry("packed", item=bag, detail={"set": SET}))
    ItemState.objects.filter(tag=clippers).update(packed_in=SET)  # as another counter still shows it
    at_counter.scan_all(farm.badges["ana"], SET)
    at_counter.says(
        "partial", "Set for Ana, not whole", f"{clippers} Clippers stays here: Marked missing", "pieces: 1"
    )
    assert (where(bag), where(clippers)[0]) == (("picker", "Ana"), "missing")
    at_counter.scan_all("undo")
    assert where(bag)[0] == "store"


def test_only_the_change_of_hands_moves_what_is_out(farm: Farm, at_counter: Counter, post: Post) -> None:
    (bag,) = farm.gear("bag")
    post(farm.entry("handed_out", item=bag, picker=farm.badges["ana"]))
    at_counter.scan_all(farm.badges["ben"], bag)
    at_counter.says("no", "Out to Ana", "Change of hands")
    at_counter.page.wait_for_timeout(2100)  # beyond the two seconds in which a scan counts once
    at_counter.scan_all(bag)
    at_counter.says("no", "Out to Ana")
    assert where(bag) == ("picker", "Ana")
    at_counter.scan_all("change_of_hands")
    at_counter.says("yes", "from Ana to Ben", bag)
    assert where(bag) == ("picker", "Ben")
    at_counter.scan_all("undo")
    assert where(bag) == ("picker", "Ana")


def test_a_change_of_hands_lapses_with_the_next_scan(farm: Farm, at_counter: Counter, post: Post) -> None:
    bag, other = farm.gear("bag", 2)
    post(farm.entry("handed_out", item=bag, picker=farm.badges["ana"]))
    at_counter.scan_all(farm.badges["ben"], bag, other, "change_of_hands")
    at_counter.says("no", "Nothing to move")
    assert where(bag) == ("picker", "Ana")


def test_gear_moves_from_a_crew_to_a_picker(farm: Farm, at_counter: Counter, post: Post) -> None:
    (bag,) = farm.gear("bag")
    post(farm.entry("handed_out", item=bag, crew=farm.crews["red"].pk))
    at_counter.scan_all(farm.badges["ben"], bag)
    at_counter.says("no", "Out to Red crew")
    at_counter.scan_all("change_of_hands")
    assert where(bag) == ("picker", "Ben")


def test_shared_gear_goes_to_a_crew_by_its_tag(farm: Farm, at_counter: Counter) -> None:
    farm.plan("red", "N4")
    ladder, box = farm.gear("ladder")[0], farm.gear("first_aid_kit")[0]
    at_counter.scan_all(farm.crews["red"].pk)
    at_counter.says("none", "Red crew", "shared gear", "Ladder")
    at_counter.scan_all(ladder, box)
    at_counter.says("yes", "First-aid kit for Red crew")
    at_counter.shows(ladder, box)
    assert where(ladder)[0] == where(box)[0] == "crew"
    assert ItemState.objects.get(tag=ladder).crew_id == farm.crews["red"].pk


def test_undo_goes_back_one_scan_at_a_time(farm: Farm, at_counter: Counter) -> None:
    one, two = farm.gear("bag", 2)
    at_counter.scan_all(farm.badges["ana"], one, two, "undo")
    at_counter.says("yes", "Undone", two, "Picking bag for Ana")
    assert (where(one)[0], where(two)[0]) == ("picker", "store")
    at_counter.scan_all(two)  # meant, although within two seconds: an undo lay in between
    assert where(two) == ("picker", "Ana")
    at_counter.page.keyboard.press("F4")
    at_counter.settle()
    at_counter.page.keyboard.press("F4")
    at_counter.settle()
    assert (where(one)[0], where(two)[0]) == ("store", "store")
    at_counter.page.keyboard.press("F4")
    at_counter.says("no", "Nothing to undo")
    assert Entry.objects.filter(verb="reversed").count() == 3


def test_one_missing_line_is_waived_at_once(farm: Farm, at_counter: Counter) -> None:
    farm.plan("red", "S2")
    at_counter.scan_all(farm.badges["ana"], *farm.gear("bag"), "waive")
    at_counter.says("yes", "Clippers waived for Ana")
    at_counter.shows("Kit is complete", "Done without: by the storeman's word")
    waived = Entry.objects.get(verb="waived")
    assert (waived.detail, waived.crew, waived.picker) == (
        {"kind": "clippers"},
        farm.crews["red"],
        farm.pickers["ana"],
    )
    at_counter.scan_all("undo")
    at_counter.shows("Not yet complete")
    at_counter.scan_all(farm.crews["red"].pk, "waive")
    at_counter.says("no", "Waive for whom?")


@pytest.mark.parametrize(("how", "kind"), [("2", "clippers"), ("waive", "bag")])
def test_of_several_lines_a_digit_or_the_tag_again_chooses(
    how: str, kind: str, farm: Farm, at_counter: Counter
) -> None:
    farm.plan("red", "N4")
    at_counter.scan_all(farm.badges["ana"], "waive")
    at_counter.says("partial", "Go without which?", "1 Picking bag", "2 Clippers", "3 Pair of gloves")
    if how == "waive":
        at_counter.page.wait_for_timeout(2100)
        at_counter.scan_all("waive")
    else:
        at_counter.page.keyboard.press(how)
    at_counter.says("yes", "waived for Ana")
    assert Entry.objects.get(verb="waived").detail == {"kind": kind}


def test_finish_ends_the_picker_and_says_what_is_missing(farm: Farm, at_counter: Counter) -> None:
    farm.plan("red", "S2")
    (bag,), (clippers,) = farm.gear("bag"), farm.gear("clippers")
    at_counter.scan_all(farm.badges["ana"], bag, "finish")
    at_counter.says("partial", "Ana is not complete", "Clippers")
    at_counter.scan_all(clippers)
    at_counter.says("no", "For whom?")
    at_counter.scan_all(farm.badges["ana"], clippers)
    at_counter.page.keyboard.press("F9")
    at_counter.says("none", "Ana is complete")


def test_what_cannot_go_out_says_why_and_what_to_do(farm: Farm, at_counter: Counter, post: Post) -> None:
    gone, missing, odd = farm.gear("bag", 3)
    (theirs,) = farm.gear("bag", store="B")
    post(farm.entry("written_off", item=gone, detail={"circumstance": "worn_out"}))
    post(farm.entry("missed", item=missing))
    at_counter.scan_all(farm.badges["ana"])
    for scanned, said in {
        gone: ("Written off", "Give another"),
        missing: ("Marked missing", "Take back"),
        theirs: ("Of store B", "Give another"),
        codes.make("BG", 9999): ("Not in the book", "Set it aside"),
        odd[:-1] + ("A" if odd[-1] != "A" else "B"): ("Misread", "Scan it again"),
        "6001234567890": ("Not one of ours", "letters and digits"),
        SET: ("An empty set", "one by one"),
        codes.make(codes.COUNTER, 99): ("Unknown counter tag", "Print"),
        codes.make(codes.CREW, 99): ("No such crew", "Check the tag"),
    }.items():
        at_counter.scan_all(scanned)
        at_counter.says("no", *said)
    at_counter.scan_all(odd)
    at_counter.page.wait_for_timeout(2100)
    at_counter.scan_all(odd)
    at_counter.says("no", "Ana has it already")
    assert Entry.objects.filter(verb="handed_out").count() == 1


def test_cards_that_stand_for_nobody(farm: Farm, at_counter: Counter) -> None:
    Badge.objects.filter(pk=farm.badges["ben"]).update(died_on=timezone.localdate())
    change_crew.leave(farm.pen(), [farm.pickers["cy"]])
    at_counter.scan_all(codes.make(codes.BADGE, 7777))
    at_counter.says("no", "Card not in use", "Find the picker by name")
    at_counter.scan_all(farm.badges["ben"])
    at_counter.says("no", "A dead card", "Keep the card")
    at_counter.scan_all(farm.badges["cy"], *farm.gear("bag"))
    at_counter.says("no", "Cy has left", "crews page")
    assert not Entry.objects.filter(verb="handed_out").exists()


def test_another_size_goes_out_and_says_so(farm: Farm, at_counter: Counter) -> None:
    farm.pickers["ana"].glove_size = "M"
    farm.pickers["ana"].save()
    (gloves,) = farm.gear("gloves", size="XL")
    at_counter.scan_all(farm.badges["ana"], gloves)
    at_counter.says("yes", "Pair of gloves for Ana", "Not this picker's size or hand.")


def test_each_scan_is_an_entry_of_this_counter_made_before_it_was_sent(
    farm: Farm, at_counter: Counter
) -> None:
    at_counter.scan_all(farm.badges["ana"], *farm.gear("bag", 3))
    entries = Entry.objects.filter(verb="handed_out").order_by("position")
    assert {(entry.device_id, entry.store_id, UUID(str(entry.pk)).version) for entry in entries} == {
        (farm.device.pk, "A", 7)
    }
    assert [e.device_seq for e in entries] == sorted({e.device_seq for e in entries})
    assert [str(e.pk) for e in entries] == sorted(str(e.pk) for e in entries)


def test_a_reload_forgets_neither_the_picker_nor_what_undo_takes_back(
    farm: Farm, at_counter: Counter
) -> None:
    one, two = farm.gear("bag", 2)
    at_counter.scan_all(farm.badges["ana"], one)
    at_counter.page.reload()
    at_counter.ready()
    at_counter.says("none", "Ana")
    at_counter.scan_all(two)
    assert where(two) == ("picker", "Ana")
    at_counter.page.keyboard.press("F4")
    at_counter.settle()
    at_counter.page.keyboard.press("F4")
    at_counter.says("yes", "Undone", one)
    assert (where(one)[0], where(two)[0]) == ("store", "store")


def test_a_counter_left_open_overnight_begins_anew(farm: Farm, at_counter: Counter) -> None:
    (bag,) = farm.gear("bag")
    at_counter.scan_all(farm.badges["ana"], bag, "take_back", bag, "came_back_wet")
    at_counter.page.evaluate("Date.prototype.toDateString = () => 'tomorrow'")
    at_counter.page.wait_for_timeout(2100)
    at_counter.scan_all("undo")
    at_counter.says("no", "Nothing to undo")
    at_counter.scan_all("came_back_wet")
    at_counter.says("no", "Which crew?")
