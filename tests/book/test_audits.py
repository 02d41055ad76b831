"""An audit in the book: what is drawn, what each answer writes, what happens to a piece in between, two at once."""

import threading
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection
from django.utils import timezone

from equipment.actions.audit.answering import Look
from equipment.actions.audit.closing import close, take_back
from equipment.actions.audit.drawing import draw_sample, plan
from equipment.actions.audit.reading import last_answer, standing
from equipment.actions.mend import Mend, mend
from equipment.actions.miss import miss
from equipment.actions.report_fault import report_fault
from equipment.actions.sensible import Senseless
from equipment.actions.undo import last_line, undo
from equipment.actions.wording import NotDone
from equipment.actions.write_off import write_off
from equipment.actions.writing import new_id
from equipment.domain.audit import draw
from equipment.models import Audit, AuditAnswer, Entry
from equipment.models.audits import ABSENT, FAULTY, GOOD
from tests.audits import SEED, ask, drawn, look, row, tags
from tests.cast import Farm
from tests.farm import Post

HOLE = Look(FAULTY, "bag_hole")


@pytest.fixture
def bags(ruled_farm: Farm) -> list[str]:
    return ruled_farm.gear("bag", 20)


def written(audit: Audit) -> list[Entry]:
    return list(Entry.objects.filter(act=audit.act).order_by("position"))


class TestDrawing:
    def test_the_sample_is_what_anybody_draws_from_the_kept_lot(self, ruled_farm: Farm, bags):
        audit = drawn(ruled_farm)
        assert audit.lot == sorted(bags) and audit.count == 20
        assert tags(audit) == draw(bags, audit.sample, SEED)

    def test_every_audit_has_a_seed_of_its_own(self, ruled_farm: Farm, bags):
        seeds = {drawn(ruled_farm, seed=None).seed for _ in range(3)}  # type: ignore[arg-type]
        assert len(seeds) == 3

    def test_the_form_sent_twice_draws_once(self, ruled_farm: Farm, bags):
        act, by = new_id(), ruled_farm.users["olga"]
        first = draw_sample(ask(), act, by, timezone.now())
        assert draw_sample(ask(), act, by, timezone.now()) == first
        assert Audit.objects.count() == 1

    def test_a_share_that_is_not_whole_means_the_next_whole_number(self, ruled_farm: Farm, bags):
        planned = plan(ask(share="12"))
        assert planned.question.faulty == 3 and planned.rounded is not None  # 2.4 of 20

    def test_the_lot_is_what_lies_in_the_store_and_on_the_bench(self, ruled_farm: Farm, bags, post: Post):
        post(ruled_farm.entry("handed_out", item=bags[0], picker=ruled_farm.badges["ana"]))
        report_fault(ruled_farm.pen(), row(bags[1]), "bag_hole")
        ruled_farm.gear("bag", 5, store="B")
        ruled_farm.gear("gloves", 5)
        here = plan(ask(store="A"))
        assert (here.question.lot, here.aside) == (19, 1)
        assert plan(ask()).question.lot == 24
        assert plan(ask(where="farm")).question.lot == 25

    def test_what_is_missing_is_left_out_and_said_what_is_gone_is_nothing(self, ruled_farm: Farm, bags):
        miss(ruled_farm.pen(), row(bags[0]))
        write_off(ruled_farm.pen(), row(bags[1]), "worn_out", "")
        planned = plan(ask(where="farm"))
        assert (planned.question.lot, planned.left_out) == (18, 1)

    def test_narrowed_by_make_size_and_delivery(self, ruled_farm: Farm):
        ruled_farm.gear("gloves", 3, make="Handskoen", size="M", delivery="D1")
        ruled_farm.gear("gloves", 4, make="Handskoen", size="L", delivery="D1")
        ruled_farm.gear("gloves", 5, make="Vatvas", size="L", delivery="D2")
        for limits, count in (({"make": "Handskoen"}, 7), ({"size": "L"}, 9), ({"delivery": "D2"}, 5)):
            assert plan(ask("gloves", 1, **limits)).question.lot == count

    @pytest.mark.parametrize("kind", ["ladder", "goggles", "trailer", "first_aid_kit"])
    def test_what_can_maim_is_never_sampled(self, ruled_farm: Farm, kind: str):
        pieces = ruled_farm.gear(kind, 12)
        audit = drawn(ruled_farm, ask(kind, faulty=6))
        assert audit.every and audit.sample == 12 and tags(audit) == sorted(pieces)
        assert audit.faulty == 1
        assert plan(ask(kind, faulty=6)).why_all

    @pytest.mark.parametrize(
        ("wanted", "why"),
        [
            (ask("clippers"), "No piece belongs to this lot"),
            (
                ask(faulty=21),
                "Faulty pieces that must not be missed: give a whole number from 1 to 20, not 21",
            ),
            (ask(faulty=0), "not 0"),
        ],
    )
    def test_what_cannot_be_asked_says_what_to_do(self, ruled_farm: Farm, bags, wanted, why):
        with pytest.raises(NotDone, match=why):
            plan(wanted)


