"""Sanitation: baths and what was done in them, what counts and what not, what was written down late."""

from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.utils import timezone

from equipment.actions.writing import Pen, new_id
from equipment.models import Entry, Label
from equipment.models.registers import Line, heads_now, sanitation
from equipment.models.registers import _lateness as lateness
from tests.cast import Farm
from tests.mornings import handed
from tests.printing import at, keeps_its_word, lines, rows, sums, take_back, write

DAY = 2
# 2 L of a 5 % product made up to 20 L: 0.5 %, the strength that the recipe asks for.
MIXING = {
    "recipe": "clippers_daily_bleach",
    "litres": 20,
    "product_ml": 2000,
    "strength_pct": 5,
    "product_lot": "K7",
    "product_expires": "2031-03-01",
}
DIP = {"method": "sterilise", "seconds": 630, "each_scanned": True}
WIPE = {"method": "sterilise", "recipe": "clippers_alcohol", "seconds": 45, "each_scanned": False}


@pytest.fixture
def clippers(ruled_farm: Farm) -> list[str]:
    return ruled_farm.gear("clippers", 4, days_ago=20)


def bath(farm: Farm, clock: str = "16:00", **mixing: Any) -> UUID:
    own = new_id()
    write(farm, "mixed", at(DAY, clock), bath=own, detail={**MIXING, **mixing}, by="mo")
    return own


def dip(farm: Farm, tag: str, own: UUID | None, clock: str = "16:20", **how: Any) -> Entry:
    return write(farm, "cleaned", at(DAY, clock), tag, bath=own, detail={**DIP, **how}, by="mo")


def strip(farm: Farm, own: UUID, clock: str, ppm: float) -> Entry:
    return write(farm, "tested", at(DAY, clock), bath=own, detail={"ppm": ppm, "diluted": 10}, by="mo")


def wiped(farm: Farm, tags: list[str], clock: str = "10:00", recorded: str = "", by: str = "sam") -> None:
    """Told of as a whole crew, in one act."""
    pen = Pen(farm.users[by], "A", at(DAY, recorded or clock))
    items, act, crew = Label.objects.filter(pk__in=tags), new_id(), farm.crews["red"].pk
    common = {"crew": crew, "act": act, "happened_at": at(DAY, clock), "detail": WIPE}
    drafts = [pen.draft("cleaned", item=label.item_id, **common) for label in items]
    assert all(outcome.recorded for outcome in pen.record(drafts, "note").outcomes)


def result(tag: str) -> str:
    (row,) = [row for row in rows("sanitation") if row["piece"] == f"Clippers {tag}"]
    return row["result"]


def test_a_bath_from_its_mixing_to_its_emptying(ruled_farm: Farm, clippers: list[str]) -> None:
    own = bath(ruled_farm)
    strip(ruled_farm, own, "16:05", 500)
    dip(ruled_farm, clippers[0], own)
    write(ruled_farm, "emptied", at(DAY, "17:00"), bath=own, detail={"where": "sewer"}, by="mo")
    mixed, strength, dipped, emptied = rows("sanitation")
    assert (mixed["what"], strength["what"]) == ("Bath mixed", "Strength test")
    assert (dipped["what"], emptied["what"]) == ("Sterilised | each scanned", "Bath emptied")
    place = Entry.objects.get(verb="mixed")
    assert {row["bath"] for row in rows("sanitation")} == {f"A {place.position}"}
    assert mixed["product"] == (
        "Clippers, every day: bleach 0.5 % | Household bleach (sodium hypochlorite) | lot K7 | good until 1 Mar 2031"
    )
    # 2000 mL in 20 L is one tenth; of 5 % that is 0.5 %, and 1 % is 10 000 ppm.
    assert mixed["figures"] == "20 L of bath | 2000 mL of product of 5 % | 18 L of water | 5000 ppm"
    assert strength["figures"] == "read 500 ppm | diluted 10 times | is 5000 ppm | asked 4000 to 6500 ppm"
    assert (mixed["result"], strength["result"], dipped["result"]) == ("in order", "in order", "counts")
    assert (dipped["piece"], dipped["pieces"]) == (f"Clippers {clippers[0]}", "1")
    assert dipped["figures"] == "630 s, asked 600 s"
    assert emptied["result"] == "a toilet or drain to a septic tank or sewer"
    assert {row["by"] for row in rows("sanitation")} == {"mo"}
    assert sums("sanitation")[0] == "Baths mixed: 1. Strength tests: 1, of which 0 failed."


@pytest.mark.parametrize("lot", ["007", "2026-06-01", "1e3", "50 %(off)s <b>", "NaN"])
def test_a_lot_stays_as_it_was_written(ruled_farm: Farm, lot: str) -> None:
    bath(ruled_farm, product_lot=lot)
    assert f"| lot {lot} |" in rows("sanitation")[0]["product"]


