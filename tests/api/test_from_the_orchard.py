"""What phones send when they come back to the line: told twice, too late, out of order, by wrong clocks. All of it is
recorded; what contradicts waits in To settle in plain words, and each way that is offered there closes it."""

from collections.abc import Callable
from datetime import timedelta
from random import Random
from typing import Any

import pytest
from django.core.management import call_command
from django.utils import timezone

from equipment.actions.writing import new_id
from equipment.models import Discrepancy, Entry, ItemState, KeptEntry
from tests.cast import Farm
from tests.farm import Post
from tests.orchards import a_phone, acts_of, choices, hours, page, settle, swap, told, waiting, where

MIX = {"recipe": "clippers_daily_bleach", "litres": 10, "product_ml": 1000}


@pytest.fixture
def out(farm: Farm, post: Post) -> tuple[str, str]:
    """A bag that Ana has since the morning, and a spare in the red crew's box."""
    hers, spare = farm.gear("bag", 2, days_ago=1)
    morning = {"at": hours(8)}
    answers = told(
        farm,
        post,
        farm.entry("handed_out", item=hers, picker=farm.badges["ana"], **morning),
        farm.entry("handed_out", item=spare, crew=farm.crews["red"].pk, **morning),
        name="rosa",
    )
    assert answers == ["recorded", "recorded"]
    return hers, spare


def ana(farm: Farm) -> tuple[str, int, str]:
    return "picker", farm.pickers["ana"].pk, farm.crews["red"].pk


def box(farm: Farm) -> tuple[str, None, str]:
    return "crew", None, farm.crews["red"].pk


# Two phones record the same swap


@pytest.fixture
def twice(farm: Farm, post: Post, out: tuple[str, str]) -> tuple[str, str]:
    for number, minutes in enumerate((0, 3)):
        entries = swap(farm, *out, "ana", hours(4) + timedelta(minutes=minutes))
        phone = a_phone(f"Phone {number}")
        assert told(farm, post, *entries, device=str(phone.pk)) == ["recorded"] * 3
    return out


def test_a_swap_told_by_two_phones_is_one_swap_and_two_lines_to_settle(
    farm: Farm, twice: tuple[str, str]
) -> None:
    broken, spare = twice
    assert (where(broken), where(spare)) == (box(farm), ana(farm))
    assert waiting() == ["already_out", "already_out"]
    shown = page(farm)
    assert "“Passed on from Ana to Red crew.” But by the book it was out with somebody" in shown
    assert "“Passed on from Red crew to Ana, Red crew.” But by the book it was out with somebody" in shown
    assert "Phone 1" in shown
    assert "It was so. The book stands: it is with Ana, Red crew." in shown


WAYS: dict[str, Callable[[Farm], Any]] = {
    "so_it_was": ana,
    "struck": ana,
    "came_back": lambda farm: ("store", None, None),
}


@pytest.mark.parametrize("way", WAYS)
def test_each_way_closes_it(way: str, farm: Farm, twice: tuple[str, str]) -> None:
    _, spare = twice
    assert choices(farm) == ["so_it_was", "struck", "came_back"] * 2
    row = Discrepancy.objects.get(item__state__tag=spare)
    assert "Settled, and written in the book." in settle(farm, way, item__state__tag=spare, note="asked both")
    assert waiting() == ["already_out"]  # that of the broken one
    assert where(spare) == WAYS[way](farm)
    correction = {"so_it_was": [], "struck": ["reversed"], "came_back": ["returned"]}[way]
    assert acts_of(row.entry_id) == [*correction, "settled"]
    call_command("verify_book", verbosity=0)


# A spare that the book has in the store


@pytest.fixture
def left_behind(farm: Farm, post: Post, out: tuple[str, str]) -> str:
    """Nobody scanned it out in the morning; the supervisor gave it to Ana at ten."""
    (spare,) = farm.gear("bag", days_ago=1)
    given = swap(farm, out[0], spare, "ana", hours(4))
    assert told(farm, post, *given, device=str(a_phone().pk)) == ["recorded"] * 3
    return spare


def test_a_spare_that_lay_in_the_store_by_the_book(farm: Farm, left_behind: str) -> None:
    assert where(left_behind) == ana(farm)
    assert waiting() == ["not_out"]
    assert "“Passed on from Red crew to Ana, Red crew.” But by the book it was not out." in page(farm)


def test_it_explains_itself_when_the_counters_queue_comes(farm: Farm, post: Post, left_behind: str) -> None:
    scanned = farm.entry("handed_out", item=left_behind, crew=farm.crews["red"].pk, at=hours(7), queued=True)
    assert told(farm, post, scanned, name="rosa") == ["recorded"]
    assert (waiting(), where(left_behind)) == ([], ana(farm))


@pytest.mark.parametrize(
    ("way", "place"), [("so_it_was", "picker"), ("struck", "store"), ("nobody_has_it", "missing")]
)
def test_each_way_closes_that_too(way: str, place: str, farm: Farm, left_behind: str) -> None:
    assert choices(farm) == ["so_it_was", "struck", "nobody_has_it"]
    settle(farm, way)
    assert (waiting(), where(left_behind)[0]) == ([], place)