class TestAnswers:
    def test_good_is_the_checklist_answered_in_the_book(self, ruled_farm: Farm, bags):
        audit = drawn(ruled_farm)
        look(ruled_farm, audit, tags(audit)[0], Look(GOOD))
        (entry,) = written(audit)
        assert (entry.verb, entry.by.username) == ("inspected", "olga")
        assert entry.detail["checklist"] == "bag_weekly" and set(entry.detail["answers"].values()) <= {
            "yes",
            "no",
        }
        assert not entry.detail.get("failed")

    def test_of_a_kind_without_a_checklist_it_is_seen_and_found_good(self, ruled_farm: Farm):
        ruled_farm.gear("gloves", 3)
        audit = drawn(ruled_farm, ask("gloves", 1))
        look(ruled_farm, audit, tags(audit)[0], Look(GOOD))
        (entry,) = written(audit)
        assert (entry.verb, entry.detail) == ("seen", {"good": True})

    def test_faulty_is_the_fault_in_the_book_and_the_piece_set_aside(self, ruled_farm: Farm, bags):
        audit = drawn(ruled_farm)
        tag = tags(audit)[0]
        look(ruled_farm, audit, tag, HOLE)
        (entry,) = written(audit)
        assert (entry.verb, entry.detail["fault"]) == ("fault_found", "bag_hole")
        assert row(tag).place == "bench"

    def test_a_second_fault_of_the_same_piece_is_one_more_line_and_one_faulty_piece(
        self, ruled_farm: Farm, bags
    ):
        audit = drawn(ruled_farm)
        tag = tags(audit)[0]
        look(ruled_farm, audit, tag, HOLE)
        look(ruled_farm, audit, tag, Look(FAULTY, "bag_torn_seam"))
        assert len(written(audit)) == 2 and standing(audit).counts == {FAULTY: 1}
        assert AuditAnswer.objects.get().faults == ["bag_hole", "bag_torn_seam"]

    def test_not_there_writes_nothing_in_the_book_and_counts(self, ruled_farm: Farm, bags):
        audit = drawn(ruled_farm)
        look(ruled_farm, audit, tags(audit)[0], Look(ABSENT))
        assert written(audit) == [] and standing(audit).counts == {ABSENT: 1}

    def test_sent_again_it_is_written_once(self, ruled_farm: Farm, bags):
        audit = drawn(ruled_farm)
        good, bad = tags(audit)[:2]
        for _ in range(2):
            first, second = (look(ruled_farm, audit, good, Look(GOOD)), look(ruled_farm, audit, bad, HOLE))
        assert first.already and second.already
        assert [entry.verb for entry in written(audit)] == ["inspected", "fault_found"]

    def test_another_answer_is_not_taken_until_the_first_is_taken_back(self, ruled_farm: Farm, bags):
        audit = drawn(ruled_farm)
        tag = tags(audit)[0]
        look(ruled_farm, audit, tag, Look(GOOD))
        with pytest.raises(NotDone, match=f"{tag} is answered already: good, by olga"):
            look(ruled_farm, audit, tag, HOLE, who="mo")
        assert row(tag).place == "store"

    def test_a_piece_that_was_not_drawn_goes_into_the_book_and_does_not_count(self, ruled_farm: Farm, bags):
        audit = drawn(ruled_farm)
        other = next(tag for tag in bags if tag not in tags(audit))
        assert not look(ruled_farm, audit, other, HOLE).counted
        assert written(audit) == [] and standing(audit).answers == {}
        assert Entry.objects.filter(item__labels=other, verb="fault_found").exists()

    def test_what_has_a_fault_by_the_book_is_not_called_good(self, ruled_farm: Farm, bags):
        report_fault(ruled_farm.pen(), row(bags[0]), "bag_hole")
        audit = drawn(ruled_farm, ask(faulty=1, sure=99))
        assert audit.sample == 20
        with pytest.raises(NotDone, match="not all good by the book: Hole"):
            look(ruled_farm, audit, bags[0], Look(GOOD))
        look(ruled_farm, audit, bags[0], HOLE)
        assert standing(audit).counts == {FAULTY: 1}

    def test_what_is_kept_for_the_record_is_answered_point_by_point(self, ruled_farm: Farm):
        whole, short = ruled_farm.gear("first_aid_kit", 2, size="class A")
        audit = drawn(ruled_farm, ask("first_aid_kit"))
        with pytest.raises(NotDone, match="point by point"):
            look(ruled_farm, audit, whole, Look(GOOD))
        yes = dict.fromkeys(("sealed", "full", "in_date"), "yes")
        look(ruled_farm, audit, whole, Look(checklist="first_aid_weekly", answers=yes))
        look(ruled_farm, audit, short, Look(checklist="first_aid_weekly", answers={**yes, "full": "no"}))
        assert standing(audit).counts == {GOOD: 1, FAULTY: 1}
        assert AuditAnswer.objects.get(said=FAULTY).faults == ["first_aid_short"]

    def test_a_fault_of_another_kind_of_gear_is_refused(self, ruled_farm: Farm, bags):
        audit = drawn(ruled_farm)
        with pytest.raises(Senseless):
            look(ruled_farm, audit, tags(audit)[0], Look(FAULTY, "ladder_wobble"))
        assert standing(audit).answers == {}


