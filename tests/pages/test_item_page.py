"""The page of an item: what it is, where it is, and its whole life in plain words."""

from datetime import timedelta

import pytest
from django.utils import timezone

from crews.models.devices import PAPER_ID
from equipment.actions.retag import retag
from equipment.actions.writing import Pen
from equipment.domain import codes
from equipment.domain.verbs import VERBS
from equipment.models import Entry, ItemState, Note
from equipment.pages.life import LINES, life
from equipment.pages.telling import ICONS, Teller, with_names
from tests.cast import Farm
from tests.farm import Post


def said(tag: str) -> list[str]:
    """Each line of the item's life in words, the newest first."""
    return [line.say for line in life(ItemState.objects.get(tag=tag).item_id).lines]


@pytest.mark.parametrize("name", ["rosa", "olga", "mo", "frank"])
def test_each_role_sees_any_item(farm: Farm, client_of, name):
    (tag,) = farm.gear(
        "clippers", make="Snawel", hand="left", owner="Quillberg", price="219.50", supplier="Grysbok"
    )
    html = client_of(name).get(f"/gear/{tag}/").content.decode()
    for word in (
        "Clippers",
        tag,
        "Snawel",
        "left",
        "Quillberg",
        "219.50",
        "Grysbok",
        "In Store A",
        "May go out",
    ):
        assert word in html


def test_a_supervisor_sees_what_their_crews_have(farm: Farm, client_of, post: Post):
    mine, theirs = farm.gear("bag", 2)
    post(farm.entry("handed_out", item=mine, picker=farm.badges["ana"]))
    post(farm.entry("handed_out", item=theirs, picker=farm.badges["cy"]))
    assert client_of("sam").get(f"/gear/{mine}/").status_code == 200
    answer = client_of("sam").get(f"/gear/{theirs}/")
    assert answer.status_code == 404 and "is not with one of your crews now" in answer.content.decode()


def test_an_old_label_finds_it_and_says_so(farm: Farm, client_of):
    (old,) = farm.gear("bag")
    new = retag(farm.pen(), ItemState.objects.get(tag=old)).state.tag
    html = client_of("rosa").get(f"/gear/{old.lower()}/").content.decode()
    assert f"The label {old} was replaced: this item wears {new} now." in html
    assert "was replaced" not in client_of("rosa").get(f"/gear/{new}/").content.decode()


def test_the_whole_life_reads_in_plain_words(farm: Farm, post: Post):
    (tag,) = farm.gear("bag")
    ana, ben = farm.badges["ana"], farm.badges["ben"]
    entries = [
        ("handed_out", {"picker": ana}),
        ("handed_out", {"picker": ben, "detail": {"from": ana}}),
        ("returned", {"detail": {"wet": True}}),
        ("packed", {"detail": {"set": codes.make("ST", 1)}}),
        ("packed", {"detail": {"set": None}}),
        ("moved", {"detail": {"to": "B"}}),
        ("missed", {}),
        ("found", {"crew": farm.crews["blue"].pk}),
        ("returned", {}),
        ("handed_out", {"crew": farm.crews["red"].pk}),
        ("stowed", {"block": "N4", "detail": {"counted": 3, "locked_by": "Tata"}}),
        ("returned", {}),
        ("written_off", {"detail": {"circumstance": "worn_out"}}),
    ]
    for verb, fields in entries:
        (answer,) = post(farm.entry(verb, item=tag, **fields))
        assert answer["outcome"] == "recorded", answer
    assert said(tag)[::-1] == [
        "Registered in Store A.",
        "Handed out to Ana, Red crew.",
        "Passed on from Ana to Ben, Red crew.",
        "Came back to Store A, wet.",
        f"Packed into set {codes.make('ST', 1)}.",
        "Taken out of its set.",
        "Moved to Store B.",
        "Marked missing.",
        "Found, with Blue crew.",
        "Came back to Store A.",
        "Handed out to Red crew.",
        "Left in the orchard overnight, in block N4; 3 counted, locked by Tata.",
        "Came back to Store A.",
        "Written off: worn out.",
    ]


def test_crew_lines_read_in_plain_words(farm: Farm):
    joined = with_names(Entry.objects.filter(verb="joined", picker=farm.pickers["ana"]))
    assert [Teller(joined).tell(entry) for entry in joined] == ["Ana joined Red crew."]


def test_every_verb_has_a_symbol():
    assert set(ICONS) == set(VERBS)


def test_what_was_taken_back_stays_legible(farm: Farm, client_of, post: Post):
    (tag,) = farm.gear("bag")
    (out,) = post(farm.entry("handed_out", item=tag, picker=farm.badges["ana"]))
    post(farm.entry("reversed", item=tag, detail={"entry": out["id"]}))
    reversed_line, struck, _registered = life(ItemState.objects.get(tag=tag).item_id).lines
    assert (
        reversed_line.say == "Took back the line “Handed out to Ana, Red crew.”" and not reversed_line.struck
    )
    assert (
        struck.struck and struck.struck_by.startswith("taken back ") and struck.struck_by.endswith(" by rosa")
    )
    assert "<s>Handed out to Ana, Red crew.</s>" in client_of("rosa").get(f"/gear/{tag}/").content.decode()