# A fault on a piece that was returned earlier


@pytest.fixture
def returned(farm: Farm, post: Post, out: tuple[str, str]) -> tuple[str, str]:
    """Ana went home at nine and gave her bag back; the phone tells at ten that it broke."""
    assert told(farm, post, farm.entry("returned", item=out[0], at=hours(5)), name="rosa") == ["recorded"]
    swapped = swap(farm, *out, "ana", hours(4))
    assert told(farm, post, *swapped, device=str(a_phone().pk)) == ["recorded"] * 3
    return out


def test_a_fault_on_what_was_returned_is_a_fault_and_the_swap_contradicts(
    farm: Farm, returned: tuple[str, str]
) -> None:
    state = ItemState.objects.get(tag=returned[0])
    assert state.fold["state"]["faults"][0]["fault"] == "bag_hole"
    assert waiting() == ["not_out"]
    shown = page(farm)
    assert "“Passed on from Ana to Red crew.” But by the book it was not out." in shown
    assert "Came back to Store A." in shown  # what went before it


@pytest.mark.parametrize(
    ("way", "place"), [("so_it_was", "crew"), ("struck", "store"), ("nobody_has_it", "missing")]
)
def test_and_each_way_closes_it(way: str, place: str, farm: Farm, returned: tuple[str, str]) -> None:
    settle(farm, way, name="olga")
    state = ItemState.objects.get(tag=returned[0])
    assert (waiting(), state.fold["state"]["place"]) == ([], place)
    assert state.fold["state"]["faults"]  # the hole is there, whoever had it


# A dip before its bath


@pytest.mark.parametrize("together", [True, False])
def test_a_dip_that_comes_before_its_bath(together: bool, ruled_farm: Farm, post: Post) -> None:
    farm = ruled_farm
    (tag,) = farm.gear("clippers", days_ago=1)
    told(farm, post, farm.entry("handed_out", item=tag, crew=farm.crews["red"].pk, at=hours(8)), name="rosa")
    bath, phone = str(new_id()), str(a_phone().pk)
    dip = farm.entry(
        "cleaned",
        item=tag,
        bath=bath,
        at=hours(3),
        detail={"method": "sterilise", "recipe": "clippers_daily_bleach", "seconds": 600},
        device_seq=2,
    )
    mixed = farm.entry("mixed", bath=bath, detail=MIX, at=hours(4), device_seq=1)
    if together:
        assert told(farm, post, dip, mixed, device=phone) == ["known", "recorded"]
    else:
        assert told(farm, post, dip, device=phone) == ["unknown_bath"]
        shown = page(farm)
        assert "No bath has this number." in shown
        assert f"{tag}: Sterilised" in shown
        assert told(farm, post, mixed, device=phone) == ["recorded"]
    cleaned = ItemState.objects.get(tag=tag)
    assert [each["bath"] for each in cleaned.fold["state"]["cleanings"]] == [bath]
    assert cleaned.void == {}
    assert not KeptEntry.objects.waiting().exists()


# Clocks

OFF = {
    "an hour ahead": timedelta(hours=1),
    "an hour behind": timedelta(hours=-1),
    "a day ahead": timedelta(days=1),
    "a day behind": timedelta(days=-1),
    "ten years ahead": timedelta(days=3652),
    "ten years behind": timedelta(days=-3652),
}


@pytest.mark.parametrize("off", OFF)
def test_a_phone_whose_clock_is_wrong(off: str, farm: Farm, post: Post, out: tuple[str, str]) -> None:
    now, wrong = timezone.now(), OFF[off]
    happened = now - timedelta(hours=4)
    entries = swap(farm, *out, "ana", happened + wrong)
    sent = {"device": str(a_phone().pk), "sent_at": (now + wrong).isoformat()}
    assert told(farm, post, *entries, **sent) == ["recorded"] * 3
    line = Entry.objects.get(pk=entries[0]["id"])
    assert abs(line.happened_at - happened) < timedelta(minutes=1)
    assert line.claimed_at == happened + wrong
    assert (waiting(), where(out[1])) == ([], ana(farm))
    # It is put right between, and the same is sent again: known, and nothing moves.
    assert told(farm, post, *entries, device=sent["device"]) == ["known"] * 3
    assert Entry.objects.get(pk=line.pk).happened_at == line.happened_at


def test_a_clock_set_back_at_noon_keeps_the_order_of_the_phone(
    farm: Farm, post: Post, out: tuple[str, str]
) -> None:
    phone, red = str(a_phone().pk), farm.crews["red"].pk
    before = swap(farm, *out, "ana", hours(2), first=1)  # by the clock that runs ahead
    after = farm.entry(
        "handed_out",
        item=out[1],
        crew=red,
        detail={"from": farm.badges["ana"]},
        at=hours(3),  # later, by the clock that was set back an hour and more
        device_seq=4,
    )
    shuffled = Random(3).sample([*before, after], 4)
    assert told(farm, post, *shuffled, device=phone) == ["recorded"] * 4
    assert (waiting(), where(out[1])) == ([], box(farm))


