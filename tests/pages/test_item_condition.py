"""The condition of an item on its page, in words, and what is done about it from there."""

import re
from datetime import date, timedelta
from html import unescape
from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from equipment.actions.inspect_item import all_good
from equipment.actions.mend import Mend, mend
from equipment.actions.report_fault import report_fault
from equipment.actions.write_off import write_off
from equipment.models import Entry, ItemState, Photo, checklists
from tests.cast import Farm
from tests.farm import Post

STRUCTURAL = "ladder_cracked_stile"


def row(tag: str) -> ItemState:
    return ItemState.objects.get(tag=tag)


def text(response) -> str:
    """What the page says, without its marks."""
    html = response.content.decode()
    html = html.partition('id="content"')[2].partition("<dialog")[0]
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


@pytest.fixture
def found(ruled_farm: Farm):
    """`found(tag, fault)`: Rosa finds it."""

    def find(tag: str, fault: str, name: str = "rosa", note: str = "") -> None:
        assert report_fault(ruled_farm.pen(name), row(tag), fault, note=note).recorded

    return find


@pytest.fixture
def see(client_of):
    def look(tag: str, name: str = "rosa") -> str:
        return text(client_of(name).get(f"/gear/{tag}/"))

    return look


@pytest.fixture
def act(client_of):
    """`act(name, item, **said)`: send the form as Rosa, or as `who`; the page that comes of it."""

    def press(name: str, item: str, /, who: str = "rosa", **said):
        return client_of(who).post(reverse("item_act", args=[item, name]), said, follow=True)

    return press


@pytest.fixture
def ladder(ruled_farm: Farm) -> str:
    return ruled_farm.gear("ladder", size="3 m")[0]


def cleaned(farm: Farm, tag: str, minutes_ago: int = 5, **detail):
    pen = farm.pen()
    state = row(tag)
    at = pen.at - timedelta(minutes=minutes_ago)
    draft = pen.draft("cleaned", item=state.item_id, happened_at=at, detail=detail)
    assert pen.record([draft]).outcomes[0].recorded


ALCOHOL = {"method": "sterilise", "recipe": "clippers_alcohol", "seconds": 60}


class TestVerdict:
    def test_each_reason_says_since_when_what_to_do_and_who_may(self, ruled_farm: Farm, see, found):
        (tag,) = ruled_farm.gear("clippers")
        found(tag, "clippers_worn_spring")
        page = see(tag)
        assert "Stays here" in page and "On the bench" in page
        assert f"{tag} stays here: Worn spring, found " in page and "Set it aside for the mender." in page
        assert f"{tag} is not sterile since" in page and "never done yet" in page
        assert "The safety officer may let it go with a written why." in page

    def test_what_nobody_may_let_go_is_said(self, see, found, ladder):
        found(ladder, STRUCTURAL)
        assert "Nobody may let it go before it is mended." in see(ladder)

    def test_a_fit_piece_may_go_out(self, ruled_farm: Farm, see):
        (tag,) = ruled_farm.gear("overalls", days_ago=1)
        cleaned(ruled_farm, tag, method="wash")
        assert "May go out" in see(tag) and "Stays here" not in see(tag)

    def test_of_a_piece_that_is_out_only_is_said_that_it_should_not_be_in_use(
        self, ruled_farm: Farm, see, found, post: Post
    ):
        (tag,) = ruled_farm.gear("gloves")
        post(ruled_farm.entry("handed_out", item=tag, picker=ruled_farm.badges["ana"]))
        found(tag, "glove_hole")
        page = see(tag)
        assert "Should not be in use" in page and "May go out" not in page

    def test_what_only_warns_does_not_keep_it(self, ruled_farm: Farm, see):
        (tag,) = ruled_farm.gear("gloves")
        assert "May go out" in see(tag) and "It should be washed, since" in see(tag)


