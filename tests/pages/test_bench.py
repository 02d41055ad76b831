"""The bench: in the order of work, one scan to begin with each piece, forms that come back to it."""

import re
from datetime import timedelta
from html import unescape

import pytest
from django.utils import timezone

from equipment.actions.mend import Mend, mend
from equipment.actions.report_fault import report_fault
from equipment.actions.writing import Pen
from equipment.domain import codes, fault_tags
from equipment.domain.counter_tags import COUNTER_TAGS
from equipment.models import Entry, ItemState
from equipment.pages.bench.lists import LINES
from tests.cast import Farm
from tests.documents.reading import scanned, words
from tests.farm import Post

ALL_GOOD = next(tag.code for tag in COUNTER_TAGS.values() if tag.name == "all_good")
SAID = {"method": "sewn", "minutes": "12", "parts": "", "where": "shed"}


def row(tag: str) -> ItemState:
    return ItemState.objects.get(tag=tag)


def text(response) -> str:
    html = response.content.decode().partition('id="content"')[2].partition("<dialog")[0]
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def listed(response, part: str) -> list[str]:
    """The tags of one list, in order."""
    section = response.content.decode().partition(f'id="part-{part}"')[2].partition("</section>")[0]
    return re.findall(r'class="tag"[^>]*>(\w+)</a>', section)


@pytest.fixture
def broken(ruled_farm: Farm):
    """`broken(kind, fault, count, days_ago)`: pieces with a fault, found so many days ago."""

    def breaking(
        kind: str, fault: str, count: int = 1, days_ago: int = 0, store: str = "A", **traits
    ) -> list[str]:
        tags = ruled_farm.gear(kind, count, store=store, days_ago=days_ago + 1, **traits)
        pen = Pen(ruled_farm.users["rosa"], store, timezone.now() - timedelta(days=days_ago))
        for tag in tags:
            assert report_fault(pen, row(tag), fault).recorded
        return tags

    return breaking


@pytest.fixture
def look(client_of):
    def get(query: str = "", who: str = "mo"):
        return client_of(who).get(f"/bench/{query}")

    return get


@pytest.fixture
def scan(client_of):
    """`scan(code, mode, piece)` as Mo; the page that comes of it."""

    def press(code: str, mode: str = "open", piece: str = "", who: str = "mo", keep: str = ""):
        said = {"code": code, "scan": mode, "piece": piece, "keep": keep}
        return client_of(who).post("/bench/", said, follow=True)

    return press


@pytest.fixture
def act(client_of):
    def press(name: str, item: str, /, who: str = "mo", **said):
        return client_of(who).post(f"/bench/{item}/{name}/", said, follow=True)

    return press


