"""The To settle page: what waits, in words; who may do what about it; and what is in the book afterwards."""

from datetime import timedelta
from typing import Any

import pytest
from django.core.management import call_command
from django.utils import timezone

from crews.models import Device
from equipment.actions.register import Run, register
from equipment.actions.writing import Pen, new_id
from equipment.domain import codes
from equipment.models import Discrepancy, Entry, ItemState, KeptEntry, Kind, Membership
from tests.cast import ROLES, Farm
from tests.farm import Post
from tests.orchards import a_phone, choices, hours, page, settle, signed_in, swap, text, told, waiting

NEW = codes.make("BG", 8100)
MIX = {"recipe": "clippers_daily_bleach", "litres": 10, "product_ml": 1000}


def contradict(farm: Farm, post: Post, kind: str = "bag", store: str = "A") -> str:
    """A piece of that kind is handed to two people by two lines."""
    (tag,) = farm.gear(kind, store=store, days_ago=1)
    for who in ("ana", "ben"):
        line = farm.entry("handed_out", item=tag, picker=farm.badges[who], at=hours(5), note=f"by {who}")
        assert told(farm, post, line, name="rosa", store=store) == ["recorded"]
    return tag


def kept(farm: Farm, post: Post, **fields: Any) -> KeptEntry:
    """A note of an item that nobody knows."""
    told(farm, post, farm.entry("missed", item=NEW, **fields), name="rosa")
    return KeptEntry.objects.latest("pk")


def post_to(farm: Farm, path: str, name: str, **sent: Any) -> Any:
    return signed_in(farm, name).post(f"/settle/{path}/", sent, follow=True)


@pytest.mark.parametrize("name", ROLES)
def test_storeman_and_officer_see_it_and_the_board_leads_there(name: str, farm: Farm, post: Post) -> None:
    contradict(farm, post)
    kept(farm, post)
    may = name in ("rosa", "olga")
    assert signed_in(farm, name).get("/settle/").status_code == (200 if may else 403)
    board = text(signed_in(farm, name).get("/"))
    assert ('href="/settle/?list=open"' in board) == may
    assert ('href="/settle/?list=kept"' in board) == may


def test_an_empty_page_says_what_will_stand_there(farm: Farm) -> None:
    assert "Nothing contradicts itself in the book." in page(farm)
    assert "Everything that was told is in the book." in page(farm, "?list=kept")
    assert "Nothing has been settled of late." in page(farm, "?list=settled")
    assert "Nothing answers to that." in page(farm, "?list=open&store=A")


def test_a_contradiction_is_told_with_who_told_it_and_what_went_before(farm: Farm, post: Post) -> None:
    tag = contradict(farm, post)
    shown = page(farm)
    assert tag in shown
    assert "“Handed out to Ben, Red crew.” But by the book it was out with somebody at that time." in shown
    assert "Handed out to Ana, Red crew. Told by rosa, on A1." in shown
    assert "by ben" in shown
    assert "Does not fit (1)" in shown


def test_what_was_written_by_people_is_escaped(farm: Farm, post: Post) -> None:
    farm.pickers["ben"].name = "<b>Ben</b>"
    farm.pickers["ben"].save()
    contradict(farm, post)
    told(farm, post, {"verb": "<i>danced</i>", "item": "<u>x</u>"}, name="rosa")
    for query in ("?list=open", "?list=kept"):
        body = signed_in(farm, "rosa").get(f"/settle/{query}").content.decode()
        assert "<b>Ben" not in body
        assert "<i>danced" not in body
        assert "<u>x" not in body


def test_it_narrows_by_what_kind_store_and_age(farm: Farm, post: Post) -> None:
    bag, ladder = contradict(farm, post), contradict(farm, post, "ladder", store="B")
    told(farm, post, farm.entry("returned", item=farm.gear("gloves")[0]), name="rosa")
    assert waiting() == ["already_out", "already_out", "not_out"]

    def seen(query: str) -> set[str]:
        return {
            line.tag for line in signed_in(farm, "rosa").get(f"/settle/?list=open&{query}").context["lines"]
        }

    assert seen("kind=ladder") == {ladder}
    assert seen("store=A") >= {bag}
    assert ladder not in seen("store=A")
    assert seen("what=already_out") == {bag, ladder}
    assert seen("what=already_out&store=B") == {ladder}
    assert len(seen("age=day")) == 3
    assert seen("age=week") == seen("age=longer") == set()
    assert len(seen("what=nonsense&kind=zeppelin&age=x")) == 3


