"""The surprises of a stocktake, each settled by one choice that becomes a line of the book, and opened again."""

import pytest
from django.utils import timezone

from equipment.actions.stocktake import begin, settle, unknown
from equipment.actions.stocktake.unknown import Told
from equipment.actions.verify_book import verify_book
from equipment.actions.wording import NotDone
from equipment.domain import codes
from equipment.models import Discrepancy, Entry, Label, Stocktake, UnknownTag
from tests.cast import Farm
from tests.stocktaking import begun, chosen, hand_out, scanned, standing, state, sums, told


def verbs(own: Stocktake, tag: str) -> list[str]:
    rows = Entry.objects.filter(act=own.pk, item=state(tag).pk).order_by("happened_at", "id")
    return [row.verb for row in rows]


def again(own: Stocktake, farm: Farm, tag: str) -> None:
    settle.open_again(own, begin.pen(own, farm.users["rosa"], timezone.now()), state(tag).pk)


def settled(
    own: Stocktake, farm: Farm, row: UnknownTag, choice: str, by: str = "rosa", **said: str
) -> UnknownTag:
    return unknown.settle(own, begin.pen(own, farm.users[by], timezone.now()), row.pk, choice, Told(**said))


@pytest.fixture
def surprises(farm: Farm) -> tuple[Stocktake, dict[str, str]]:
    out, missing, gone, left = farm.gear("bag", 4, days_ago=1)
    (other,) = farm.gear("bag", store="B", days_ago=1)
    hand_out(farm, out)
    told(farm, missing, "missed")
    told(farm, gone, "written_off", circumstance="lost")
    own = begun(farm)
    scanned(own, farm, out, missing, gone, other)
    return own, {"out": out, "missing": missing, "gone": gone, "other_store": other, "left": left}


@pytest.mark.parametrize(
    ("what", "choice", "lines", "place"),
    [
        ("out", "taken_back", ["seen", "returned"], ("store", "A")),
        ("out", "label_twin", ["seen", "settled"], ("picker", "A")),
        ("other_store", "moved_here", ["seen", "moved"], ("store", "A")),
        ("other_store", "sent_back", ["seen", "settled"], ("store", "B")),
        ("missing", "found", ["seen", "found"], ("store", "A")),
        ("missing", "stays_missing", ["seen", "settled"], ("missing", "A")),
        ("gone", "not_gone", ["seen", "reversed", "settled"], ("store", "A")),
        ("gone", "stays_gone", ["seen", "settled"], ("gone", "A")),
        ("left", "missed", ["missed"], ("missing", "A")),
    ],
)
def test_one_choice_and_what_it_writes_and_undone(farm, surprises, what, choice, lines, place) -> None:
    own, tags = surprises
    tag, before = tags[what], state(tags[what])
    chosen(own, farm, tag, choice)
    assert verbs(own, tag) == lines and standing(own, tag) == "settled"
    assert (state(tag).place, state(tag).store_id) == place
    assert not Discrepancy.objects.exists() and verify_book().clean
    again(own, farm, tag)
    assert standing(own, tag) == what
    assert (state(tag).place, state(tag).store_id) == (before.place, before.store_id)
    chosen(own, farm, tag, choice)
    assert standing(own, tag) == "settled" and (state(tag).place, state(tag).store_id) == place


def test_seen_by_eye_given_written_off_or_lying_elsewhere(farm: Farm) -> None:
    by_eye, given, to_crew, off, away = farm.gear("bag", 5, days_ago=1)
    own = begun(farm)
    chosen(own, farm, by_eye, "seen")
    chosen(own, farm, given, "given", who=farm.badges["ana"].lower())
    chosen(own, farm, to_crew, "given", who=farm.crews["blue"].pk)
    chosen(own, farm, off, "written_off", circumstance="broken", note="under the press")
    chosen(own, farm, away, "lies_there", to="B")
    assert standing(own, by_eye) == "seen"
    assert [standing(own, tag) for tag in (given, to_crew, off, away)] == ["settled"] * 4
    assert state(given).picker == farm.pickers["ana"] and state(to_crew).crew == farm.crews["blue"]
    assert (state(off).place, state(away).store_id) == ("gone", "B")
    assert not sums(own)["open"]
    again(own, farm, off)
    assert standing(own, off) == "left"