# Sent twice, sent in another order


def story(farm: Farm, out: tuple[str, str]) -> list[dict[str, Any]]:
    red, start = farm.crews["red"].pk, hours(6)
    minute = timedelta(minutes=1)
    return [
        farm.entry("arrived", crew=red, block="N4", at=start, device_seq=1),
        *swap(farm, *out, "ana", start + 30 * minute, first=2),
        farm.entry("stopped", crew=red, detail={"cause": "rain"}, at=start + 60 * minute, device_seq=5),
        farm.entry("arrived", crew=red, block="S2", at=start + 90 * minute, device_seq=6),
        farm.entry("left", crew=red, at=start + 200 * minute, device_seq=7),
    ]


def shown(farm: Farm, out: tuple[str, str]) -> Any:
    farm.crews["red"].refresh_from_db()
    visits = farm.crews["red"].visits.values_list("block", "cause", "at", "until")
    return [where(tag) for tag in out], list(visits), waiting()


@pytest.mark.parametrize("seed", range(4))
def test_batches_sent_twice_and_shuffled_come_to_the_same(
    seed: int, farm: Farm, post: Post, out: tuple[str, str]
) -> None:
    phone, entries = str(a_phone().pk), story(farm, out)
    lot = Random(seed).sample([*entries, *entries], 2 * len(entries))
    outcomes = [told(farm, post, *lot[start : start + 3], device=phone) for start in range(0, len(lot), 3)]
    assert sorted(each for answers in outcomes for each in answers) == ["known"] * 7 + ["recorded"] * 7
    states, visits, open_ones = shown(farm, out)
    assert (states, open_ones) == ([box(farm), ana(farm)], [])
    assert [(block, cause) for block, cause, *_ in visits] == [("N4", "rain"), ("S2", "left")]
    assert Entry.objects.filter(device=phone).count() == 7
    call_command("verify_book", verbosity=0)


# A page of another version


def test_words_that_nobody_knows_here_are_passed_over_in_a_note_alone(
    farm: Farm, post: Post, out: tuple[str, str]
) -> None:
    entry = farm.entry("missed", item=out[0], detail={"colour": "green"}, page="0.2.9", v=1)
    assert [answer["code"] for answer in post(entry)] == ["malformed"]
    assert told(farm, post, entry) == ["recorded"]
    assert Entry.objects.get(pk=entry["id"]).detail == {}
    assert told(farm, post, entry) == ["known"]
    assert told(farm, post, entry | {"page": "0.3.0"}) == ["id_reused"]


def test_an_older_version_of_a_detail_is_read_in_the_words_of_today(
    farm: Farm, post: Post, out: tuple[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from dataclasses import replace

    from equipment.domain.verbs import VERBS

    def renamed(detail: dict[str, Any]) -> dict[str, Any]:
        return {"fault": detail.pop("what"), **detail}

    newer = replace(VERBS["fault_found"], older=(renamed,))
    assert (newer.version, VERBS["fault_found"].version) == (2, 1)
    monkeypatch.setitem(VERBS, "fault_found", newer)
    old = farm.entry("fault_found", item=out[0], detail={"what": "bag_hole"})
    new = farm.entry("fault_found", item=out[0], detail={"fault": "dirty"}, v=2)
    senseless = farm.entry("fault_found", item=out[0], detail={"colour": "green"})
    assert told(farm, post, old, new, senseless) == ["recorded", "recorded", "malformed"]
    details = Entry.objects.filter(verb="fault_found").order_by("position").values_list("detail", flat=True)
    assert list(details) == [{"fault": "bag_hole"}, {"fault": "dirty"}]


# A revoked phone


def test_what_a_revoked_phone_sends_waits_for_an_officer(
    farm: Farm, post: Post, out: tuple[str, str]
) -> None:
    phone = a_phone(revoked_at=timezone.now())
    entries = swap(farm, *out, "ana", hours(4))
    answers = post(*entries, name="sam", gate="note", device=str(phone.pk))
    assert {(a["outcome"], a["code"]) for a in answers} == {("refused", "no_right")}
    assert {a["say"] for a in answers} == {
        "This phone was taken off the list. What it wrote is kept, and waits for the safety officer."
    }
    assert not Entry.objects.filter(device=phone).exists()
    assert KeptEntry.objects.waiting().filter(revoked=True).count() == 3
    assert told(farm, post, *entries, device=str(phone.pk)) == ["no_right"] * 3  # sent again: kept once
    assert KeptEntry.objects.count() == 3
    # That its author takes a crew over meanwhile lets none of it in.
    own = farm.entry("taken_over", crew=farm.crews["blue"].pk)
    assert told(farm, post, own) == ["recorded"]
    assert KeptEntry.objects.waiting().count() == 3