class TestLists:
    @pytest.mark.parametrize("name", ["rosa", "mo", "olga", "frank"])
    def test_what_is_set_aside_oldest_first(self, look, broken, name):
        newer = broken("bag", "bag_hole", 2, days_ago=1)
        older = broken("goggles", "goggles_cracked", days_ago=3)
        assert listed(look(who=name), "mend") == older + newer

    def test_a_supervisor_has_no_bench(self, look, ruled_farm: Farm):
        assert look(who="sam").status_code == 403

    def test_what_is_mended_waits_in_a_list_of_its_own(self, look, broken, ruled_farm: Farm):
        (ladder, other) = broken("ladder", "ladder_loose_rung", 2)
        mend(ruled_farm.pen("mo"), row(ladder), Mend("ladder_loose_rung", "new", 40))
        page = look()
        assert listed(page, "pass") == [ladder] and listed(page, "mend") == [other]

    def test_with_one_fault_mended_and_one_not_it_is_still_to_mend(self, look, broken, ruled_farm: Farm):
        (ladder,) = broken("ladder", "ladder_loose_rung")
        report_fault(ruled_farm.pen(), row(ladder), "ladder_wobble")
        mend(ruled_farm.pen("mo"), row(ladder), Mend("ladder_wobble", "tightened", 4))
        assert listed(look(), "mend") == [ladder] and listed(look(), "pass") == []

    def test_what_is_to_mend_by_a_day_the_first_day_first(self, look, broken, ruled_farm: Farm, post: Post):
        (late,), (soon,) = (
            broken("clippers", "clippers_light_rust", days_ago=5),
            broken("overalls", "overalls_torn"),
        )
        page = look()
        assert listed(page, "by") == [late, soon] and "overdue" in text(page)

    def test_what_is_out_is_listed_by_its_day_and_said_to_be_out(self, look, ruled_farm: Farm, post: Post):
        (tag,) = ruled_farm.gear("bag")
        post(ruled_farm.entry("handed_out", item=tag, picker=ruled_farm.badges["ana"]))
        report_fault(ruled_farm.pen(), row(tag), "tag_unreadable")
        page = look()
        assert listed(page, "by") == [tag] and " out" in text(page)

    def test_inspections_that_keep_gear_here_are_listed_those_that_do_not_are_counted(
        self, look, ruled_farm: Farm
    ):
        (ladder,) = ruled_farm.gear("ladder")
        ruled_farm.gear("clippers", 3)
        page = look()
        assert listed(page, "inspect") == [ladder]
        assert "Clippers, before they go out (Clippers): 3" in text(page)

    def test_one_that_is_not_due_yet_is_not_listed(self, look, act, ruled_farm: Farm):
        (kit,) = ruled_farm.gear("first_aid_kit", size="class A")
        said = {
            "checklist": "first_aid_weekly",
            "point_sealed": "yes",
            "point_full": "yes",
            "point_in_date": "yes",
        }
        assert listed(act("inspect", kit, **said), "inspect") == []

    def test_narrowed_by_store_and_kind(self, look, broken):
        here, there = broken("bag", "bag_hole"), broken("bag", "bag_hole", store="B")
        glove = broken("gloves", "glove_hole")
        assert listed(look("?store=B"), "mend") == there
        assert listed(look("?kind=gloves"), "mend") == glove
        assert set(listed(look(), "mend")) == {*here, *there, *glove}

    def test_a_person_of_one_store_begins_with_it(self, look, broken, ruled_farm: Farm):
        here, _there = broken("bag", "bag_hole"), broken("bag", "bag_hole", store="B")
        user = ruled_farm.users["mo"]
        user.store_id = "A"
        user.save()
        assert listed(look(), "mend") == here
        assert len(listed(look("?store="), "mend")) == 2

    @pytest.mark.parametrize(
        "query", ["?store=Z&kind=unicorn", "?piece=BG9999X", "?piece=%00", "?scan=maybe"]
    )
    def test_an_address_that_makes_no_sense_still_shows_the_bench(self, client_of, ruled_farm: Farm, query):
        assert client_of("mo").get(f"/bench/{query}", follow=True).status_code == 200

    def test_an_empty_bench_says_what_brings_a_piece_here(self, look, ruled_farm: Farm):
        assert "Nothing lies on the bench." in text(look())
        assert "Choose all kinds" in text(look("?kind=bag"))

    def test_a_long_list_says_how_many_more(self, look, broken):
        broken("bag", "bag_hole", LINES + 2)
        assert len(listed(look(), "mend")) == LINES and "2 more are not shown" in text(look())


class TestTomorrow:
    def test_what_the_next_day_is_short_of_comes_first(self, look, broken, ruled_farm: Farm):
        """Ana and Ben pick tomorrow: two bags and a spare are asked for, one is fit; goggles are only advised."""
        older = broken("overalls", "hurt_someone", days_ago=9)
        (bag,) = broken("bag", "bag_hole")
        ruled_farm.gear("bag")
        assert listed(look(), "mend") == [*older, bag]
        ruled_farm.plan("red", "S2", days=1, clipped=False)
        page = look()
        assert listed(page, "mend") == [bag, *older]
        assert "Picking bags A 3 1 2 1" in text(page) and "in the plan" in text(page)

    def test_enough_fit_pieces_leave_the_oldest_first(self, look, broken, ruled_farm: Farm, post: Post):
        older, (bag,) = broken("overalls", "hurt_someone", days_ago=9), broken("bag", "bag_hole")
        *_two, other = ruled_farm.gear("bag", 3)
        post(
            ruled_farm.entry("handed_out", item=other, picker=ruled_farm.badges["ana"])
        )  # comes back tonight
        ruled_farm.plan("red", "S2", days=1, clipped=False)
        ruled_farm.gear("first_aid_kit")
        assert listed(look(), "mend") == [*older, bag]

    def test_another_store_or_a_cancelled_plan_asks_nothing_here(self, look, broken, ruled_farm: Farm):
        older, (bag,) = broken("overalls", "hurt_someone", days_ago=9), broken("bag", "bag_hole")
        ruled_farm.plan("blue", "S2", days=1)  # draws from store B
        ruled_farm.plan("red", "S2", days=1, state="cancelled")
        assert listed(look(), "mend") == [*older, bag]

    def test_over_a_day_without_plans_to_the_next(self, look, broken, ruled_farm: Farm):
        ruled_farm.plan("red", "S2", days=3, clipped=False)
        broken("bag", "bag_hole")
        day = timezone.localdate() + timedelta(days=3)
        assert f"{day:%A} {day.day} {day:%B} is short of" in text(look())

    def test_what_an_overdue_inspection_keeps_here_is_not_fit(self, look, ruled_farm: Farm):
        ruled_farm.plan("red", "N4", days=1)  # tall trees: ladders
        ruled_farm.gear("ladder", 9)
        page = look()
        assert "Ladders A 1 0 1 0" in text(page)
        (planned,) = [row for row in page.content.decode().split("<tr") if "in the plan" in row]
        assert listed(page, "inspect")[0] in planned