@pytest.mark.parametrize(
    ("choice", "said", "why"),
    [
        ("given", {"who": "PK0001A"}, "misread"),
        ("given", {"who": ""}, "not a code"),
        ("given", {"who": codes.make("PK", 555)}, "no badge of today"),
        ("given", {"who": codes.make("BG", 1)}, "no badge of today"),
        ("lies_there", {"to": "A"}, "which other store"),
        ("lies_there", {"to": "nowhere"}, "which other store"),
        ("written_off", {"circumstance": "lost"}, "Write down what happened"),
        ("taken_back", {}, "settled meanwhile"),
        ("no such choice", {}, "settled meanwhile"),
    ],
)
def test_what_cannot_be_done_says_why_and_writes_nothing(farm, surprises, choice, said, why) -> None:
    own, tags = surprises
    with pytest.raises(NotDone, match=why):
        chosen(own, farm, tags["left"], choice, **said)
    assert verbs(own, tags["left"]) == []


def test_two_people_settle_the_same_piece(farm, surprises) -> None:
    own, tags = surprises
    chosen(own, farm, tags["out"], "taken_back")
    with pytest.raises(NotDone, match="settled meanwhile"):
        chosen(own, farm, tags["out"], "label_twin", by="olga")
    assert verbs(own, tags["out"]) == ["seen", "returned"]


def test_taken_back_at_a_counter_meanwhile_it_has_explained_itself(farm, surprises) -> None:
    own, tags = surprises
    told(farm, tags["out"], "returned")
    assert standing(own, tags["out"]) == "seen"


def test_handed_out_after_it_was_settled_it_cannot_be_opened_again(farm, surprises) -> None:
    own, tags = surprises
    chosen(own, farm, tags["out"], "taken_back")
    hand_out(farm, tags["out"], "ben")
    with pytest.raises(NotDone, match="Another line has been written meanwhile"):
        again(own, farm, tags["out"])


def test_written_off_while_it_was_out_and_here_after_all(farm: Farm) -> None:
    (tag,) = farm.gear("bag", days_ago=1)
    hand_out(farm, tag)
    told(farm, tag, "missed")
    told(farm, tag, "written_off", circumstance="lost")
    own = begun(farm)
    scanned(own, farm, tag)
    chosen(own, farm, tag, "not_gone")
    assert verbs(own, tag) == ["seen", "reversed", "found", "settled"]
    assert (state(tag).place, standing(own, tag)) == ("store", "settled")
    again(own, farm, tag)
    assert (state(tag).place, standing(own, tag)) == ("gone", "gone")
    assert verify_book().clean


def test_marked_missing_and_then_somebody_scans_it(farm: Farm) -> None:
    (tag,) = farm.gear("bag", days_ago=1)
    own = begun(farm)
    chosen(own, farm, tag, "missed")
    scanned(own, farm, tag)
    assert standing(own, tag) == "missing"
    chosen(own, farm, tag, "found")
    assert (standing(own, tag), state(tag).place) == ("settled", "store")


def test_marked_missing_while_its_scan_waited_for_the_line(farm: Farm) -> None:
    (tag,) = farm.gear("bag", days_ago=1)
    own, before = begun(farm), timezone.now()
    chosen(own, farm, tag, "missed")
    scanned(own, farm, tag, at=before)
    assert standing(own, tag) == "missing"


def test_only_who_has_the_right_to_the_line(farm, surprises) -> None:
    """The mender finds and writes off; the rest is the storeman's."""
    mo = farm.users["mo"]
    names = {what: {each.name for each in settle.ways(what, mo)} for what in ("left", "out", "missing")}
    assert names == {
        "left": {"seen", "written_off"},
        "out": {"label_twin"},
        "missing": {"found", "stays_missing"},
    }
    own, tags = surprises
    with pytest.raises(NotDone):
        chosen(own, farm, tags["left"], "missed", by="mo")
    assert settle.ways("left", farm.users["sam"]) == ()


