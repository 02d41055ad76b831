"""What can be done from an item's page: each an entry, each for those whose work it is."""

import pytest
from django.urls import reverse

from equipment.domain import codes
from equipment.models import Entry, ItemState, Label
from equipment.pages.item_acts import ACTS
from tests.cast import Farm
from tests.farm import Post

OFFERED = {
    "rosa": {"report_fault", "clean", "take_back", "retag", "miss", "hear", "write_off", "undo"},
    "sam": {"report_fault", "clean", "take_back", "miss", "hear", "undo"},
    "olga": {"report_fault", "clean", "retag", "hear", "write_off", "undo"},
    "mo": {"report_fault", "clean", "retag", "write_off"},
    "frank": {"report_fault", "retag", "hear", "write_off"},
}


@pytest.fixture
def bag(farm: Farm, post: Post) -> str:
    """A bag that Ana of the red crew has."""
    (tag,) = farm.gear("bag")
    post(farm.entry("handed_out", item=tag, picker=farm.badges["ana"]))
    return tag


@pytest.fixture
def act(client_of):
    """`act(name, item, **said)`: press the button as Rosa, or as `who`; the last page."""

    def press(name: str, item: str, /, who: str = "rosa", **said):
        return client_of(who).post(reverse("item_act", args=[item, name]), said, follow=True)

    return press


def last(tag: str) -> Entry:
    return Entry.objects.filter(item__labels__code=tag).latest("recorded_at")


@pytest.mark.parametrize("name", OFFERED)
def test_each_role_is_offered_its_own_work(farm: Farm, client_of, bag, name):
    html = client_of(name).get(f"/gear/{bag}/").content.decode()
    assert {act for act in ACTS if f'action="{reverse("item_act", args=[bag, act])}"' in html} == OFFERED[
        name
    ]


@pytest.mark.parametrize("name", OFFERED)
def test_what_is_not_offered_is_refused(farm: Farm, act, bag, name):
    before = Entry.objects.count()
    entry = str(last(bag).pk)
    said = {"to": "B", "circumstance": "lost", "note": "gone", "where": "A", "store": "A", "entry": entry}
    # move and find make no sense for a bag that is out, whoever asks: the book itself refuses or ignores them.
    for other in {"retag", "write_off", "take_back", "miss", "hear", "undo"} - OFFERED[name]:
        assert act(other, bag, who=name, **said).status_code == 403, other
    assert Entry.objects.count() == before


def test_a_supervisor_acts_for_their_own_crews_only(farm: Farm, act, post: Post):
    (tag,) = farm.gear("bag")
    post(farm.entry("handed_out", item=tag, picker=farm.badges["cy"]))
    assert act("take_back", tag, who="sam", store="A").status_code == 404
    assert last(tag).verb == "handed_out"


def test_take_back_without_a_scan(farm: Farm, act, bag):
    page = act("take_back", bag, store="B", wet="on", note="brought by Ben")
    assert f"{bag} is back." in page.content.decode()
    state = ItemState.objects.get(tag=bag)
    assert (state.place, state.store_id, state.wet, state.crew_id) == ("store", "B", True, None)
    assert (last(bag).store_id, last(bag).crew_id, last(bag).written_note.text) == (
        "B",
        farm.crews["red"].pk,
        "brought by Ben",
    )


def test_a_supervisor_who_took_it_back_lands_on_the_list(farm: Farm, act, bag):
    page = act("take_back", bag, who="sam", store="A")
    assert page.redirect_chain[-1][0] == "/gear/" and f"{bag} is back." in page.content.decode()


def test_missing_and_found_in_a_store(farm: Farm, act, bag):
    act("miss", bag)
    assert ItemState.objects.get(tag=bag).place == "missing"
    html = act("find", bag, where="B").content.decode()
    assert f"{bag} is found." in html
    state = ItemState.objects.get(tag=bag)
    assert (state.place, state.store_id) == ("store", "B")


def test_found_with_the_crew_that_had_it(farm: Farm, act, bag):
    act("miss", bag)
    act("find", bag, where="crew")
    state = ItemState.objects.get(tag=bag)
    assert (state.place, state.crew_id) == ("crew", farm.crews["red"].pk)