def test_kept_notes_narrow_too(farm: Farm, post: Post) -> None:
    old = kept(farm, post)
    KeptEntry.objects.filter(pk=old.pk).update(received_at=timezone.now() - timedelta(days=9))
    told(farm, post, {"verb": "danced"}, name="rosa")
    gone = a_phone(revoked_at=timezone.now())
    told(farm, post, farm.entry("left", crew=farm.crews["red"].pk), device=str(gone.pk))

    def seen(query: str) -> list[str]:
        lines = signed_in(farm, "rosa").get(f"/settle/?list=kept&{query}").context["lines"]
        return [line.row.code for line in lines]

    assert seen("") == ["unknown_item", "malformed", "no_right"]
    assert (seen("what=revoked"), seen("what=no_right"), seen("what=malformed")) == (
        ["no_right"],
        [],
        ["malformed"],
    )
    assert (seen("age=longer"), seen("age=day")) == (["unknown_item"], ["malformed", "no_right"])
    assert (seen("store=A"), seen("store=B")) == (["unknown_item", "malformed", "no_right"], [])


@pytest.mark.parametrize("which", ["open", "kept"])
def test_page_after_page_shows_each_once(which: str, farm: Farm, post: Post) -> None:
    if which == "open":
        for tag in farm.gear("bag", 53):
            told(farm, post, farm.entry("returned", item=tag), name="rosa")
    else:
        told(farm, post, *[{"verb": "danced", "item": str(n)} for n in range(53)], name="rosa")
    seen: list[str] = []
    query, client = f"?list={which}", signed_in(farm, "rosa")
    while query:
        context = client.get(f"/settle/{query}").context
        seen += [line.key if which == "open" else str(line.row.pk) for line in context["lines"]]
        query = context["next_url"]
    assert (len(seen), len(set(seen))) == (53, 53)
    assert client.get(f"/settle/?list={which}&after=nonsense").status_code == 200
    assert client.get(f"/settle/?list={which}&after=already_out:nonsense").status_code == 200


def test_its_cost_does_not_grow(farm: Farm, post: Post, django_assert_max_num_queries: Any) -> None:
    client = signed_in(farm, "rosa")
    for count in (3, 17):
        for _ in range(count):
            contradict(farm, post)
        kept(farm, post)
        with django_assert_max_num_queries(28):
            client.get("/settle/?list=open")
        with django_assert_max_num_queries(14):
            client.get("/settle/?list=kept")


# Settling


def test_the_note_says_how_one_knows_and_the_act_is_whole(farm: Farm, post: Post) -> None:
    tag = contradict(farm, post)
    assert choices(farm) == ["so_it_was", "struck", "came_back"]
    settle(farm, "came_back", note="saw it on the shelf", item__state__tag=tag)
    lines = Entry.objects.filter(item__state__tag=tag).order_by("position")
    assert [line.verb for line in lines][-2:] == ["returned", "settled"]
    returned, settled = list(lines)[-2:]
    assert returned.act == settled.act is not None
    assert settled.written_note.text == "saw it on the shelf"
    assert (settled.by.username, waiting()) == ("rosa", [])
    call_command("verify_book", verbosity=0)


def test_what_was_settled_meanwhile_is_said(farm: Farm, post: Post) -> None:
    contradict(farm, post)
    one = Discrepancy.objects.get()
    path = f"told/{one.code}/{one.entry_id}"
    assert "Settled, and written" in text(post_to(farm, path, "rosa", choice="so_it_was"))
    assert "It has been settled meanwhile" in text(post_to(farm, path, "olga", choice="struck"))
    assert "It has explained itself meanwhile." in text(post_to(farm, f"told/missing/{new_id()}", "rosa"))
    assert Entry.objects.filter(verb="settled").count() == 1


def test_no_way_but_those_that_are_offered(farm: Farm, post: Post) -> None:
    contradict(farm, post)
    one = Discrepancy.objects.get()
    for choice in ("", "passed", "not_gone", "so"):
        said = text(post_to(farm, f"told/{one.code}/{one.entry_id}", "rosa", choice=choice))
        assert "Look at the list again." in said
    assert waiting() == ["already_out"]