class TestUnknownLabels:
    @pytest.fixture
    def own(self, farm: Farm) -> Stocktake:
        return begun(farm)

    def row(self, own: Stocktake, farm: Farm, text: str) -> UnknownTag:
        scanned(own, farm, text)
        return own.unknown.get(text=text)

    def test_registered_under_its_own_label(self, farm: Farm, own: Stocktake) -> None:
        tag = codes.make("BG", 8001)
        row = settled(own, farm, self.row(own, farm, tag), "registered", kind="bag")
        assert state(tag).pk == row.item_id and standing(own, tag) == "seen"
        assert state(tag).store_id == "A" and not sums(own)["open"]
        with pytest.raises(NotDone, match="stays in the book"):
            unknown.open_again(own, begin.pen(own, farm.users["rosa"], timezone.now()), row.pk)

    def test_registered_with_a_new_label_where_it_wears_none_of_ours(
        self, farm: Farm, own: Stocktake
    ) -> None:
        row = settled(own, farm, self.row(own, farm, "Rented 14"), "registered", kind="bag")
        assert row.item and row.item.state.tag.startswith("BG")

    def test_a_label_of_another_kind(self, farm: Farm, own: Stocktake) -> None:
        row = self.row(own, farm, codes.make("BG", 8002))
        with pytest.raises(NotDone, match="not a label for"):
            settled(own, farm, row, "registered", kind="ladder")
        assert not Label.objects.exists()

    def test_a_piece_that_lost_its_label(self, farm: Farm, own: Stocktake) -> None:
        begin.end(own, farm.users["rosa"], timezone.now())
        (old,) = farm.gear("bag", days_ago=1)
        own = begun(farm)
        new = codes.make("BG", 8003)
        row = settled(own, farm, self.row(own, farm, new), "retagged", tag=old)
        assert state(old).tag == new and standing(own, old) == "seen"
        unknown.open_again(own, begin.pen(own, farm.users["rosa"], timezone.now()), row.pk)
        assert state(old).tag == old and standing(own, old) == "left"
        assert sums(own)["unknown"] == 1

    def test_not_ours_and_opened_again(self, farm: Farm, own: Stocktake) -> None:
        row = settled(own, farm, self.row(own, farm, "Rented 15"), "not_ours", by="mo")
        assert (row.settled_by, sums(own)["unknown"]) == (farm.users["mo"], 0)
        unknown.open_again(own, begin.pen(own, farm.users["rosa"], timezone.now()), row.pk)
        assert sums(own)["unknown"] == 1

    @pytest.mark.parametrize(
        ("choice", "said", "why"),
        [
            ("registered", {"kind": "spaceship"}, "what kind"),
            ("retagged", {"tag": "BG0001A"}, "misread"),
            ("retagged", {"tag": "nothing"}, "not a code"),
            ("retagged", {"tag": codes.make("BG", 1234)}, "No item has the code"),
            ("sold", {}, "settled meanwhile"),
        ],
    )
    def test_what_cannot_be_done(self, farm: Farm, own: Stocktake, choice, said, why) -> None:
        row = self.row(own, farm, "Rented 16")
        with pytest.raises(NotDone, match=why):
            settled(own, farm, row, choice, **said)
        row.refresh_from_db()
        assert row.choice == "" and not Entry.objects.filter(act=own.pk).exists()


def test_the_end_keeps_what_was_found_whatever_happens_later(farm, surprises) -> None:
    own, tags = surprises
    chosen(own, farm, tags["out"], "taken_back")
    with pytest.raises(NotDone, match="still open"):
        begin.end(own, farm.users["rosa"], timezone.now())
    own = begin.end(own, farm.users["rosa"], timezone.now(), "the lamp went out")
    before = sums(own)
    assert before["open"] == 4 and own.why_open == "the lamp went out"
    assert own.ended_heads["A"][0] == Entry.objects.filter(store="A").count()
    for tag in tags.values():
        if state(tag).place in ("store", "bench") and state(tag).store_id == "A":
            hand_out(farm, tag)
    assert sums(own) == before and standing(own, tags["left"]) == "left"
    for act in (
        lambda: chosen(own, farm, tags["missing"], "found"),
        lambda: again(own, farm, tags["out"]),
        lambda: begin.end(own, farm.users["rosa"], timezone.now(), "twice"),
    ):
        with pytest.raises(NotDone, match="ended"):
            act()