class TestClock:
    def test_until_when_it_holds_and_what_then(self, ruled_farm: Farm, see, post: Post):
        (tag,) = ruled_farm.gear("clippers", days_ago=1)
        cleaned(ruled_farm, tag, **ALCOHOL)
        assert "holds until" in see(tag) and "then it has lain too long" in see(tag)
        post(ruled_farm.entry("handed_out", item=tag, picker=ruled_farm.badges["ana"]))
        four_hours_on = timezone.localtime(row(tag).due_at).strftime("%H:%M")
        page = see(tag)
        assert f"{four_hours_on}; then its hours in use are up." in page

    def test_the_last_cleaning_that_does_not_count_says_why(self, ruled_farm: Farm, see):
        (tag,) = ruled_farm.gear("clippers", days_ago=1)
        cleaned(ruled_farm, tag, 10, **ALCOHOL)
        cleaned(ruled_farm, tag, 5, **ALCOHOL | {"seconds": 1})
        page = see(tag)
        assert "Sterilised: Clippers, between trees: alcohol 70 %" in page
        assert "It does not count: it acted for less than the recipe asks." in page
        assert "May go out" in page  # the one before still holds

    def test_a_dip_over_dirt_does_not_count(self, ruled_farm: Farm, see, found):
        (tag,) = ruled_farm.gear("clippers")
        found(tag, "dirty")
        cleaned(ruled_farm, tag, 0, **ALCOHOL)
        assert "It does not count: dirt must be washed off before a dip." in see(tag)

    def test_a_cleaning_that_was_taken_back_is_not_told(self, ruled_farm: Farm, see, post: Post):
        (tag,) = ruled_farm.gear("overalls", days_ago=1)
        cleaned(ruled_farm, tag, method="wash")
        entry = Entry.objects.get(verb="cleaned")
        post(ruled_farm.entry("reversed", item=tag, detail={"entry": str(entry.pk)}))
        assert "Last cleanings" not in see(tag)

    def test_a_flag_stands_there_until_it_is_cleared(self, ruled_farm: Farm, see):
        (tag,) = ruled_farm.gear("clippers")
        pen = ruled_farm.pen("olga")
        pen.record([pen.draft("flagged", item=row(tag).item_id, detail={"disease": "exocortis"})])
        assert "It may carry" in see(tag)
        cleaned(ruled_farm, tag, 0, method="sterilise", recipe="clippers_viroid_bleach", seconds=600)
        assert "It may carry" not in see(tag)


class TestFaults:
    def test_a_fault_is_told_with_its_mend_and_what_must_not_be_done(self, see, found, ruled_farm: Farm):
        (tag,) = ruled_farm.gear("bag")
        found(tag, "bag_torn_seam", note="left side")
        page = see(tag)
        for words in (
            "Torn seam",
            "by rosa",
            "left side",
            "Stops its use until it is mended.",
            "A seam opens when you pull it apart",
            "Sew it with strong waxed thread",
            "Never with wire",
        ):
            assert words in page

    def test_mend_by_says_by_when(self, see, found, ruled_farm: Farm):
        (tag,) = ruled_farm.gear("overalls", days_ago=1)
        cleaned(ruled_farm, tag, method="wash")
        found(tag, "overalls_torn")
        day = timezone.localtime() + timedelta(days=7)
        assert f"To be mended by {day.day} {day:%B}" in see(tag) and "May go out" in see(tag)

    def test_only_faults_of_its_kind_are_offered_in_plain_words(self, ruled_farm: Farm, client_of):
        (tag,) = ruled_farm.gear("bag")
        html = client_of("rosa").get(f"/gear/{tag}/").content.decode()
        offered = set(re.findall(r'name="fault" value="(\w+)"', html))
        assert {"bag_hole", "dirty", "wet", "hurt_someone", "tag_unreadable"} <= offered
        assert not {each for each in offered if each.startswith(("ladder", "clippers", "glove"))}
        assert "A finger goes through the cloth." in html

    def test_reported_from_the_page(self, ruled_farm: Farm, act):
        (tag,) = ruled_farm.gear("bag")
        page = text(act("report_fault", tag, fault="bag_hole", note="at the bottom"))
        assert f"{tag}: the fault is written down." in page and row(tag).place == "bench"

    @pytest.mark.parametrize("said", [{}, {"fault": "ladder_wobble"}, {"fault": "eaten"}])
    def test_a_fault_of_another_kind_is_refused(self, ruled_farm: Farm, act, said):
        (tag,) = ruled_farm.gear("bag")
        page = act("report_fault", tag, **said)
        assert page.status_code == 400 and 'id="do-report_fault" open' in page.content.decode()
        assert row(tag).place == "store"

    def test_dirt_makes_washing_due_and_is_nothing_to_mend(self, ruled_farm: Farm, act):
        (tag,) = ruled_farm.gear("bag")
        html = act("report_fault", tag, fault="dirty").content.decode()
        assert "dirt was found" in html and reverse("item_act", args=[tag, "mend"]) not in html
        act("clean", tag, method="wash", recipe="wash_soap")
        assert row(tag).fit_at(timezone.now())


