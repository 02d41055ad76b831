"""The pages of audits: told at once how many, drawn, answered by scan and by form, the finding on page and paper."""

from random import Random

import pytest

from crews import policy
from equipment.actions.retag import retag
from equipment.domain import codes, fault_tags
from equipment.domain.counter_tags import COUNTER_TAGS
from equipment.models import Audit, AuditAnswer, Entry
from equipment.models.audits import ABSENT, FAULTY, GOOD
from tests.audits import ask, drawn, row, tags, text
from tests.cast import Farm

ALL_GOOD, UNDO = (
    next(tag.code for tag in COUNTER_TAGS.values() if tag.name == name) for name in ("all_good", "undo")
)
HOLE = fault_tags.code("bag_hole")
ASKED = {"kind": "bag", "where": "store", "limit": "5", "unit": "share", "sure": "95"}


class TestAsking:
    def get(self, client_of, **changed):
        return client_of("olga").get("/audits/new/", {**ASKED, **changed})

    def test_how_many_and_why_and_on_what_it_rests(self, client_of, bags):
        page = text(self.get(client_of))
        assert "Look at 45 of 100" in page  # FAO/IPPC ISPM 31, 2008 (from memory)
        assert "Were 5 of the 100 faulty" in page and "at most 5 %" in page
        for rests in (
            "drawn at random",
            "A fault is seen",
            "The lot does not change",
            "not there counts as faulty",
        ):
            assert rests in page

    def test_a_share_that_is_not_whole_says_which_number_is_meant(self, client_of, ruled_farm: Farm):
        ruled_farm.gear("bag", 47)
        assert "5 % of 47 are 2.35 pieces. 3 is meant" in text(self.get(client_of))

    def test_a_decimal_comma_is_no_mystery(self, client_of, bags):
        assert "2.5 % of 100 are 2.5 pieces. 3 is meant" in text(self.get(client_of, limit="2,5"))

    def test_ladders_are_all_looked_at_with_the_why_and_the_cautions(self, client_of, ruled_farm: Farm):
        ruled_farm.gear("ladder", 30)
        page = text(self.get(client_of, kind="ladder"))
        assert "Look at all 30" in page and "can drop a picker" in page and "never sampled" in page
        assert "Nobody climbs a ladder that is set aside" in page
        assert "local law come first" in page

    @pytest.mark.parametrize(
        ("changed", "why"),
        [
            ({"kind": "clippers"}, "No piece belongs to this lot"),
            ({"limit": "101"}, "no more than 100 %"),
            ({"limit": "2.5", "unit": "number"}, "whole number of pieces"),
            ({"limit": "101", "unit": "number"}, "a whole number from 1 to 100, not 101"),
            ({"limit": "0"}, "greater than or equal"),
            ({"limit": "many"}, "Enter a number"),
            ({"sure": "100"}, "less than or equal to 99.9"),
            ({"sure": "NaN"}, "Enter a number"),
            ({"where": "moon"}, "not one of the available choices"),
            ({"make": "<b>"}, "not one of the available choices"),
        ],
    )
    def test_what_cannot_be_says_why_and_offers_no_draw(self, client_of, bags, changed, why):
        page = self.get(client_of, **changed)
        assert why in text(page) and "Draw them" not in text(page)

    def test_drawn_with_a_seed_that_is_printed(self, client_of, bags):
        page = client_of("olga").post("/audits/new/", ASKED, follow=True)
        audit = Audit.objects.get()
        assert "45 of 100 are drawn" in text(page) and str(audit.seed) in text(page)
        assert tags(audit) == Random(audit.seed).sample(sorted(bags), 45)

    def test_the_lot_as_a_list_that_the_same_is_drawn_from(self, client_of, audit: Audit):
        lot = client_of("mo").get(f"/audits/{audit.pk}/lot.txt").content.decode()
        assert tags(audit) == Random(audit.seed).sample(lot.split(), 45)

    def test_a_draw_that_cannot_be_is_not_made(self, client_of, bags):
        assert client_of("olga").post("/audits/new/", {**ASKED, "limit": "0"}).status_code == 400
        assert client_of("olga").post("/audits/new/", {**ASKED, "kind": "clippers"}).status_code == 400
        assert not Audit.objects.exists()


