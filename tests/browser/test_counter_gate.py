"""The gate at the counter, by scanner and keys: what stays here, why, what instead, and who lets it go all the same."""

from collections.abc import Callable
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from equipment.actions.set_rule import set_rule
from equipment.domain import codes, fault_tags
from equipment.models import Attempt, Entry, ItemState
from tests.cast import Farm
from tests.counter import Counter, where
from tests.farm import Post

pytestmark = pytest.mark.django_db(transaction=True)
WIPED = {"method": "sterilise", "recipe": "clippers_alcohol", "seconds": 60, "each_scanned": True}
SET = codes.make(codes.SET, 1)
SMALL = """() => [...document.querySelectorAll('.counter :is(button, a, input)')]
  .filter((one) => one.getClientRects().length > 0)
  .filter((one) => one.getBoundingClientRect().height < 64)
  .map((one) => one.outerHTML)"""
TOO_WIDE = "document.documentElement.scrollWidth > document.documentElement.clientWidth"


@pytest.fixture
def sterile(ruled_farm: Farm, post: Post) -> Callable[[int], list[str]]:
    """Pairs of clippers that were wiped this morning."""

    def made(count: int) -> list[str]:
        tags = ruled_farm.gear("clippers", count, days_ago=1)
        answers = post(*(ruled_farm.entry("cleaned", item=tag, detail=WIPED) for tag in tags))
        assert {answer["outcome"] for answer in answers} == {"recorded"}
        return tags

    return made


def found(farm: Farm, post: Post, tag: str, fault: str) -> None:
    assert post(farm.entry("fault_found", item=tag, detail={"fault": fault}))[0]["outcome"] == "recorded"


def looking_holds(farm: Farm) -> None:
    """The officer decides: no clippers go out before they were looked over."""
    set_rule(
        farm.users["olga"], "inspection clippers_daily", {"holds": True}, "two came out blunt", timezone.now()
    )


def as_officer(at_counter: Counter, farm: Farm, sign_in: Callable[[Page, Any], None]) -> None:
    """Olga signs in at the same counter."""
    at_counter.settle()
    sign_in(at_counter.page, farm.users["olga"])
    at_counter.page.goto("/counter/")
    at_counter.ready()


def test_a_morning_at_the_gate(
    ruled_farm: Farm,
    farm: Farm,
    post: Post,
    sterile: Callable[[int], list[str]],
    at_counter: Counter,
    sign_in: Callable[[Page, Any], None],
) -> None:
    """A worn spring, one not sterile, one not looked over: refused, the last let go by the officer; a ladder never."""
    farm.plan("red", "N4")
    worn, overdue, good = sterile(3)
    (raw,), (ladder,) = farm.gear("clippers", days_ago=2), farm.gear("ladder")
    found(farm, post, worn, "clippers_worn_spring")
    found(farm, post, ladder, "ladder_cracked_stile")
    post(farm.entry("handed_out", item=overdue, picker=farm.badges["cy"]))  # not for anybody to take instead

    at_counter.scan_all(farm.badges["ana"], worn)
    at_counter.says("no", "Stays here", worn, "Worn spring, found", f"Take {good} instead.")
    at_counter.scan_all("set_aside")
    at_counter.says("yes", "On the bench", worn)
    assert Entry.objects.filter(verb="fault_found", item__state__tag=worn).count() == 1
    at_counter.scan_all(good)
    at_counter.says("yes", "Clippers for Ana", "Look it over first")
    at_counter.scan_all("all_good")
    at_counter.says("yes", "Looked over: all good", good)
    assert Entry.objects.get(verb="inspected").detail["checklist"] == "clippers_daily"

    at_counter.scan_all(farm.badges["ben"], raw)
    at_counter.says(
        "no", "Stays here", "not sterile since", "never done yet", "Dip it first", "No other fit one"
    )
    post(farm.entry("returned", item=overdue))
    post(farm.entry("cleaned", item=overdue, detail=WIPED))
    looking_holds(farm)
    at_counter.scan_all(overdue)
    at_counter.says("no", "Stays here", "its inspection (Clippers, before they go out) is due")
    at_counter.scan_all("let_go")
    at_counter.says("no", "It stays here", "The safety officer may let it go with a written why.")

    as_officer(at_counter, farm, sign_in)
    page = at_counter.page
    at_counter.scan_all(farm.badges["ben"], overdue)
    at_counter.says("no", "Stays here")
    page.keyboard.press("F12")
    at_counter.says("partial", "Let it go?", "its inspection (Clippers, before they go out) is due")
    expect(page.get_by_label(f"Why may {overdue} go out all the same?")).to_be_focused()
    page.keyboard.type("Looked at with Ben, the sheet is lost", delay=5)
    page.keyboard.press("Enter")
    at_counter.says("yes", "Let go: Clippers for Ben", overdue)
    assert where(overdue) == ("picker", "Ben")
    entry = Entry.objects.select_related("written_note").get(verb="handed_out", picker=farm.pickers["ben"])
    assert entry.detail["overridden"] == entry.detail["verdict"] == ["inspection_due"]
    assert (entry.by, entry.written_note.text) == (
        farm.users["olga"],
        "Looked at with Ben, the sheet is lost",
    )

    at_counter.scan_all(farm.crews["red"].pk, ladder, "let_go")
    at_counter.says("no", "It stays here", "Nobody may let it go before it is mended.")
    expect(page.locator(".let-go")).to_be_hidden()
    assert where(ladder)[0] == "bench"
    assert set(Attempt.objects.values_list("subject", flat=True)) == {worn, raw, overdue, ladder}