class TestPhoto:
    def picture(self, pixels: tuple[int, int] = (60, 40)) -> SimpleUploadedFile:
        file = BytesIO()
        Image.new("RGB", pixels, "#883311").save(file, "JPEG")
        return SimpleUploadedFile("IMG_1.JPG", file.getvalue(), "image/jpeg")

    def test_is_kept_small_and_shown(self, ruled_farm: Farm, act, client_of):
        (tag,) = ruled_farm.gear("bag")
        html = act("report_fault", tag, fault="bag_hole", photo=self.picture()).content.decode()
        photo = Photo.objects.get()
        assert f'src="/api/photos/{photo.pk}/"' in html and 'alt="Photo of the fault: Hole"' in html
        assert client_of("rosa").get(f"/api/photos/{photo.pk}/").headers["Content-Type"] == "image/jpeg"

    def test_what_is_no_picture_is_refused_beside_its_field(self, ruled_farm: Farm, act):
        (tag,) = ruled_farm.gear("bag")
        page = act("report_fault", tag, fault="bag_hole", photo=SimpleUploadedFile("a.jpg", b"not a picture"))
        assert page.status_code == 400 and "no picture that can be read" in text(page)
        assert row(tag).place == "store" and not Photo.objects.exists()

    def test_too_large_a_file_is_not_read(self, ruled_farm: Farm, act, monkeypatch):
        monkeypatch.setattr("equipment.pages.care_forms.MOST_BYTES", 100)
        (tag,) = ruled_farm.gear("bag")
        assert "Send a smaller picture" in text(
            act("report_fault", tag, fault="bag_hole", photo=self.picture())
        )

    def test_erased_is_said(self, ruled_farm: Farm, act, see):
        (tag,) = ruled_farm.gear("bag")
        act("report_fault", tag, fault="bag_hole", photo=self.picture())
        Photo.objects.all().erase(timezone.now())
        assert "The photo was erased." in see(tag)