def test_a_powder_is_weighed(ruled_farm: Farm) -> None:
    """The example of CDC, Best Practices for Environmental Cleaning, Appendix E: 14.3 g of 35 % in a litre is 0.5 %."""
    bath(ruled_farm, recipe="surfaces_powder", litres=10, product_ml=143, strength_pct=35)
    figures = rows("sanitation")[0]["figures"]
    assert figures == "10 L of bath | 143 g of product of 35 % | 5005 ppm"


def test_why_a_dip_does_not_count(ruled_farm: Farm, clippers: list[str]) -> None:
    own = bath(ruled_farm)
    dip(ruled_farm, clippers[0], own, seconds=120)
    write(ruled_farm, "fault_found", at(DAY, "16:01"), clippers[1], detail={"fault": "dirty"})
    dip(ruled_farm, clippers[1], own)
    dip(ruled_farm, clippers[2], own, clock="18:30")
    dip(ruled_farm, clippers[3], None)
    assert result(clippers[0]) == "does not count | it acted for less than the recipe asks"
    assert result(clippers[1]) == "does not count | dirt must be washed off before a dip"
    assert result(clippers[2]) == "does not count | the bath was too old"
    assert result(clippers[3]) == "does not count | no bath and no recipe was named"
    assert "4 do not count" not in sums("sanitation")[0] and "4 do not count" in sums("sanitation")[1]


def test_a_wash_lets_the_next_dip_count(ruled_farm: Farm, clippers: list[str]) -> None:
    own = bath(ruled_farm)
    write(ruled_farm, "fault_found", at(DAY, "16:01"), clippers[0], detail={"fault": "dirty"})
    write(ruled_farm, "cleaned", at(DAY, "16:10"), clippers[0], detail={"method": "wash"})
    dip(ruled_farm, clippers[0], own)
    assert [row["result"] for row in rows("sanitation") if row["piece"]] == ["counts", "counts"]


def test_a_failed_test_voids_the_dips_before_it_but_not_on_paper_printed_earlier(
    ruled_farm: Farm, clippers: list[str]
) -> None:
    own = bath(ruled_farm)
    dip(ruled_farm, clippers[0], own)
    keeps_its_word("sanitation", lambda: strip(ruled_farm, own, "16:40", 120))
    assert result(clippers[0]) == "does not count | the bath failed its strength test"
    (test,) = [row for row in rows("sanitation") if row["what"] == "Strength test"]
    assert test["result"] == "failed"
    # The test is taken back: it was read off the wrong strip.
    pen = Pen(ruled_farm.users["mo"], "A", timezone.now())
    entry = Entry.objects.get(verb="tested")
    heads = heads_now()
    pen.record([pen.draft("reversed", bath=own, detail={"entry": str(entry.pk)})])
    assert result(clippers[0]) == "counts"
    assert [row["result"] for row in rows("sanitation", heads) if row["piece"]] == [
        "does not count | the bath failed its strength test"
    ]


def test_a_whole_crew_is_one_line_that_names_them_all(ruled_farm: Farm, clippers: list[str]) -> None:
    handed(ruled_farm, clippers, at(DAY, "05:30"))
    wiped(ruled_farm, clippers)
    (row,) = rows("sanitation")
    (line,) = lines("sanitation")
    assert (row["what"], row["piece"]) == ("Sterilised | whole crew", f"Clippers {', '.join(clippers)}")
    assert (row["pieces"], row["by"]) == ("4", "sam | Red crew")
    assert row["figures"] == "45 s, asked 30 s | 70 %"
    first = Entry.objects.filter(verb="cleaned").order_by("pk")[0]
    assert (line.entry, line.where) == (first.pk, f"A {first.position}")
    assert len(set(line.entries)) == 4
    assert "4, of which 4 were told of as a whole crew" in sums("sanitation")[1]


def test_of_one_act_those_that_do_not_count_stand_apart(ruled_farm: Farm, clippers: list[str]) -> None:
    own = bath(ruled_farm)
    write(ruled_farm, "fault_found", at(DAY, "16:01"), clippers[1], detail={"fault": "dirty"})
    act = new_id()
    for tag in clippers:
        write(ruled_farm, "cleaned", at(DAY, "16:20"), tag, bath=own, act=act, detail=DIP, by="mo")
    good, bad = rows("sanitation")[1:]
    assert (good["pieces"], good["result"]) == ("3", "counts")
    assert (bad["piece"], bad["result"][:14]) == (f"Clippers {clippers[1]}", "does not count")


def test_very_many_are_several_lines(
    ruled_farm: Farm, clippers: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sanitation, "MOST_TOGETHER", 3)
    wiped(ruled_farm, clippers)
    assert [row["pieces"] for row in rows("sanitation")] == ["3", "1"]


def test_of_a_whole_crew_what_was_taken_back_is_not_counted(ruled_farm: Farm, clippers: list[str]) -> None:
    wiped(ruled_farm, clippers)
    entry = Entry.objects.filter(verb="cleaned").order_by("pk")[0]
    keeps_its_word("sanitation", lambda: take_back(ruled_farm, entry))
    (row,) = rows("sanitation")
    assert row["pieces"] == "3"