def test_a_new_label_is_the_next_free_code(farm: Farm, act, bag):
    html = act("retag", bag, note="washed off").content.decode()
    state = ItemState.objects.get(item__labels__code=bag)
    assert state.tag != bag and codes.parse(state.tag).prefix == "BG"
    assert f"The new label {state.tag} is in force" in html
    assert set(Label.objects.filter(item=state.item).values_list("pk", flat=True)) == {bag, state.tag}


def test_a_new_label_can_be_scanned(farm: Farm, act, bag):
    new = codes.make("BG", 777)
    act("retag", bag, tag=f" https://farm.example/t/{new.lower()} ")
    assert ItemState.objects.get(item__labels__code=bag).tag == new


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("BG0777X", "was misread"),
        ("label", "is not a code"),
        (codes.make("PK", 1), "is not a label for an item"),
        ("other", "has been on an item before"),
    ],
)
def test_a_label_that_will_not_do_is_refused_in_words(farm: Farm, act, bag, text, why):
    (other,) = farm.gear("clippers")
    page = act("retag", bag, tag=other if text == "other" else text)
    assert page.status_code == 400 and why in page.content.decode()
    assert '<details class="fold" id="do-retag" open>' in page.content.decode()
    assert ItemState.objects.get(tag=bag)


def test_moved_to_another_store(farm: Farm, act):
    (tag,) = farm.gear("bag")
    assert f"{tag} is moved." in act("move", tag, to="B").content.decode()
    assert ItemState.objects.get(tag=tag).store_id == "B"


def test_what_the_book_refuses_is_said_and_not_recorded(farm: Farm, act, bag):
    page = act("move", bag, to="B")
    assert page.status_code == 400 and "is already out to Ana, Red crew" in page.content.decode()
    assert last(bag).verb == "handed_out"


def test_written_off_with_a_circumstance_and_a_note(farm: Farm, act, client_of, bag):
    assert act("write_off", bag, circumstance="lost").status_code == 400
    assert act("write_off", bag, circumstance="eaten", note="by a goat").status_code == 400
    assert last(bag).verb == "handed_out"
    html = client_of("rosa").get(f"/gear/{bag}/").content.decode()
    assert f'data-confirm="Write off {bag}?' in html
    page = act("write_off", bag, circumstance="lost", note="fell into the river")
    assert "Written off: lost." in page.content.decode()
    assert ItemState.objects.get(tag=bag).place == "gone"


def test_a_theft_has_its_case_number(farm: Farm, act, bag):
    page = act("write_off", bag, circumstance="worn_out", case="12/3", note="through")
    assert page.status_code == 400 and "A case number belongs to a theft." in page.content.decode()
    page = act("write_off", bag, circumstance="stolen", case="CAS 12/3/2026", note="the shed was broken open")
    assert "Written off: stolen, case CAS 12/3/2026." in page.content.decode()
    assert last(bag).detail == {"circumstance": "stolen", "case": "CAS 12/3/2026"}
    assert last(bag).act is None


def test_what_the_picker_says_goes_with_the_write_off(farm: Farm, act, client_of, bag):
    html = client_of("rosa").get(f"/gear/{bag}/").content.decode()
    assert "Ana had it last. Write it down in their own words" in html
    act("write_off", bag, circumstance="disputed", note="not on the trailer", said="I hung it on the <hook>.")
    heard, gone = Entry.objects.filter(act__isnull=False, verb__in=("heard", "written_off")).order_by(
        "position"
    )
    assert (heard.verb, gone.verb, heard.act) == ("heard", "written_off", gone.act)
    assert (heard.picker, heard.crew, heard.detail) == (farm.pickers["ana"], farm.crews["red"], {})
    assert (heard.written_note.text, gone.written_note.text) == (
        "I hung it on the <hook>.",
        "not on the trailer",
    )
    html = client_of("rosa").get(f"/gear/{bag}/").content.decode()
    assert "What Ana, Red crew says of it." in html and "I hung it on the &lt;hook&gt;." in html
    assert "Undo the last line" in html and "Take back “Written off: disputed.”" in html