class TestRights:
    @pytest.mark.parametrize(("who", "may"), [("olga", 200), ("frank", 200), ("rosa", 403), ("mo", 403)])
    def test_who_asks(self, client_of, bags, who, may):
        assert client_of(who).get("/audits/new/").status_code == may

    @pytest.mark.parametrize(
        "path", ["/audits/", "/audits/{n}/", "/audits/{n}/report.pdf", "/audits/{n}/lot.txt"]
    )
    def test_who_looks(self, client_of, audit: Audit, path):
        seen = {
            who: client_of(who).get(path.format(n=audit.pk)).status_code
            for who in ("rosa", "mo", "frank", "sam")
        }
        assert seen == {"rosa": 200, "mo": 200, "frank": 200, "sam": 403}

    @pytest.mark.parametrize("action", ["inspect", "report_fault", "take_stock", "reverse"])
    def test_whoever_answers_may_write_every_line_of_an_answer(self, action):
        assert policy.ENDPOINTS["audit"].change <= policy.ACTIONS[action]

    @pytest.mark.parametrize(("who", "may"), [("olga", True), ("rosa", True), ("mo", True), ("frank", False)])
    def test_who_answers(self, scan, audit: Audit, who, may):
        response = scan(tags(audit)[0], "good", who=who)
        assert (response.status_code == 200) == may and AuditAnswer.objects.exists() == may

    def test_one_who_only_looks_is_offered_no_field(self, client_of, audit: Audit):
        assert "Scan or type a tag" not in text(client_of("frank").get(f"/audits/{audit.pk}/"))

    def test_the_storeman_does_not_close(self, client_of, audit: Audit):
        assert client_of("rosa").post(f"/audits/{audit.pk}/close/", {"why": "no"}).status_code == 403

    def test_an_audit_that_never_was(self, client_of, audit: Audit):
        for path in ("/audits/99/", "/audits/99/report.pdf", "/audits/99/lot.txt"):
            assert client_of("olga").get(path).status_code == 404


class TestScanning:
    def test_a_scan_opens_the_piece_and_the_all_good_tag_answers(self, scan, audit: Audit):
        tag = tags(audit)[0]
        page = scan(tag)
        assert f"Picking bag {tag}" in text(page) and "Not there" in text(page)
        assert f"{tag}: good. 44 are left." in text(scan(ALL_GOOD, piece=tag))

    def test_a_fault_tag_says_what_is_wrong(self, scan, audit: Audit):
        tag = tags(audit)[0]
        assert f"{tag}: faulty (Hole). 44 are left." in text(scan(HOLE, piece=tag))
        assert AuditAnswer.objects.get().said == FAULTY

    def test_one_scan_a_piece_where_a_scan_says_good(self, scan, audit: Audit):
        page = scan(ALL_GOOD)
        assert "Every scan of a drawn piece now says" in text(page)
        for tag in tags(audit)[:3]:
            page = scan(tag, "good")
        assert "42 are left" in text(page) and "Every scan of a drawn piece now says" in text(page)
        assert "Every scan" not in text(scan(ALL_GOOD, "good"))

    def test_a_piece_that_was_not_drawn_is_said_and_opened_never_counted(self, scan, audit: Audit, bags):
        other = next(tag for tag in bags if tag not in tags(audit))
        for mode in ("open", "good"):
            assert "not in the sample" in text(scan(other, mode))
        assert not AuditAnswer.objects.exists() and not Entry.objects.filter(verb="inspected").exists()
        assert "does not count here" in text(scan(ALL_GOOD, piece=other))
        assert not AuditAnswer.objects.exists()

    def test_sent_again_nothing_is_written_twice(self, scan, audit: Audit):
        tag = tags(audit)[0]
        scan(tag, "good")
        assert "answered so already: good. Nothing is written twice." in text(scan(tag, "good"))
        assert Entry.objects.filter(act=audit.act).count() == 1

    def test_the_undo_tag_takes_the_last_answer_back(self, scan, audit: Audit):
        first, second = tags(audit)[:2]
        scan(first, "good")
        scan(HOLE, piece=second)
        assert f"The answer for {second} is taken back" in text(scan(UNDO))
        assert f"The answer for {first} is taken back" in text(scan(UNDO))
        assert "You have answered nothing here" in text(scan(UNDO))

    @pytest.mark.parametrize(
        ("code", "piece", "why"),
        [
            ("nonsense", "", "is not a code"),
            (codes.make("BG", 9999), "", "No item has the code"),
            (HOLE, "", "Scan the piece first"),
            (COUNTER_TAGS[1].code, "", "does nothing at an audit"),
            ("", "", "Scan or type a tag first"),
            (codes.make("PK", 1), "", "No item has the code"),
            (ALL_GOOD, "gone", "is not a code"),
        ],
    )
    def test_what_makes_no_sense_says_what_to_do(self, scan, audit: Audit, code, piece, why):
        assert why in text(scan(code, piece=piece))
        assert not AuditAnswer.objects.exists()

    def test_a_fault_that_this_kind_cannot_have(self, scan, audit: Audit):
        said = text(scan(fault_tags.code("ladder_wobble"), piece=tags(audit)[0]))
        assert "is no fault of this kind of gear" in said and not AuditAnswer.objects.exists()

    def test_a_piece_with_a_new_label_is_still_the_one_that_was_drawn(
        self, scan, ruled_farm: Farm, audit: Audit
    ):
        tag, new = tags(audit)[0], codes.make("BG", 500)
        retag(ruled_farm.pen(), row(tag), new)
        assert f"drawn as {tag}" in text(scan(new))
        assert f"{new}: good. 44 are left." in text(scan(new, "good"))