def test_the_way_back_is_to_the_list_and_to_no_other_site(farm: Farm, post: Post) -> None:
    contradict(farm, post)
    one = Discrepancy.objects.get()
    client, path = signed_in(farm, "rosa"), f"/settle/told/{one.code}/{one.entry_id}/"
    sent = {"choice": "x", "back": "/settle/?list=open&store=A"}
    assert client.post(path, sent)["Location"] == sent["back"]
    for bad in ("https://elsewhere.example/", "//elsewhere.example", "/settle/../gear/", ""):
        assert client.post(path, {"choice": "x", "back": bad})["Location"] == "/settle/"


def test_what_was_written_off_is_here_after_all(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag", days_ago=1)
    told(farm, post, farm.entry("written_off", item=tag, detail={"circumstance": "lost"}), name="rosa")
    told(farm, post, farm.entry("fault_found", item=tag, detail={"fault": "bag_hole"}), name="rosa")
    assert choices(farm) == ["not_gone", "struck", "so_it_was"]
    settle(farm, "not_gone")
    assert (waiting(), ItemState.objects.get(tag=tag).fold["state"]["place"]) == ([], "store")


def test_a_crew_and_a_bath_are_settled_as_well(farm: Farm, post: Post) -> None:
    parted = farm.entry("parted", crew=farm.crews["red"].pk, picker=farm.badges["cy"], at=hours(2))
    bath = str(new_id())
    mixed = [farm.entry("mixed", bath=bath, detail=MIX, at=hours(3 - n)) for n in range(2)]
    assert told(farm, post, parted, *mixed, name="rosa") == ["recorded"] * 3
    assert waiting() == ["mixed_twice", "not_in_crew"]
    assert "They are not in Red crew. The book stands." in page(farm)
    settle(farm, "struck", code="not_in_crew")
    settle(farm, "so_it_was", code="mixed_twice", name="olga")
    assert waiting() == []
    assert Membership.objects.filter(crew=farm.crews["red"]).count() == 2
    call_command("verify_book", verbosity=0)


def own_mend(farm: Farm, post: Post, fault: str = "bag_hole") -> str:
    """Mo mends it, and passes it himself."""
    (tag,) = farm.gear("bag", days_ago=1)
    mended = {"fault": fault, "method": "sewn", "minutes": 9}
    lines = [
        farm.entry("fault_found", item=tag, detail={"fault": fault}, at=hours(4)),
        farm.entry("mended", item=tag, detail=mended, at=hours(3)),
        farm.entry("released", item=tag, detail={"fault": fault}, at=hours(2)),
    ]
    assert told(farm, post, *lines, name="mo") == ["recorded"] * 3
    return tag


@pytest.mark.parametrize("way", ["passed", "so_it_was", "struck"])
def test_a_mend_that_its_mender_passed(way: str, ruled_farm: Farm, post: Post) -> None:
    from equipment.actions.set_rule import set_rule

    farm = ruled_farm
    set_rule(
        farm.users["olga"],
        "fault bag_hole",
        {"released_by": "second"},
        "a test",
        timezone.now() - timedelta(hours=6),
    )
    tag = own_mend(farm, post)
    assert (waiting(), choices(farm)) == (["own_mend"], ["passed", "so_it_was", "struck"])
    settle(farm, way)
    faults = ItemState.objects.get(tag=tag).fold["state"]["faults"]
    assert (waiting(), bool(faults)) == ([], way != "passed")


def test_it_is_opened_again(farm: Farm, post: Post) -> None:
    tag = contradict(farm, post)
    settle(farm, "came_back", note="a mistake")
    shown = page(farm, "?list=settled")
    assert "Settled by rosa" in shown
    assert "a mistake" in shown
    entry = Entry.objects.get(verb="settled")
    assert "It is open again." in text(post_to(farm, f"again/{entry.pk}", "olga"))
    state = ItemState.objects.get(tag=tag)
    assert (waiting(), state.place, state.picker) == (["already_out"], "picker", farm.pickers["ben"])
    assert "It is open again already." in text(post_to(farm, f"again/{entry.pk}", "olga"))
    settle(farm, "so_it_was")
    assert waiting() == []
    call_command("verify_book", verbosity=0)


def test_what_was_struck_stays_struck(farm: Farm, post: Post) -> None:
    contradict(farm, post)
    settle(farm, "struck")
    entry = Entry.objects.get(verb="settled")
    assert "stays struck" in text(post_to(farm, f"again/{entry.pk}", "rosa"))
    assert Entry.objects.filter(verb="reversed").count() == 1


# Kept notes


def test_a_kept_note_says_what_it_said_and_why_it_waits(farm: Farm, post: Post) -> None:
    kept(farm, post)
    shown = page(farm, "?list=kept")
    assert f"{NEW}: Marked missing." in shown
    assert f"No item has the code {NEW}." in shown
    assert "Not in the book (1)" in shown
    assert '"verb": "missed"' in shown


def test_crews_and_cards_are_told_by_name(farm: Farm, post: Post) -> None:
    lost = farm.entry("handed_out", item=NEW, picker=farm.badges["ana"].lower(), note="in <haste>, señor")
    away = farm.entry("left", crew=farm.crews["blue"].pk)
    told(farm, post, lost, away, farm.entry("handed_out", item=NEW, picker="PK9999X"))
    shown = page(farm, "?list=kept")
    assert f"{NEW}: Handed out to Ana ({farm.badges['ana']})." in shown
    assert "in <haste>, señor" in shown  # unescaped by the test
    assert "Blue crew: Left the block." in shown
    assert f"{NEW}: Handed out to PK9999X." in shown


@pytest.mark.parametrize(
    "sent",
    [
        7,
        None,
        "x",
        [],
        {"verb": "cleaned", "detail": {"method": "boil"}},
        {"verb": "fault_found", "item": NEW, "detail": {"fault": {"deep": 1}}},
        {"verb": "handed_out", "item": NEW, "detail": [], "happened_at": "soon"},
        {"verb": "replanned", "crew": "x", "detail": {"date": "x", "clipped": 3}},
        {"verb": "settled", "item": "x\x00", "note": "\x00", "detail": {"key": "x"}},
        {"verb": "left", "note": 7},
    ],
)
def test_whatever_was_sent_the_page_opens(sent: Any, farm: Farm, post: Post) -> None:
    told(farm, post, sent, name="rosa")
    assert KeptEntry.objects.waiting().count() == 1
    assert "It cannot be read:" in page(farm, "?list=kept")
    assert "Not in the book (1)" in text(post_to(farm, f"kept/{KeptEntry.objects.get().pk}/try", "rosa"))


def test_it_is_tried_again(farm: Farm, post: Post) -> None:
    row = kept(farm, post)
    assert f"No item has the code {NEW}." in text(post_to(farm, f"kept/{row.pk}/try", "rosa"))
    register(Pen(farm.users["rosa"], "A", hours(24)), [Run(Kind.objects.get(pk="bag"), "A", tag=NEW)])
    assert "It is in the book now." in text(post_to(farm, f"kept/{row.pk}/try", "rosa"))
    assert ItemState.objects.get(tag=NEW).place == "missing"
    assert "Somebody has seen to it meanwhile." in text(post_to(farm, f"kept/{row.pk}/try", "rosa"))
    assert Entry.objects.filter(verb="missed").count() == 1


def test_two_lines_of_one_number_may_both_have_happened(farm: Farm, post: Post) -> None:
    one, other = farm.gear("bag", 2, days_ago=1)
    first = farm.entry("missed", item=one, note="")
    assert told(farm, post, first, first | {"item": other}, name="rosa") == ["recorded", "id_reused"]
    row = KeptEntry.objects.get()
    shown = page(farm, "?list=kept")
    assert "Another line stands in the book under the same number." in shown
    assert "Try it again" not in shown
    assert "It is in the book now." in text(post_to(farm, f"kept/{row.pk}/renumber", "rosa"))
    assert ItemState.objects.get(tag=other).place == "missing"
    assert not KeptEntry.objects.waiting().exists()
    assert told(farm, post, first | {"item": other}, name="rosa") == ["id_reused"]  # sent again: kept once
    assert not KeptEntry.objects.waiting().exists()
    row = kept(farm, post)
    assert "gets a new one" in text(post_to(farm, f"kept/{row.pk}/renumber", "rosa"))


def test_it_is_left_out_with_a_why_and_stays_kept(farm: Farm, post: Post) -> None:
    row = kept(farm, post)
    assert "Write down why" in text(post_to(farm, f"kept/{row.pk}/leave-out", "rosa", why="  "))
    assert "Left out." in text(post_to(farm, f"kept/{row.pk}/leave-out", "rosa", why="a test of the phone"))
    row.refresh_from_db()
    assert (row.why, row.decided_by, row.placed_at) == ("a test of the phone", farm.users["rosa"], None)
    assert not KeptEntry.objects.waiting().exists()
    assert "Everything that was told is in the book." in page(farm, "?list=kept")
    # What is left out does not go in by itself when its subject appears.
    post(farm.entry("registered", item=NEW, detail={"kind": "bag", "store": "A"}))
    assert not Entry.objects.filter(verb="missed").exists()


def test_the_officer_lets_in_what_somebody_had_no_right_to(farm: Farm, post: Post) -> None:
    left = farm.entry("left", crew=farm.crews["blue"].pk, at=hours(2))
    assert told(farm, post, left) == ["no_right"]
    row = KeptEntry.objects.get()
    assert "Take it in" not in page(farm, "?list=kept")
    assert signed_in(farm, "rosa").post(f"/settle/kept/{row.pk}/take-in/").status_code == 403
    assert "Take it in" in page(farm, "?list=kept", name="olga")
    assert "It is in the book now." in text(post_to(farm, f"kept/{row.pk}/take-in", "olga"))
    entry = Entry.objects.get(pk=left["id"])
    assert (entry.by, abs(entry.happened_at - hours(2)) < timedelta(minutes=1)) == (farm.users["sam"], True)
    row.refresh_from_db()
    assert row.decided_by == farm.users["olga"]
    assert told(farm, post, left) == ["known"]


def test_no_word_of_an_officer_makes_up_for_what_is_not_known(farm: Farm, post: Post) -> None:
    row = kept(farm, post)
    assert "The safety officer lets it in." in text(post_to(farm, f"kept/{row.pk}/take-in", "olga"))
    assert KeptEntry.objects.waiting().count() == 1


@pytest.fixture
def revoked(farm: Farm, post: Post) -> Device:
    """It sent a swap, and a dip before its bath, after it had been taken off the list."""
    hers, spare = farm.gear("bag", 2, days_ago=1)
    (clippers,) = farm.gear("clippers", days_ago=1)
    red, bath = farm.crews["red"].pk, str(new_id())
    out = [farm.entry("handed_out", item=hers, picker=farm.badges["ana"], at=hours(8))]
    out += [farm.entry("handed_out", item=tag, crew=red, at=hours(8)) for tag in (spare, clippers)]
    told(farm, post, *out, name="rosa")
    phone = a_phone("Phone 9", revoked_at=timezone.now())
    dip = {"method": "sterilise", "recipe": "clippers_daily_bleach", "seconds": 600}
    sent = [
        *swap(farm, hers, spare, "ana", hours(4)),
        farm.entry("cleaned", item=clippers, bath=bath, detail=dip, at=hours(2), device_seq=12),
        farm.entry("mixed", bath=bath, detail=MIX, at=hours(3), device_seq=11),
    ]
    assert told(farm, post, *sent, device=str(phone.pk)) == ["no_right"] * 5
    return phone


def test_an_officer_lets_in_all_that_a_revoked_phone_sent(farm: Farm, revoked: Device) -> None:
    assert "Phone 9 was taken off the list. 5 lines that it sent wait for the officer." in page(
        farm, "?list=kept", name="olga"
    )
    assert signed_in(farm, "rosa").post(f"/settle/phone/{revoked.pk}/").status_code == 403
    assert "5 lines went in." in text(post_to(farm, f"phone/{revoked.pk}", "olga"))
    assert Entry.objects.filter(device=revoked).count() == 5
    assert (waiting(), KeptEntry.objects.waiting().count()) == ([], 0)
    call_command("verify_book", verbosity=0)


def test_or_some_of_it_and_leaves_the_rest_out(farm: Farm, revoked: Device) -> None:
    first, second, *_ = KeptEntry.objects.order_by("pk")
    assert "The safety officer decides" in text(post_to(farm, f"kept/{first.pk}/leave-out", "rosa", why="x"))
    post_to(farm, f"kept/{first.pk}/take-in", "olga")
    post_to(farm, f"kept/{second.pk}/leave-out", "olga", why="not his crew's")
    assert Entry.objects.filter(device=revoked).count() == 1
    assert KeptEntry.objects.waiting().count() == 3
    shown = page(farm, "?list=kept")
    assert "This phone was taken off the list." in shown
    assert "Try it again" not in shown