def test_the_form_asks_for_a_why_and_lapses_with_the_next_scan(
    ruled_farm: Farm, farm: Farm, sterile: Any, at_counter: Counter, sign_in: Any
) -> None:
    first, second = sterile(2)
    looking_holds(farm)
    as_officer(at_counter, farm, sign_in)
    page, form = at_counter.page, at_counter.page.locator(".let-go")
    at_counter.scan_all("let_go")
    at_counter.says("no", "Nothing to let go")
    at_counter.scan_all(farm.badges["ana"], first, "let_go")
    expect(form.get_by_label(f"Why may {first} go out all the same?")).to_be_focused()
    page.keyboard.press("Enter")  # nothing was typed: the field asks for it
    expect(form).to_be_visible()
    page.keyboard.type("because", delay=90)
    at_counter.scan_all(second)  # as a scanner types it, into the field
    expect(form).to_be_hidden()
    at_counter.says("no", "Stays here", second)
    page.get_by_role("button", name="Let it go all the same").click()
    expect(form.get_by_label("Why may")).to_have_value("")
    form.get_by_role("button", name="No, it stays here").click()
    expect(form).to_be_hidden()
    at_counter.scan_all(farm.badges["ben"], "let_go")  # another stands here now
    at_counter.says("no", "Nothing to let go")
    assert not Entry.objects.filter(verb="handed_out").exists()


def test_set_aside_asks_what_is_wrong_and_a_digit_answers(
    ruled_farm: Farm, farm: Farm, sterile: Any, at_counter: Counter
) -> None:
    """Given, and then the spring is seen: it never left the counter."""
    (tag,) = sterile(1)
    at_counter.scan_all("set_aside")
    at_counter.says("no", "Which piece?")
    at_counter.scan_all(farm.badges["ana"], tag)
    at_counter.page.keyboard.press("F10")
    at_counter.says("partial", "What is wrong with it?", tag)
    choices = at_counter.page.locator(".choices")
    expect(choices).to_contain_text("Worn spring")
    at_counter.page.keyboard.press("0")
    expect(choices).to_contain_text("Hurt someone")
    at_counter.page.keyboard.press("0")
    expect(choices).to_contain_text("Worn spring")
    at_counter.page.keyboard.press("4")
    at_counter.says("yes", "Written down: Blunt", "Set aside")
    expect(choices).to_be_hidden()
    assert where(tag) == ("bench", None)
    at_counter.scan_all("undo")
    assert where(tag) == ("picker", "Ana")
    assert ItemState.objects.get(tag=tag).reasons == ["already_out"]


def test_a_fault_s_tag_says_it_at_once(
    ruled_farm: Farm, farm: Farm, sterile: Any, at_counter: Counter
) -> None:
    one, other = sterile(2)
    blunt, dirty = fault_tags.code("clippers_blunt"), fault_tags.code("dirty")
    at_counter.scan_all(blunt)
    at_counter.says("no", "Which piece?")
    at_counter.scan_all(one, fault_tags.code("bag_hole"))
    at_counter.says("no", "Not on a piece like this", "“Hole” is no fault")
    at_counter.scan_all(blunt)
    at_counter.says("yes", "Written down: Blunt", one)
    at_counter.scan_all(farm.badges["ana"], one)
    at_counter.says("no", "Stays here", "Blunt, found", f"Take {other} instead.")
    at_counter.scan_all(other, dirty)
    at_counter.says("yes", "Written down: Dirty", "washed")
    assert (where(one)[0], where(other)) == ("bench", ("picker", "Ana"))