class TestMending:
    SAID = {"method": "sewn, two rows", "minutes": "12", "parts": "thread", "where": "orchard"}

    def test_the_catalogue_suggests_how_and_how_long(self, ruled_farm: Farm, client_of, found):
        (tag,) = ruled_farm.gear("bag")
        found(tag, "bag_torn_seam")
        html = client_of("mo").get(f"/gear/{tag}/").content.decode()
        assert "Sew it with strong waxed thread, two rows.</textarea>" in html
        assert 'name="minutes" value="15"' in html

    def test_nothing_is_suggested_for_what_is_not_mended(self, client_of, found, ladder):
        found(ladder, STRUCTURAL)
        html = client_of("mo").get(f"/gear/{ladder}/").content.decode()
        assert "write it off, or send it to the maker.</textarea>" not in html

    def test_is_recorded_whole(self, ruled_farm: Farm, act, found):
        (tag,) = ruled_farm.gear("bag")
        found(tag, "bag_torn_seam")
        page = text(act("mend", tag, who="mo", fault="bag_torn_seam", **self.SAID))
        assert f"{tag} is mended." in page and "May go out" in page
        detail = Entry.objects.get(verb="mended").detail
        assert (detail["method"], detail["minutes"], detail["parts"], detail["where"]) == (
            "sewn, two rows",
            12,
            "thread",
            "orchard",
        )

    @pytest.mark.parametrize(
        "wrong", [{"method": "  "}, {"minutes": "-1"}, {"minutes": "x"}, {"where": "sea"}]
    )
    def test_what_cannot_be_is_refused(self, ruled_farm: Farm, act, found, wrong):
        (tag,) = ruled_farm.gear("bag")
        found(tag, "bag_torn_seam")
        page = act("mend", tag, who="mo", fault="bag_torn_seam", **self.SAID | wrong)
        assert page.status_code == 400 and "open" in page.content.decode()
        assert not Entry.objects.filter(verb="mended").exists()

    def test_a_fault_that_is_closed_is_not_mended_again(self, ruled_farm: Farm, act, found):
        (tag,) = ruled_farm.gear("bag")
        found(tag, "bag_torn_seam")
        for _again in range(2):
            page = text(act("mend", tag, who="mo", fault="bag_torn_seam", **self.SAID))
        assert "has no such fault open: nothing to mend or to pass." in page
        assert Entry.objects.filter(verb="mended").count() == 1

    def test_with_two_faults_each_has_its_own_form(self, ruled_farm: Farm, act, found, see):
        (tag,) = ruled_farm.gear("bag")
        found(tag, "bag_torn_seam")
        found(tag, "bag_hole")
        act("mend", tag, who="mo", fault="bag_hole", **self.SAID)
        assert "Torn seam" in see(tag) and row(tag).place == "bench"


class TestPassing:
    def mended(self, farm: Farm, tag: str, fault: str, by: str = "mo") -> None:
        assert mend(farm.pen(by), row(tag), Mend(fault, "new rung", 40)).recorded

    def test_before_the_mend_the_page_says_who_will_pass_it(self, see, found, ladder):
        found(ladder, "ladder_loose_rung")
        assert "somebody other than the mender looks at it and passes it" in see(ladder)

    def test_the_mender_is_told_that_somebody_else_must(self, ruled_farm: Farm, act, see, found, ladder):
        found(ladder, "ladder_loose_rung")
        self.mended(ruled_farm, ladder, "ladder_loose_rung")
        assert "You mended it: somebody else looks at it and passes it." in see(ladder, "mo")
        assert act("pass", ladder, who="mo", fault="ladder_loose_rung").status_code == 403
        assert "Somebody other than mo looks at it and passes it." in see(ladder)

    def test_another_passes_it(self, ruled_farm: Farm, act, found, ladder):
        found(ladder, "ladder_loose_rung")
        self.mended(ruled_farm, ladder, "ladder_loose_rung")
        assert row(ladder).place == "bench"
        assert f"{ladder} is passed." in text(
            act("pass", ladder, fault="ladder_loose_rung", note="held 120 kg")
        )
        assert row(ladder).place == "store"

    def test_what_hurt_someone_only_the_officer_passes(self, ruled_farm: Farm, act, see, found):
        (tag,) = ruled_farm.gear("clippers")
        found(tag, "hurt_someone")
        assert "only the safety officer passes it" in see(tag)
        self.mended(ruled_farm, tag, "hurt_someone")
        assert act("pass", tag, fault="hurt_someone").status_code == 403
        assert "Only the safety officer looks at it and passes it." in see(tag)
        assert f"{tag} is passed." in text(act("pass", tag, who="olga", fault="hurt_someone"))

    def test_nothing_is_passed_before_it_is_mended(self, act, found, ladder):
        found(ladder, "ladder_loose_rung")
        assert "no such fault open" in text(act("pass", ladder, fault="ladder_loose_rung"))
        assert row(ladder).place == "bench"


