"""A stocktake: what is expected, what a scan says, and what happens while it runs."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from equipment.actions.stocktake import begin
from equipment.actions.stocktake.scan import Scan, take, unscan
from equipment.actions.verify_book import verify_book
from equipment.actions.wording import NotDone
from equipment.actions.writing import new_id
from equipment.domain import codes
from equipment.models import Entry, Stocktake, UnknownTag, stocktaking
from tests.cast import Farm
from tests.stocktaking import begun, hand_out, outcomes, scanned, standing, state, sums, told


def seen_lines(own: Stocktake) -> int:
    return Entry.objects.filter(act=own.pk, verb="seen").count()


def test_expected_is_what_lies_there_at_that_moment(farm: Farm) -> None:
    here, on_bench, out, gone = farm.gear("bag", 4, days_ago=1)
    (elsewhere,) = farm.gear("bag", store="B", days_ago=1)
    farm.gear("clippers", days_ago=1)
    hand_out(farm, out)
    told(farm, on_bench, "fault_found", fault="bag_hole")
    told(farm, gone, "written_off", circumstance="sold")
    own = begun(farm, "bag")
    places = dict(own.expected.values_list("item__state__tag", "place"))
    assert set(places) == {here, on_bench}
    assert places[here] == "store"
    assert elsewhere not in places
    assert sums(own)["left"] == 2


def test_one_at_a_time_in_a_store(farm: Farm) -> None:
    own = begun(farm)
    with pytest.raises(NotDone, match="open in Store A"):
        begun(farm, by="frank")
    begun(farm, store="B")
    begin.end(own, farm.users["rosa"], timezone.now())
    assert begun(farm).pk != own.pk


def test_a_scan_is_a_line_of_the_book_and_one_piece_counts_once(farm: Farm) -> None:
    (tag,) = farm.gear("bag", days_ago=1)
    own = begun(farm)
    assert outcomes(scanned(own, farm, tag.lower())) == ["seen"]
    (again,) = scanned(own, farm, f"https://farm.example/t/{tag}", by="mo")
    assert again.outcome == "already" and again.before.by == farm.users["rosa"].pk
    assert outcomes(scanned(own, farm, tag, tag)) == ["already", "already"]
    (line,) = Entry.objects.filter(act=own.pk)
    assert (line.verb, line.item_id, line.store_id, line.by) == (
        "seen",
        state(tag).pk,
        "A",
        farm.users["rosa"],
    )
    assert standing(own, tag) == "seen"
    assert verify_book().clean


def test_two_of_one_piece_in_one_go_and_a_batch_sent_again(farm: Farm) -> None:
    one, other = farm.gear("bag", 2, days_ago=1)
    own, now = begun(farm), timezone.now()
    batch = [Scan(new_id(), text, now) for text in (one, one, other, "ZZ0001")]
    first = take(own, batch, farm.users["rosa"], now)
    assert outcomes(first) == ["seen", "already", "seen", "unknown"]
    again = take(own, batch, farm.users["rosa"], timezone.now())
    assert outcomes(again) == outcomes(first)
    assert seen_lines(own) == 2 and own.unknown.count() == 1


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("BG0001A", "misread"),
        (codes.make("PK", 1), "not_gear"),
        (codes.make("CW", 1), "not_gear"),
        (codes.make("CT", 1), "not_gear"),
        (codes.make("ST", 1), "set"),
        ("x", "not_gear"),
        ("", "not_gear"),
        (codes.make("BG", 7777), "unknown"),
        ("Rented 14/b", "unknown"),
    ],
)
def test_what_is_no_piece(farm: Farm, text: str, wanted: str) -> None:
    own = begun(farm)
    assert outcomes(scanned(own, farm, text)) == [wanted]
    assert not seen_lines(own)
    assert own.unknown.count() == (wanted == "unknown")


def test_an_unknown_label_is_kept_once_with_who_and_when(farm: Farm) -> None:
    own = begun(farm)
    at = timezone.now() + timedelta(seconds=1)
    take(own, [Scan(new_id(), "rented 14", at)], farm.users["rosa"], at)
    (second,) = scanned(own, farm, " rented 14\r\n", by="mo")
    assert second.outcome == "unknown" and second.before.by == farm.users["rosa"]
    (row,) = own.unknown.all()
    assert (row.text, row.by, row.at) == ("rented 14", farm.users["rosa"], at)


def test_the_surprises(farm: Farm) -> None:
    out, missing, gone = farm.gear("bag", 3, days_ago=1)
    (other,) = farm.gear("bag", store="B", days_ago=1)
    hand_out(farm, out)
    told(farm, missing, "missed")
    told(farm, gone, "written_off", circumstance="lost")
    own = begun(farm)
    assert outcomes(scanned(own, farm, out, missing, gone, other)) == ["seen"] * 4
    found = [standing(own, tag) for tag in (out, missing, gone, other)]
    assert found == ["out", "missing", "gone", "other_store"]
    assert sums(own)["surprises"] == sums(own)["open"] == 4


def test_gear_handed_out_meanwhile_is_not_accused(farm: Farm) -> None:
    unseen, seen, moved = farm.gear("bag", 3, days_ago=1)
    own = begun(farm)
    scanned(own, farm, seen)
    for tag in (unseen, seen):
        hand_out(farm, tag)
    told(farm, moved, "moved", to="B")
    assert [standing(own, tag) for tag in (unseen, seen, moved)] == ["elsewhere", "seen", "elsewhere"]
    assert not sums(own)["open"]
    told(farm, unseen, "returned")
    assert standing(own, unseen) == "left"


def test_a_piece_that_was_seen_went_out_and_lies_here_again_by_no_book(farm: Farm) -> None:
    (tag,) = farm.gear("bag", days_ago=1)
    own = begun(farm)
    scanned(own, farm, tag)
    hand_out(farm, tag)
    assert outcomes(scanned(own, farm, tag)) == ["seen"]
    assert standing(own, tag) == "out" and seen_lines(own) == 2


def test_an_old_label_finds_its_piece(farm: Farm) -> None:
    (old,) = farm.gear("bag", days_ago=1)
    told(farm, old, "retagged", tag=codes.make("BG", 4444))
    own = begun(farm)
    (taken,) = scanned(own, farm, old)
    assert taken.outcome == "seen" and taken.line and taken.line.tag == codes.make("BG", 4444)


def test_a_scan_taken_back(farm: Farm) -> None:
    (tag,) = farm.gear("bag", days_ago=1)
    own, now = begun(farm), timezone.now()
    known, unknown = Scan(new_id(), tag, now), Scan(new_id(), "Rented 3", now)
    take(own, [known, unknown], farm.users["rosa"], now)
    assert unscan(own, known.id, farm.users["mo"], timezone.now()) == tag
    assert unscan(own, unknown.id, farm.users["rosa"], timezone.now()) == "Rented 3"
    assert standing(own, tag) == "left" and not own.unknown.exists()
    with pytest.raises(NotDone):
        unscan(own, known.id, farm.users["rosa"], timezone.now())
    assert outcomes(take(own, [known], farm.users["rosa"], timezone.now())) == ["undone"]
    assert outcomes(scanned(own, farm, tag)) == ["seen"] and standing(own, tag) == "seen"


def test_after_the_end_only_what_was_scanned_before_it_comes_in(farm: Farm) -> None:
    early, late = farm.gear("bag", 2, days_ago=1)
    own, before = begun(farm), timezone.now()
    begin.end(own, farm.users["rosa"], timezone.now(), "too dark to look on")
    assert outcomes(scanned(own, farm, early, at=before)) == ["seen"]
    assert outcomes(scanned(own, farm, late, "rented 9")) == ["ended", "ended"]
    assert seen_lines(own) == 1 and not UnknownTag.objects.exists()


def test_a_scan_of_another_day_counts_as_of_the_beginning(farm: Farm) -> None:
    (tag,) = farm.gear("bag", days_ago=9)
    own = begun(farm)
    scanned(own, farm, tag, at=timezone.now() - timedelta(days=3))
    assert Entry.objects.get(act=own.pk).happened_at >= own.begun_at
    assert standing(own, tag) == "seen"


def test_lines_that_another_client_sends_count_as_well(farm: Farm, post) -> None:
    """Through the API: the act is the stocktake."""
    (tag,) = farm.gear("bag", days_ago=1)
    own = begun(farm)
    (answer,) = post(farm.entry("seen", item=tag, act=str(own.pk)))
    assert answer["outcome"] == "recorded" and standing(own, tag) == "seen"


def test_three_thousand_pieces_cost_no_more_queries(farm: Farm) -> None:
    def asked(own: Stocktake) -> int:
        with CaptureQueriesContext(connection) as queries:
            stocktaking.count(own)
        return len(queries)

    few = farm.gear("bag", 3, days_ago=1)
    own = begun(farm)
    scanned(own, farm, *few, "rented 1")
    small = asked(own)
    begin.end(own, farm.users["rosa"], timezone.now(), "a test")
    many = farm.gear("clippers", 3000, days_ago=1)
    big = begun(farm)
    assert big.expected.count() == 3003
    with CaptureQueriesContext(connection) as queries:
        scanned(big, farm, *many[:2])
    assert len(queries) < 40
    assert asked(big) <= small <= 6