class TestScanning:
    def test_a_scan_opens_the_piece_with_all_that_the_mender_needs(self, scan, broken):
        (tag,) = broken("clippers", "clippers_blunt")
        page = text(scan(f" https://farm.example/t/{tag.lower()} "))
        for said in (
            "Blunt",
            "They tear or squash a stalk",
            "Sharpen on the stone",
            "heat softens the edge",
            "Close and latch them before you carry them",
            "The maker's instructions and local law come first.",
            "Stops its use until it is mended.",
        ):
            assert said in page

    def test_the_form_of_the_first_fault_stands_open_and_filled(self, scan, broken):
        (tag,) = broken("clippers", "clippers_blunt")
        html = scan(tag).content.decode()
        assert 'id="do-mend_clippers_blunt" open' in html and 'name="minutes" value="10"' in html

    @pytest.mark.parametrize(
        ("code", "why"),
        [
            ("rubbish", "is not a code"),
            ("BG9999X", "misread"),
            (codes.make("BG", 9999), "No item has the code"),
            (codes.make(codes.COUNTER, 1), "This tag is for a counter"),
            (fault_tags.code("bag_hole"), "Scan the piece first"),
        ],
    )
    def test_what_is_no_piece_is_said(self, scan, ruled_farm: Farm, code, why):
        page = scan(code)
        assert page.status_code == 200 and why in text(page)

    def test_all_good_by_one_scan_a_piece(self, scan, ruled_farm: Farm):
        one, other = ruled_farm.gear("clippers", 2)
        page = scan(one, "good")
        assert f"{one}: looked over, all good." in text(page) and "Every scan now says" in text(page)
        scan(other, "good")
        answers = [entry.detail["answers"] for entry in Entry.objects.filter(verb="inspected")]
        assert len(answers) == 2 and set(answers[0].values()) == {"yes"}
        page = scan(one, "good")
        assert "nothing to look over on it now" in text(page)
        assert Entry.objects.filter(verb="inspected").count() == 2

    def test_a_piece_with_a_fault_is_not_all_good(self, scan, broken):
        (tag,) = broken("bag", "bag_hole")
        page = text(scan(tag, "good"))
        assert f"{tag} is not all good: Hole." in page and "A finger goes through the cloth." in page
        assert not Entry.objects.filter(verb="inspected").exists()

    def test_a_checklist_for_the_record_takes_more_than_a_scan(self, scan, ruled_farm: Farm):
        (kit,) = ruled_farm.gear("first_aid_kit")
        assert "nothing to look over" in text(scan(kit, "good"))
        assert not Entry.objects.filter(verb="inspected").exists()

    def test_the_all_good_tag_turns_the_scans_round_and_back(self, scan, ruled_farm: Farm):
        assert "Every scan now says" in text(scan(ALL_GOOD))
        assert "Every scan now says" not in text(scan(ALL_GOOD, "good"))

    def test_with_a_piece_open_the_tag_means_that_piece(self, scan, ruled_farm: Farm):
        (tag,) = ruled_farm.gear("clippers")
        assert f"{tag}: looked over, all good." in text(scan(ALL_GOOD, piece=tag))

    def test_the_tag_of_a_fault_says_what_is_wrong_with_the_open_piece(self, scan, ruled_farm: Farm):
        (tag,) = ruled_farm.gear("bag")
        page = scan(fault_tags.code("bag_hole"), piece=tag)
        assert f"{tag}: Hole is written down." in text(page) and row(tag).place == "bench"
        assert "is no fault of this kind" in text(scan(fault_tags.code("ladder_wobble"), piece=tag))

    def test_the_tag_of_a_fault_that_is_open_opens_its_form(self, scan, broken, ruled_farm: Farm):
        (tag,) = broken("bag", "bag_hole")
        report_fault(ruled_farm.pen(), row(tag), "bag_bottom")
        html = scan(fault_tags.code("bag_bottom"), piece=tag).content.decode()
        assert 'id="do-mend_bag_bottom" open' in html and 'id="do-mend_bag_hole" open' not in html
        assert Entry.objects.filter(verb="fault_found").count() == 2

    def test_who_may_not_inspect_is_told(self, scan, ruled_farm: Farm):
        (tag,) = ruled_farm.gear("clippers")
        assert "You may not do this." in text(scan(tag, "good", who="frank"))
        assert not Entry.objects.filter(verb="inspected").exists()

    def test_the_bench_stays_narrowed(self, scan, broken):
        (tag,) = broken("bag", "bag_hole")
        answer = scan(tag, keep="store=A&kind=bag&next=//evil.example")
        assert answer.redirect_chain[-1][0] == f"/bench/?store=A&kind=bag&scan=open&piece={tag}#piece"