class TestInspecting:
    def answers(self, code: str, **changed: str) -> dict[str, str]:
        points = checklists.by_code()[code].point
        said = {p.code: p.good[0] if p.good else "3" if p.code == "length" else "150" for p in points}
        return {"checklist": code} | {f"point_{name}": value for name, value in (said | changed).items()}

    def test_every_point_is_asked_with_its_unit_and_limits(self, client_of, ladder):
        html = client_of("rosa").get(f"/gear/{ladder}/").content.decode()
        assert "No rung turns or gives?" in html and "Length (m)" in html
        assert "Passes up to 4.88 m." in html and "Passes from 102 kg." in html

    def test_last_and_next_are_told(self, act, see, ladder):
        assert "Not done yet." in see(
            ladder
        ) and "its inspection (Ladder, recorded inspection) is due" in see(ladder)
        page = text(act("inspect", ladder, **self.answers("ladder_monthly", length="3,05")))
        due = timezone.localtime() + timedelta(days=30)
        assert f"{ladder} is inspected." in page and f"By {due.day} {due:%B} {due.year}." in page
        assert Entry.objects.get(verb="inspected").detail["answers"]["length"] == "3.05"

    def test_a_missing_point_is_refused_with_its_name(self, act, ladder):
        said = self.answers("ladder_monthly")
        del said["point_feet"], said["point_rating"]
        page = act("inspect", ladder, **said)
        assert page.status_code == 400
        assert "Not answered yet: Feet whole and fit for soft ground?" in text(page)
        assert "Not answered yet: Load on the rating plate" in text(page)
        assert not Entry.objects.filter(verb="inspected").exists()

    @pytest.mark.parametrize("wrong", ["", "three", "nan", "inf", "1.234,5"])
    def test_a_number_that_is_none_is_refused(self, act, ladder, wrong):
        assert act("inspect", ladder, **self.answers("ladder_monthly", length=wrong)).status_code == 400

    def test_a_failed_point_opens_its_fault(self, act, see, ladder):
        act("inspect", ladder, **self.answers("ladder_monthly", stands="no"))
        assert "Wobble" in see(ladder) and row(ladder).place == "bench"

    def test_one_press_answers_a_short_daily_check(self, ruled_farm: Farm, act, see, ladder):
        assert "Look it over first: Ladder, before the day's first use." in see(ladder)
        act("all_good", ladder, checklist="ladder_daily")
        assert Entry.objects.get(verb="inspected").detail["answers"] == all_good("ladder_daily")
        assert "Look it over first" not in see(ladder)

    def test_all_good_is_no_answer_to_what_is_for_the_record(self, act, ladder):
        assert act("all_good", ladder, checklist="ladder_monthly").status_code == 404
        assert act("all_good", ladder, checklist="bag_weekly").status_code == 404
        assert not Entry.objects.filter(verb="inspected").exists()

    def test_nothing_is_all_good_while_a_fault_is_open(self, act, found, ladder):
        found(ladder, "ladder_plate")
        assert act("all_good", ladder, checklist="ladder_daily").status_code == 404

    def test_a_first_aid_kit_lists_what_belongs_in_it_with_dates(self, ruled_farm: Farm, act, see, client_of):
        (kit,) = ruled_farm.gear("first_aid_kit", size="class A")
        page = see(kit)
        assert "16 × Adhesive bandages" in page and "Splint" not in page
        soon, later = (timezone.localdate() + timedelta(days=d) for d in (40, 400))
        said = self.answers("first_aid_weekly") | {
            "expiry_1": later.isoformat(),
            "expiry_2": soon.isoformat(),
        }
        page = text(act("inspect", kit, **said))
        assert f"In date until {(soon + timedelta(days=1)).day} " in page
        assert Entry.objects.get(verb="inspected").detail["expiries"] == {
            "Adhesive tape, roll": later.isoformat(),
            "Antibiotic ointment, sachet": soon.isoformat(),
        }
        assert f'value="{soon.isoformat()}"' in client_of("rosa").get(f"/gear/{kit}/").content.decode()

    def test_a_date_that_is_past_keeps_the_kit_here(self, ruled_farm: Farm, act):
        (kit,) = ruled_farm.gear("first_aid_kit", size="class A")
        gone = date(2020, 1, 31).isoformat()
        page = text(act("inspect", kit, **self.answers("first_aid_weekly"), expiry_1=gone))
        assert "what belongs in it is past its date" in page and "Stays here" in page