def test_faults_on_return_by_one_more_key_or_scan(
    ruled_farm: Farm, farm: Farm, post: Post, sterile: Any, at_counter: Counter
) -> None:
    one, two = sterile(2)
    bag, gloves = farm.gear("bag")[0], farm.gear("gloves")[0]
    ana, dirty = farm.badges["ana"], fault_tags.code("dirty")
    post(*(farm.entry("handed_out", item=tag, picker=ana) for tag in (one, two, bag, gloves)))
    at_counter.scan_all("take_back", one)
    at_counter.says("yes", "Back: Clippers", "Ana still owes 3")
    expect(at_counter.page.locator(".choices")).to_contain_text(f"Something wrong with {one}?")
    at_counter.page.keyboard.press("1")
    at_counter.says("yes", "Written down: Worn spring", one)
    at_counter.scan_all(two, dirty, bag, dirty)  # the same tag twice within a moment, on two pieces
    at_counter.says("yes", "Written down: Dirty", bag)
    at_counter.scan_all(gloves, fault_tags.code("wet"))
    at_counter.says("yes", "Written down: Wet", "hang it up to dry")
    at_counter.page.keyboard.type("ana", delay=90)  # letters still find people
    expect(at_counter.page.locator("#find")).to_have_value("ana")
    faults = Entry.objects.filter(verb="fault_found").order_by("position")
    assert [(e.item.state.tag, e.detail["fault"]) for e in faults.select_related("item__state")] == [
        (one, "clippers_worn_spring"),
        (two, "dirty"),
        (bag, "dirty"),
        (gloves, "wet"),
    ]
    due = {
        each["name"]: each["cause"] for each in ItemState.objects.get(tag=bag).due if each["what"] == "clean"
    }
    assert due["wash"] == "dirty" and ItemState.objects.get(tag=gloves).wet
    assert where(one)[0] == "bench"


def test_all_good_lets_what_was_only_not_looked_at_go(
    ruled_farm: Farm, farm: Farm, sterile: Any, at_counter: Counter
) -> None:
    (tag,), (goggles,) = sterile(1), farm.gear("toolbox")
    looking_holds(farm)
    at_counter.page.reload()
    at_counter.ready()
    at_counter.scan_all(farm.badges["ana"], tag)
    at_counter.says("no", "Stays here")
    at_counter.page.keyboard.press("F1")
    at_counter.says("yes", "Looked over: all good", "Scan it again")
    at_counter.scan_all(tag)
    at_counter.says("yes", "Clippers for Ana")
    at_counter.scan_all(goggles, "all_good")
    at_counter.says("no", "No short check")


def test_an_unfit_piece_of_a_set_is_named_with_why_and_what_instead(
    ruled_farm: Farm, farm: Farm, post: Post, sterile: Any, at_counter: Counter
) -> None:
    good, spare = sterile(2)
    (bag,) = farm.gear("bag")
    post(*(farm.entry("packed", item=tag, detail={"set": SET}) for tag in (bag, good)))
    found(farm, post, good, "clippers_worn_spring")
    at_counter.scan_all(farm.badges["ana"], SET)
    at_counter.says("partial", "Set for Ana, not whole", "Worn spring, found", f"Take {spare} instead.")
    assert (where(bag), where(good)[0]) == (("picker", "Ana"), "bench")


@pytest.mark.parametrize("width", [390, 1280])
def test_what_it_asks_is_accessible_and_fits(
    width: int,
    ruled_farm: Farm,
    farm: Farm,
    sterile: Any,
    at_counter: Counter,
    sign_in: Any,
    axe: Callable[[Page], None],
) -> None:
    (tag,), (raw,), (ladder,) = sterile(1), farm.gear("clippers"), farm.gear("ladder")
    page = at_counter.page
    as_officer(at_counter, farm, sign_in)
    page.set_viewport_size({"width": width, "height": 800})

    def check() -> None:
        at_counter.settle()
        page.wait_for_timeout(250)
        axe(page)
        assert page.evaluate(SMALL) == []
        assert not page.evaluate(TOO_WIDE)
        expect(at_counter.answer).to_be_in_viewport()

    at_counter.scan_all(farm.badges["ana"], raw)
    check()
    for scanned in ("let_go", ladder, "set_aside", "take_back", fault_tags.code("wet"), tag):
        at_counter.scan(scanned)
        check()