class TestWork:
    def test_mended_and_back_to_the_bench(self, act, broken):
        (tag,) = broken("bag", "bag_hole")
        page = act("mend", tag, fault="bag_hole", **SAID)
        assert page.redirect_chain[-1][0] == "/bench/"
        assert f"{tag} is mended." in text(page) and listed(page, "mend") == []
        assert "Today: 1 mend (12 min)" in text(page)

    def test_it_lies_open_while_another_fault_is_open(self, act, broken, ruled_farm: Farm):
        (tag,) = broken("bag", "bag_hole")
        report_fault(ruled_farm.pen(), row(tag), "bag_bottom")
        page = act("mend", tag, fault="bag_hole", keep="kind=bag", **SAID)
        assert page.redirect_chain[-1][0] == f"/bench/?kind=bag&piece={tag}#piece"
        assert 'id="do-mend_bag_bottom" open' in page.content.decode()

    def test_what_was_wrong_stands_beside_its_field(self, act, broken):
        (tag,) = broken("bag", "bag_hole")
        page = act("mend", tag, fault="bag_hole", keep="kind=bag", **SAID | {"minutes": "many"})
        assert page.status_code == 400 and "Enter a whole number." in text(page)
        assert listed(page, "mend") == [tag] and 'value="kind=bag"' in page.content.decode()

    def test_passed_by_another_never_by_the_mender(self, act, broken):
        (tag,) = broken("ladder", "ladder_loose_rung")
        page = act("mend", tag, fault="ladder_loose_rung", **SAID)
        assert listed(page, "pass") == [tag]
        assert act("pass", tag, fault="ladder_loose_rung").status_code == 403
        page = act("pass", tag, who="rosa", fault="ladder_loose_rung", note="held")
        assert f"{tag} is passed." in text(page) and "1 passed" in text(page)

    def test_the_page_says_who_may_pass(self, look, act, broken):
        (ladder,), (clippers,) = broken("ladder", "ladder_wobble"), broken("clippers", "hurt_someone")
        act("mend", ladder, fault="ladder_wobble", **SAID)
        act("mend", clippers, fault="hurt_someone", **SAID)
        assert "You mended it: somebody else looks at it" in text(look(f"?piece={ladder}"))
        assert "Only the safety officer looks at it and passes it." in text(
            look(f"?piece={clippers}", "rosa")
        )

    def test_written_off_with_a_circumstance(self, act, broken):
        (tag,) = broken("ladder", "ladder_cracked_stile")
        assert act("write_off", tag, circumstance="broken").status_code == 400
        page = act("write_off", tag, circumstance="broken", note="cracked at the third rung")
        assert f"{tag} is written off." in text(page) and row(tag).place == "gone"
        assert "1 written off" in text(page)

    def test_what_was_taken_back_was_not_done(self, act, broken, look, post: Post, ruled_farm: Farm):
        (tag,) = broken("bag", "bag_hole")
        act("mend", tag, fault="bag_hole", **SAID)
        entry = Entry.objects.get(verb="mended")
        post(ruled_farm.entry("reversed", item=tag, detail={"entry": str(entry.pk)}))
        page = look()
        assert "Today: 0 mends (0 min)" in text(page) and listed(page, "mend") == [tag]

    def test_only_the_work_of_the_bench_is_done_here(self, act, broken):
        (tag,) = broken("bag", "bag_hole")
        assert act("move", tag, to="B").status_code == 404

    def test_an_address_without_a_form_leads_to_the_bench(self, client_of, broken):
        (tag,) = broken("bag", "bag_hole")
        answer = client_of("mo").get(f"/bench/{tag}/mend/")
        assert answer.headers["Location"] == f"/bench/?piece={tag}#piece"