class TestCleaningByHand:
    def test_what_counts_and_what_does_not(self, ruled_farm: Farm, act):
        (tag,) = ruled_farm.gear("clippers")
        said = {"method": "sterilise", "recipe": "clippers_alcohol"}
        page = text(act("clean", tag, **said, seconds="1"))
        assert "It does not count: it acted for less than the recipe asks." in page
        page = text(act("clean", tag, **said, seconds="60"))
        assert f"{tag} is clean." in page and "May go out" in page

    @pytest.mark.parametrize(
        ("said", "why"),
        [
            ({"method": "sterilise"}, "Say with what it was sterilised."),
            ({"method": "sterilise", "recipe": "clippers_alcohol"}, "how many seconds"),
            ({"method": "wash", "recipe": "clippers_alcohol"}, "for something else"),
            ({"method": "burn"}, "not one of the available choices"),
            ({"method": "sterilise", "recipe": "clippers_alcohol", "seconds": "-5"}, "greater than"),
        ],
    )
    def test_what_makes_no_sense_is_refused(self, ruled_farm: Farm, act, said, why):
        (tag,) = ruled_farm.gear("clippers")
        page = act("clean", tag, **said)
        assert page.status_code == 400 and why in text(page)
        assert not Entry.objects.filter(verb="cleaned").exists()


def test_a_supervisor_mends_what_their_crew_has(ruled_farm: Farm, act, found, post: Post):
    mine, theirs = ruled_farm.gear("gloves", 2)
    for tag, who in ((mine, "ana"), (theirs, "cy")):
        post(ruled_farm.entry("handed_out", item=tag, picker=ruled_farm.badges[who]))
        found(tag, "glove_hole")
    said = {"fault": "glove_hole", **TestMending.SAID}
    assert "is mended" in text(act("mend", mine, who="sam", **said))
    assert act("mend", theirs, who="sam", **said).status_code == 404


def test_gone_gear_has_no_condition(ruled_farm: Farm, see):
    (tag,) = ruled_farm.gear("clippers")
    write_off(ruled_farm.pen(), row(tag), "worn_out", "the blades")
    page = see(tag)
    assert "Its clock" not in page and "Stays here" not in page and "May go out" not in page


def test_its_cost_does_not_grow_with_its_troubles(
    ruled_farm: Farm, client_of, found, ladder, django_assert_max_num_queries
):
    client = client_of("rosa")

    def trouble(*faults: str) -> None:
        for fault in faults:
            found(ladder, fault)
        mend(ruled_farm.pen("mo"), row(ladder), Mend(faults[0], "tightened", 5))

    trouble("ladder_wobble", "ladder_plate")
    with django_assert_max_num_queries(45) as few:
        client.get(f"/gear/{ladder}/")
    trouble("ladder_loose_rung", "ladder_third_leg_pin", "ladder_splinters", "tag_unreadable", "hurt_someone")
    with django_assert_max_num_queries(len(few)):
        client.get(f"/gear/{ladder}/")