def test_a_picker_is_heard_on_what_is_missing_or_gone(farm: Farm, act, bag):
    act("miss", bag)
    assert act("hear", bag).status_code == 400
    assert "What was said is written down." in act("hear", bag, note="Left at the tree.").content.decode()
    act("write_off", bag, circumstance="lost", note="looked for it twice")
    act("hear", bag, who="sam", note="I told Sam at once.")
    said = Entry.objects.filter(verb="heard").order_by("position")
    assert [entry.written_note.text for entry in said] == ["Left at the tree.", "I told Sam at once."]
    assert {entry.picker for entry in said} == {farm.pickers["ana"]}
    assert ItemState.objects.get(tag=bag).place == "gone"


def test_nobody_is_heard_on_what_no_picker_had_last(farm: Farm, act, client_of, post: Post, bag):
    (ladder,) = farm.gear("ladder")
    assert "What the picker says" not in client_of("rosa").get(f"/gear/{ladder}/").content.decode()
    assert act("hear", ladder, note="me?").status_code == 403
    post(farm.entry("returned", item=bag), farm.entry("handed_out", item=bag, crew=farm.crews["red"].pk))
    assert "What the picker says" not in client_of("rosa").get(f"/gear/{bag}/").content.decode()
    page = act("write_off", bag, circumstance="lost", note="with the spares", said="nobody said this")
    assert "Written off: lost." in page.content.decode()
    assert not Entry.objects.filter(verb="heard").exists()


def test_what_was_given_back_is_still_asked_of_whoever_had_it(farm: Farm, act, post: Post, bag):
    post(farm.entry("returned", item=bag))
    act("write_off", bag, circumstance="worn_out", note="through", said="It was thin when I got it.")
    assert Entry.objects.get(verb="heard").picker == farm.pickers["ana"]


def test_the_last_line_can_be_taken_back(farm: Farm, act, client_of, bag):
    html = client_of("rosa").get(f"/gear/{bag}/").content.decode()
    assert 'data-confirm="Take back “Handed out to Ana, Red crew.”' in html
    page = act("undo", bag, entry=str(last(bag).pk))
    assert "Undone." in page.content.decode()
    assert ItemState.objects.get(tag=bag).place == "store"
    assert "item_act" not in page.content.decode()


def test_a_line_that_is_not_the_last_any_more_stays(farm: Farm, act, bag, post: Post):
    seen = str(last(bag).pk)
    post(farm.entry("returned", item=bag))
    page = act("undo", bag, entry=seen)
    assert page.status_code == 400 and "Another line has been written meanwhile" in page.content.decode()
    assert last(bag).verb == "returned"


def test_registering_cannot_be_taken_back(farm: Farm, act, client_of):
    (tag,) = farm.gear("bag")
    assert "Undo the last line" not in client_of("rosa").get(f"/gear/{tag}/").content.decode()
    assert act("undo", tag, entry=str(last(tag).pk)).status_code == 403
    assert ItemState.objects.get(tag=tag).place == "store"


def test_a_supervisor_undoes_only_what_they_may_do(farm: Farm, act, bag):
    act("retag", bag)
    tag = ItemState.objects.get(item__labels__code=bag).tag
    assert act("undo", tag, who="sam", entry=str(last(tag).pk)).status_code == 403


def test_an_address_without_a_form_leads_to_the_item(farm: Farm, client_of, bag):
    answer = client_of("rosa").get(reverse("item_act", args=[bag, "retag"]))
    assert answer.status_code == 302 and answer.headers["Location"] == f"/gear/{bag}/"
    assert client_of("rosa").get(reverse("item_act", args=[bag, "polish"])).status_code == 404


def test_what_a_picker_says_is_written_down_once(farm: Farm, act, bag):
    for _turn in range(2):
        page = act("hear", bag, note="it hung on the trailer")
    assert page.status_code == 400 and "nothing is written twice" in page.content.decode()
    assert act("hear", bag, note="it hung on the gate").status_code == 200
    assert act("hear", bag, who="sam", note="it hung on the gate").status_code == 200
    assert Entry.objects.filter(verb="heard").count() == 3