class TestInBetween:
    def test_handed_out_meanwhile_it_is_looked_at_where_it_is(self, ruled_farm: Farm, bags, post: Post):
        audit = drawn(ruled_farm)
        tag = tags(audit)[0]
        post(ruled_farm.entry("handed_out", item=tag, picker=ruled_farm.badges["ana"]))
        look(ruled_farm, audit, tag, Look(GOOD))
        assert row(tag).place == "picker" and standing(audit).counts == {GOOD: 1}

    def test_written_off_meanwhile_it_can_only_be_not_there(self, ruled_farm: Farm, bags):
        audit = drawn(ruled_farm)
        tag = tags(audit)[0]
        write_off(ruled_farm.pen(), row(tag), "worn_out", "")
        for found in (Look(GOOD), HOLE):
            with pytest.raises(NotDone, match="written off"):
                look(ruled_farm, audit, tag, found)
        look(ruled_farm, audit, tag, Look(ABSENT))
        assert standing(audit).counts == {ABSENT: 1}

    def test_missing_meanwhile_it_is_marked_found_first(self, ruled_farm: Farm, bags):
        audit = drawn(ruled_farm)
        tag = tags(audit)[0]
        miss(ruled_farm.pen(), row(tag))
        with pytest.raises(NotDone, match="mark it found first"):
            look(ruled_farm, audit, tag, Look(GOOD))

    def test_a_line_struck_by_another_way_asks_for_the_piece_again(self, ruled_farm: Farm, bags):
        audit = drawn(ruled_farm)
        tag = tags(audit)[0]
        look(ruled_farm, audit, tag, HOLE)
        last = last_line(row(tag).item_id)
        assert last is not None
        undo(ruled_farm.pen(), row(tag), last.pk)
        now = standing(audit)
        assert now.counts == {} and [each.piece.tag for each in now.struck] == [tag]
        look(ruled_farm, audit, tag, Look(GOOD))
        assert standing(audit).counts == {GOOD: 1} and not standing(audit).struck


class TestTakingBack:
    def test_an_answer_and_its_lines(self, ruled_farm: Farm, bags):
        audit = drawn(ruled_farm)
        tag = tags(audit)[0]
        look(ruled_farm, audit, tag, HOLE)
        look(ruled_farm, audit, tag, Look(FAULTY, "bag_torn_seam"))
        last = last_answer(audit, ruled_farm.users["olga"])
        assert last is not None
        for _ in range(2):  # sent twice it is done once
            take_back(ruled_farm.pen("olga"), audit, last.pk)
        assert standing(audit).answers == {} and row(tag).place == "store"
        assert [entry.verb for entry in written(audit)] == ["fault_found"] * 2 + ["reversed"] * 2
        look(ruled_farm, audit, tag, Look(GOOD))
        assert standing(audit).counts == {GOOD: 1}

    def test_the_last_answer_is_ones_own(self, ruled_farm: Farm, bags):
        audit = drawn(ruled_farm)
        mine, theirs = tags(audit)[:2]
        look(ruled_farm, audit, mine, Look(GOOD))
        look(ruled_farm, audit, theirs, Look(GOOD), who="mo")
        last = last_answer(audit, ruled_farm.users["olga"])
        assert last is not None and last.piece.tag == mine

    def test_what_was_built_on_since_is_not_pulled_away(self, ruled_farm: Farm, bags):
        audit = drawn(ruled_farm)
        tag = tags(audit)[0]
        look(ruled_farm, audit, tag, HOLE)
        mend(ruled_farm.pen("mo"), row(tag), Mend("bag_hole", "patched", 5))
        with pytest.raises(NotDone, match="stands on that answer"):
            take_back(ruled_farm.pen("olga"), audit, AuditAnswer.objects.get().pk)
        assert standing(audit).counts == {FAULTY: 1}

    def test_of_another_audit_it_is_nothing(self, ruled_farm: Farm, bags):
        one, other = drawn(ruled_farm), drawn(ruled_farm)
        look(ruled_farm, one, tags(one)[0], Look(GOOD))
        with pytest.raises(NotDone, match="no such answer"):
            take_back(ruled_farm.pen("olga"), other, AuditAnswer.objects.get().pk)