def test_what_was_recorded_late_is_marked(ruled_farm: Farm, clippers: list[str]) -> None:
    wiped(ruled_farm, clippers[:1], "09:00", recorded="10:00")
    wiped(ruled_farm, clippers[1:2], "09:00", recorded="10:01")
    wiped(ruled_farm, clippers[2:], "09:00", recorded="15:30")
    assert [row["recorded"] for row in rows("sanitation")] == ["1:00", "1:01 | late", "6:30 | late"]
    assert sums("sanitation")[2] == "Lines written in the book late: 2."


def told(own: str, done: datetime, after: timedelta, claimed: datetime | None = None) -> Any:
    """An entry of this id, recorded so long `after` it was `done`."""
    return SimpleNamespace(pk=UUID(own), happened_at=done, recorded_at=done + after, claimed_at=claimed)


def test_what_waited_on_a_phone_is_told_from_what_was_told_late() -> None:
    """The id is that of RFC 9562, appendix A.6: made on 22 February 2022 at 19:22:22 UTC."""
    own, made = "017f22e2-79b0-7cc3-98c4-dc0c0c07398f", datetime(2022, 2, 22, 19, 22, 22, tzinfo=UTC)
    minute, hours = timedelta(minutes=1), timedelta(hours=9)
    assert lateness.written_at(UUID(own)) == made
    assert lateness.lateness(told(own, made - minute, hours)) == "sent late"
    assert lateness.lateness(told(own, made - 61 * minute, hours)) == "late"
    assert lateness.lateness(told(own, made - minute, 2 * minute)) == ""
    # A phone whose clock is wrong by hours: what it claimed is compared with its own clock.
    assert lateness.lateness(told(own, made + hours, hours, claimed=made - minute)) == "sent late"
    other = str(uuid4())
    assert lateness.written_at(UUID(other)) is None and lateness.lateness(told(other, made, hours)) == "late"


def test_filters(ruled_farm: Farm, clippers: list[str]) -> None:
    own = bath(ruled_farm)
    bath(ruled_farm, "16:01")
    dip(ruled_farm, clippers[0], own)
    (bag,) = ruled_farm.gear("bag", days_ago=20)
    write(ruled_farm, "cleaned", at(DAY, "16:30"), bag, detail={"method": "wash"}, store="B")
    handed(ruled_farm, clippers[1:3], at(DAY, "05:30"))
    wiped(ruled_farm, clippers[1:3])
    assert len(lines("sanitation")) == 5
    what = [row["what"] for row in rows("sanitation", kind="clippers")]
    assert what == ["Sterilised | whole crew", "Bath mixed", "Sterilised | each scanned"], (
        "of the baths those that held clippers"
    )
    assert [row["piece"] for row in rows("sanitation", kind="bag")] == [f"Picking bag {bag}"]
    assert [row["piece"] for row in rows("sanitation", tag=clippers[0])] == ["", f"Clippers {clippers[0]}"]
    assert [row["pieces"] for row in rows("sanitation", crew=ruled_farm.crews["red"].pk)] == ["2"]
    assert [row["piece"] for row in rows("sanitation", store="B")] == [f"Picking bag {bag}"]
    assert not lines("sanitation", days=DAY - 1)


def test_a_bath_of_another_day_still_says_whether_a_dip_counts(ruled_farm: Farm, clippers: list[str]) -> None:
    own = new_id()
    write(ruled_farm, "mixed", at(DAY, "06:00"), bath=own, detail=MIXING)
    write(ruled_farm, "cleaned", at(0, "00:00"), clippers[0], bath=own, detail=DIP)
    (row,) = rows("sanitation", days=0)
    assert row["result"] == "does not count | the bath was too old" and row["bath"].startswith("A ")


def test_a_dip_in_a_bath_that_the_book_does_not_know(ruled_farm: Farm, clippers: list[str]) -> None:
    dip(ruled_farm, clippers[0], new_id(), recipe="clippers_daily_bleach")
    (row,) = rows("sanitation")
    assert (row["bath"], row["result"]) == ("", "does not count | the bath was not mixed yet")


def test_lines_are_in_order_of_time(ruled_farm: Farm, clippers: list[str]) -> None:
    for tag, clock in zip(clippers, ("16:40", "16:10", "16:30", "16:20"), strict=True):
        dip(ruled_farm, tag, bath(ruled_farm, clock), clock)
    found: list[Line] = lines("sanitation")
    assert [line.at for line in found] == sorted(line.at for line in found) and len(found) == 8


def test_its_questions_do_not_grow_with_its_lines(
    ruled_farm: Farm, clippers: list[str], django_assert_num_queries: Any
) -> None:
    """Each piece once dirty, each in a bath of its own: the most that there is to look at."""
    for asked_for, count in ((13, 1), (13, 6)):
        for number, tag in enumerate(ruled_farm.gear("clippers", count, days_ago=20)):
            own = bath(ruled_farm, f"16:0{number}")
            write(ruled_farm, "fault_found", at(DAY, "15:00"), tag, detail={"fault": "dirty"})
            dip(ruled_farm, tag, own)
        with django_assert_num_queries(asked_for):
            assert lines("sanitation")
    assert len(lines("sanitation")) == 14