class TestSlips:
    def test_of_all_that_is_set_aside(self, client_of, broken):
        tags = broken("bag", "bag_hole", 5) + broken("ladder", "ladder_wobble", make="Trapmaat")
        answer = client_of("mo").get("/bench/do-not-use.pdf")
        assert set(scanned(answer.content)) == set(tags)
        said = " ".join(words(answer.content))
        assert said.count("by rosa") == 6 and "Ladder, Trapmaat" in said and "Nobody climbs a ladder" in said
        assert "somebody other than the mender" in said

    def test_narrowed_as_the_bench_is(self, client_of, broken):
        broken("bag", "bag_hole")
        (tag,) = broken("gloves", "glove_hole")
        assert set(scanned(client_of("mo").get("/bench/do-not-use.pdf?kind=gloves").content)) == {tag}

    def test_of_one_from_its_page_by_an_old_label_too(self, client_of, broken, ruled_farm: Farm, look):
        (tag,) = broken("bag", "bag_hole")
        client_of("rosa").post(f"/gear/{tag}/retag/", {})
        new = ItemState.objects.get(item__labels__code=tag).tag
        html = client_of("rosa").get(f"/gear/{new}/").content.decode()
        assert f"/bench/do-not-use.pdf?tags={new}" in html
        assert set(scanned(client_of("rosa").get(f"/bench/do-not-use.pdf?tags={tag}").content)) == {new}

    def test_of_a_flag_or_an_inspection_overdue(self, client_of, ruled_farm: Farm):
        (clippers,), (ladder,) = ruled_farm.gear("clippers"), ruled_farm.gear("ladder")
        pen = ruled_farm.pen("olga")
        pen.record([pen.draft("flagged", item=row(clippers).item_id, detail={"disease": "exocortis"})])
        said = " ".join(words(client_of("mo").get(f"/bench/do-not-use.pdf?tags={clippers},{ladder}").content))
        assert "It may carry" in said and "Inspection overdue: Ladder, recorded inspection" in said

    @pytest.mark.parametrize("query", ["", "?tags=rubbish", "?tags=%00"])
    def test_nothing_unfit_is_said(self, client_of, ruled_farm: Farm, query):
        answer = client_of("mo").get(f"/bench/do-not-use.pdf{query}", follow=True)
        assert "there is nothing to print" in text(answer)

    def test_a_supervisor_prints_those_of_their_crews_only(self, client_of, ruled_farm: Farm, post: Post):
        mine, theirs = ruled_farm.gear("gloves", 2)
        for tag, who in ((mine, "ana"), (theirs, "cy")):
            post(ruled_farm.entry("handed_out", item=tag, picker=ruled_farm.badges[who]))
            report_fault(ruled_farm.pen(), row(tag), "glove_hole")
        answer = client_of("sam").get(f"/bench/do-not-use.pdf?tags={mine},{theirs}")
        assert set(scanned(answer.content)) == {mine}


def test_its_cost_does_not_grow(look, broken, ruled_farm: Farm, client_of, django_assert_max_num_queries):
    client = client_of("mo")
    ruled_farm.plan("red", "N4", days=1)
    (ladder,) = broken("ladder", "ladder_loose_rung")
    broken("overalls", "overalls_torn")
    with django_assert_max_num_queries(60) as few:
        client.get(f"/bench/?piece={ladder}")
    broken("ladder", "ladder_wobble", 20)
    broken("overalls", "overalls_torn", 20)
    ruled_farm.gear("clippers", 20)
    with django_assert_max_num_queries(len(few)):
        client.get(f"/bench/?piece={ladder}")
    with django_assert_max_num_queries(25):
        client.get("/bench/do-not-use.pdf")