class TestClosing:
    def test_nothing_is_found_before_the_last_answer(self, ruled_farm: Farm, bags):
        audit = drawn(ruled_farm)
        for tag in tags(audit)[:-1]:
            look(ruled_farm, audit, tag, Look(GOOD))
        assert standing(audit).finding is None
        look(ruled_farm, audit, tags(audit)[-1], Look(GOOD))
        found = standing(audit).finding
        assert found is not None and found.verdict == "within" and found.most == 4

    def test_closed_nothing_changes_any_more(self, ruled_farm: Farm, bags):
        audit = drawn(ruled_farm)
        for tag in tags(audit):
            look(ruled_farm, audit, tag, Look(GOOD))
        close(audit, ruled_farm.users["olga"], timezone.now())
        with pytest.raises(NotDone, match="closed"):
            take_back(ruled_farm.pen("olga"), audit, AuditAnswer.objects.first().pk)  # type: ignore[union-attr]
        with pytest.raises(NotDone, match="closed"):
            look(ruled_farm, audit, tags(audit)[0], HOLE)
        with pytest.raises(NotDone, match="closed"):
            close(audit, ruled_farm.users["olga"], timezone.now())

    def test_unfinished_it_wants_a_why_and_says_nothing(self, ruled_farm: Farm, bags):
        audit = drawn(ruled_farm)
        with pytest.raises(NotDone, match="why"):
            close(audit, ruled_farm.users["olga"], timezone.now(), "  ")
        close(audit, ruled_farm.users["olga"], timezone.now(), "The store burns.")
        assert standing(audit).finding is None and audit.why == "The store burns."

    def test_what_is_struck_after_closing_is_said_and_the_finding_stays(self, ruled_farm: Farm, bags):
        audit = drawn(ruled_farm)
        for tag in tags(audit):
            look(ruled_farm, audit, tag, Look(GOOD))
        close(audit, ruled_farm.users["olga"], timezone.now())
        tag = tags(audit)[0]
        last = last_line(row(tag).item_id)
        assert last is not None
        undo(ruled_farm.pen(), row(tag), last.pk)
        now = standing(Audit.objects.get())
        assert now.finding is not None and [each.piece.tag for each in now.struck] == [tag]


@pytest.mark.django_db(transaction=True)
class TestAtOnce:
    """Two people, two connections."""

    def both(self, *things):
        together = threading.Barrier(len(things))

        def run(thing):
            together.wait(10)
            try:
                return thing()
            except NotDone as why:
                return why
            finally:
                connection.close()

        with ThreadPoolExecutor(len(things)) as hands:
            return list(hands.map(run, things))

    @pytest.mark.parametrize("second", [Look(GOOD), HOLE], ids=["the same", "another"])
    def test_two_answer_one_piece_and_one_of_them_is_first(self, ruled_farm: Farm, second):
        ruled_farm.gear("bag", 20)
        audit = drawn(ruled_farm)
        for tag in tags(audit)[:5]:
            told = self.both(
                lambda tag=tag: look(ruled_farm, audit, tag, Look(GOOD)),
                lambda tag=tag: look(ruled_farm, audit, tag, second, who="mo"),
            )
            late = [each for each in told if isinstance(each, NotDone) or each.already]
            assert len(late) == 1
        assert len(written(audit)) == 5 and sum(standing(audit).counts.values()) == 5

    def test_two_work_side_by_side(self, ruled_farm: Farm):
        ruled_farm.gear("bag", 20)
        audit = drawn(ruled_farm)
        mine, theirs = tags(audit)[::2], tags(audit)[1::2]
        self.both(
            lambda: [look(ruled_farm, audit, tag, Look(GOOD)) for tag in mine],
            lambda: [look(ruled_farm, audit, tag, Look(GOOD), who="mo") for tag in theirs],
        )
        assert standing(audit).left == 0