def test_marks_say_how_a_line_came_into_the_book(farm: Farm, post: Post):
    (tag,) = farm.gear("bag", days_ago=9)
    state = ItemState.objects.get(tag=tag)
    earlier = timezone.now() - timedelta(hours=1)
    post(farm.entry("handed_out", item=tag, picker=farm.badges["ana"], at=earlier, queued=True), gate="note")
    paper = Pen(farm.users["rosa"], "A", timezone.now(), device=PAPER_ID)
    back = paper.draft("returned", happened_at=earlier + timedelta(minutes=5), item=state.item_id, note="dry")
    paper.record([back], "note")
    lines = life(state.item_id).lines
    returned, handed = (
        next(line for line in lines if word in line.say) for word in ("Came back", "Handed out")
    )
    assert returned.extra.startswith("from paper, entered ") and returned.note == "dry"
    assert handed.extra.startswith("reached the book late, ") and handed.place == "A1"


def test_an_erased_note_says_that_it_was_erased(farm: Farm, post: Post):
    (tag,) = farm.gear("bag")
    post(farm.entry("missed", item=tag, note="Ana says it was stolen"))
    Note.objects.update(text="", salt="", erased_at=timezone.now())
    line = life(ItemState.objects.get(tag=tag).item_id).lines[0]
    assert line.note == "" and line.extra == "a note was erased"


def test_what_was_refused_stands_between_the_lines(farm: Farm, client_of, post: Post):
    (tag,) = farm.gear("bag")
    post(farm.entry("handed_out", item=tag, picker=farm.badges["ana"]))
    post(farm.entry("handed_out", item=tag, picker=farm.badges["ben"]))
    refused = life(ItemState.objects.get(tag=tag).item_id).lines[0]
    assert (
        refused.say == "Handing it out was refused: it is already out." and refused.extra == "not in the book"
    )


def test_contradictions_stand_on_top_in_words(farm: Farm, client_of, post: Post):
    (tag,) = farm.gear("bag")
    post(farm.entry("handed_out", item=tag, picker=farm.badges["ana"]))
    post(farm.entry("handed_out", item=tag, picker=farm.badges["cy"]), gate="note")
    html = client_of("rosa").get(f"/gear/{tag}/").content.decode()
    assert "“Handed out to Cy, Blue crew.” But by the book it was out with somebody at that time." in html
    assert "line-wants" in html and "waits to be settled" in html


def test_a_set_is_named_with_its_other_pieces(farm: Farm, client_of, post: Post):
    first, second = farm.gear("bag", 2)
    crate = codes.make("ST", 1)
    post(*(farm.entry("packed", item=tag, detail={"set": crate}) for tag in (first, second)))
    html = client_of("rosa").get(f"/gear/{first}/").content.decode()
    assert f"packed in {crate}" in html and "with 1 other piece" in html


def test_whoever_has_it_is_one_press_away(farm: Farm, client_of, post: Post):
    (tag,) = farm.gear("bag")
    post(farm.entry("handed_out", item=tag, picker=farm.badges["ana"]))
    html = client_of("rosa").get(f"/gear/{tag}/").content.decode()
    assert f'href="/pickers/{farm.pickers["ana"].pk}/">Ana</a>' in html
    assert f'href="/crews/{farm.crews["red"].pk}/">Red crew</a>' in html
    assert 'href="/pickers/' not in client_of("mo").get(f"/gear/{tag}/").content.decode()


def test_a_long_life_is_turned_page_by_page(farm: Farm, client_of):
    (tag,) = farm.gear("bag")
    long_life(farm, tag, LINES + 20)
    item = ItemState.objects.get(tag=tag).item_id
    first = life(item)
    second = life(item, first.next)
    assert (len(first.lines), len(second.lines), second.next) == (LINES, 21, "")
    assert first.lines[-1].at > second.lines[0].at
    html = client_of("rosa").get(f"/gear/{tag}/", {"before": first.next}).content.decode()
    assert "Registered in Store A." in html and "Back to the newest" in html


@pytest.mark.parametrize(
    "before",
    [
        "x",
        "~",
        "2026-01-01T00:00:00~x",
        "2026-13-01~",
        "2026-01-01T00:00~" + "0" * 32,
        "0001-01-01T00:00:00+14:00~" + "0" * 32,
    ],
)
def test_a_page_that_nobody_wrote_is_the_first(farm: Farm, client_of, before):
    (tag,) = farm.gear("bag")
    assert "Registered in" in client_of("rosa").get(f"/gear/{tag}/", {"before": before}).content.decode()


def test_its_cost_does_not_grow_with_its_life(farm: Farm, client_of, django_assert_max_num_queries):
    (tag,) = farm.gear("bag")
    long_life(farm, tag, 300)
    client = client_of("rosa")
    with django_assert_max_num_queries(32):
        assert client.get(f"/gear/{tag}/").status_code == 200


def long_life(farm: Farm, tag: str, lines: int) -> None:
    """Out and back again, `lines` times altogether, a minute apart."""
    item = ItemState.objects.get(tag=tag).item_id
    now = timezone.now()
    Pen(farm.users["rosa"], "A", now)
    pen = Pen(farm.users["rosa"], "A", now + timedelta(minutes=lines))
    crew = farm.crews["red"].pk
    drafts = []
    for number in range(lines):
        verb, picker = ("returned", None) if number % 2 else ("handed_out", farm.pickers["ana"].pk)
        at = now + timedelta(minutes=number, seconds=1)
        drafts.append(pen.draft(verb, happened_at=at, item=item, picker=picker, crew=crew))
    pen.record(drafts)