class TestForms:
    def test_good_faulty_and_not_there_by_hand(self, say, audit: Audit):
        one, two, three = tags(audit)[:3]
        say(one, said=GOOD)
        say(two, said=FAULTY, fault="bag_hole", note="left side")
        page = say(three, said=ABSENT)
        assert "1 good, 1 faulty, 1 not there" in text(page) and "42 are left" in text(page)
        assert Entry.objects.get(act=audit.act, verb="fault_found").written_note.text == "left side"

    @pytest.mark.parametrize("said", [{"said": FAULTY}, {"said": FAULTY, "fault": "nonsense"}])
    def test_faulty_wants_a_fault(self, say, audit: Audit, said):
        assert "there is no fault" in text(say(tags(audit)[0], **said))
        assert not AuditAnswer.objects.exists()

    def test_a_checklist_that_is_not_whole_comes_back_with_what_is_missing(self, client_of, ruled_farm: Farm):
        (kit, _other) = ruled_farm.gear("first_aid_kit", 2, size="class A")
        audit = drawn(ruled_farm, ask("first_aid_kit"))
        path = f"/audits/{audit.pk}/answer/{kit}/"
        said = {"checklist": "first_aid_weekly", "point_sealed": "yes", "point_full": "no"}
        page = client_of("olga").post(path, said)
        assert page.status_code == 400 and "Not answered yet" in text(page)
        page = client_of("olga").post(path, {**said, "point_in_date": "yes"}, follow=True)
        assert f"{kit}: faulty." in text(page) and AuditAnswer.objects.get().faults == ["first_aid_short"]

    def test_a_checklist_of_another_kind_is_nothing(self, say, audit: Audit):
        assert say(tags(audit)[0], checklist="ladder_monthly").status_code == 404

    def test_one_answer_is_taken_back_by_its_own_number(self, client_of, say, audit: Audit):
        one, two = tags(audit)[:2]
        say(one, said=GOOD)
        number = AuditAnswer.objects.get().pk
        say(two, said=GOOD)
        for _ in range(2):
            client_of("olga").post(f"/audits/{audit.pk}/take-back/", {"answer": number})
        assert AuditAnswer.objects.get(undone_at=None).piece.tag == two
