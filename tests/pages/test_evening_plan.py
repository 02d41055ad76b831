"""The evening plan's pages and its paper: what they say of a day, to whom; and that the wash place goes by it."""

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from crews.models import Block, Picker
from equipment.actions.change_crew import join, leave
from equipment.actions.report_fault import report_fault
from equipment.domain.jobs import Gear
from equipment.models import GearSet
from tests.cast import Farm
from tests.documents.reading import reader, words
from tests.washing import mixed, pen, states, text

pytestmark = pytest.mark.django_db


def day(days: int = 1) -> str:
    return (timezone.localdate() + timedelta(days=days)).isoformat()


@pytest.fixture
def look(client_of: Any) -> Any:
    def get(path: str = "/plan/", who: str = "rosa", status: int = 200) -> str:
        response = client_of(who).get(path)
        assert response.status_code == status, response.content
        return text(response)

    return get


@pytest.fixture
def evening_farm(ruled_farm: Farm) -> Farm:
    """The red crew clips in S2 tomorrow: two pairs of clippers are due, one bag is torn, the others lack."""
    ruled_farm.plan("red", "S2", days=1)
    ruled_farm.gear("clippers", 2, days_ago=1)
    (bag,) = ruled_farm.gear("bag", days_ago=1)
    report_fault(pen(ruled_farm, 5), states(bag)[0], "bag_hole")
    return ruled_farm


class TestPlan:
    @pytest.mark.parametrize("who", ["rosa", "sam", "mo", "olga", "frank"])
    def test_everybody_reads_tonight_s_work(self, look: Any, evening_farm: Farm, who: str) -> None:
        said = look(who=who)
        assert "Tonight: 26 min for 3 pieces." in said  # a bag 20, two pairs 2 each, the jar 2
        assert "sterilise: Clippers, between trees: alcohol 70 %" in said and "mend: Hole" in said
        assert "At least 1 picker cannot begin." in said and "If nothing else helps: buy 1." in said
        assert "Label and safety sheet first." in said

    def test_what_follows_from_what_stays_short(self, look: Any, evening_farm: Farm) -> None:
        Block.objects.filter(pk="S2").update(tall_trees=True)
        evening_farm.gear("goggles", 1, days_ago=1)
        (ladder,) = evening_farm.gear("ladder", days_ago=1)
        report_fault(evening_farm.pen(), states(ladder)[0], "ladder_cracked_stile")
        evening_farm.gear("bag", 1, store="B", days_ago=1)
        said = look()
        assert "Store B could lend 1: they are fit there now and not needed." in said
        assert "Goggles 1 (advised) Nobody is held back" in said
        assert "One serves 3 people: up to 3 of them are left without." in said
        assert "1 lies here that no usual work makes fit" in said
        assert "1 crew goes without: it shares with another, or stays." in said  # the toolbox

    def test_a_bath_that_stands_is_used(self, look: Any, evening_farm: Farm) -> None:
        mixed(evening_farm, 20)
        said = look()
        assert "bleach 0.5 % For 2 pieces. It stands ready, until" in said and "Tonight: 22 min" in said

    def test_a_new_bath_says_how_much(self, look: Any, evening_farm: Farm) -> None:
        evening_farm.gear("clippers", 12, days_ago=1)
        more = [Picker.objects.create(number=f"9{n}", name=f"Picker {n}") for n in range(10)]
        join(evening_farm.pen(), more, evening_farm.crews["red"])
        assert "(mixing: 12 min) For 14 pieces. At least 2 L. Good for 2 h. How to mix it" in look()

    def test_everything_fit_says_so(self, look: Any, ruled_farm: Farm) -> None:
        leave(ruled_farm.pen(), [ruled_farm.pickers[name] for name in ("ana", "ben")])
        ruled_farm.plan("red", "S2", days=1)
        said = look()
        assert "Everything that the day asks for is fit." in said
        assert "No pickers in this crew: nothing is asked for." in said

    def test_days_without_plans_past_and_far_ahead(self, look: Any, ruled_farm: Farm) -> None:
        assert "No crew has a plan for this day." in look() and "Plan a crew" not in look()
        assert "Plan a crew" in look(who="frank")
        ruled_farm.plan("red", "S2", days=-1)
        ruled_farm.plan("red", "S2", days=30)
        said = look(f"/plan/?day={day(-1)}")
        assert "That day is past." in said and "Tonight" not in said and "Stays short" not in said
        assert "That is 30 days ahead." in look(f"/plan/?day={day(30)}")
        assert "Enter a valid date." in look("/plan/?day=tuesday", status=400)

    def test_a_day_that_has_begun_has_work_still_to_do(
        self, look: Any, ruled_farm: Farm, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        ruled_farm.plan("red", "S2")
        ruled_farm.gear("clippers", days_ago=2)
        late = timezone.localtime().replace(hour=23, minute=50)
        monkeypatch.setattr("equipment.pages.plan.views.timezone.now", lambda: late)
        assert "Still to do: 4 min for 1 piece." in look(f"/plan/?day={day(0)}")


class TestCrew:
    def path(self, farm: Farm, crew: str = "red", days: int = 1) -> str:
        return f"/plan/crews/{farm.crews[crew].pk}/?day={day(days)}"

    def test_what_it_takes_out_and_by_when_it_dips(self, look: Any, evening_farm: Farm) -> None:
        said = look(self.path(evening_farm), "sam")
        assert "Spares to load" in said and "1 Picking bag (advised)" in said
        assert "Clippers : after 4 hours of picking; before any other block" in said
        assert "Picking begun at 06:30: by 10:30, 14:30" in said
        assert "Clippers: the size or hand of 2 pickers is not in the book; any is counted." in said

    def test_which_spares_go_by_the_book_is_said(
        self, look: Any, evening_farm: Farm, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        known = {(evening_farm.crews["red"].pk, "bag"): {Gear("bag"): 4}}
        monkeypatch.setattr("equipment.models.planning.reading.by_book", lambda at, version: known)
        said = look(self.path(evening_farm))
        assert "4 Picking bags (advised) by the book's swaps" in said
        assert said.count("by the book's swaps") == 1 and "1 Clippers (advised)" in said

    def test_two_blocks_and_an_afternoon(self, look: Any, ruled_farm: Farm) -> None:
        ruled_farm.plan("red", "S2", days=1, part="morning")
        ruled_farm.plan("red", "N4", days=1, part="afternoon")
        assert "before the first tree in N4" in look(self.path(ruled_farm))
        ruled_farm.plan("blue", "N4", days=1, part="afternoon")
        assert "Picking begun at 12:30: by 16:30" in look(self.path(ruled_farm, "blue"))

    def test_sets_what_is_packed_and_what_is_not(self, look: Any, evening_farm: Farm, post: Any) -> None:
        bag, goggles = (evening_farm.gear(kind, days_ago=1)[0] for kind in ("bag", "goggles"))
        ana = evening_farm.badges["ana"]
        for verb, ago in (("handed_out", 9), ("returned", 8)):
            for tag in (bag, goggles):
                given = {"picker": ana} if verb == "handed_out" else {}
                at = timezone.now() - timedelta(minutes=ago)
                post(evening_farm.entry(verb, item=tag, at=at, **given), gate="note")
        GearSet.objects.create(code="ST0001L")
        post(evening_farm.entry("packed", item=bag, detail={"set": "ST0001L"}))
        said = look(self.path(evening_farm))
        assert f"Ana ST0001L {goggles} Clippers" in said
        assert "Ben no set yet Picking bag, Clippers, Goggles" in said

    def test_a_supervisor_sees_their_own_crews_a_mender_none(self, look: Any, evening_farm: Farm) -> None:
        evening_farm.plan("blue", "S2", days=1)
        look(self.path(evening_farm, "blue"), "sam", 404)
        look(self.path(evening_farm), "mo", 403)
        assert "This crew has no plan for this day." in look(self.path(evening_farm, days=5))
        look(f"/plan/crews/{evening_farm.crews['red'].pk}/?day=x", status=404)


class TestPaper:
    def test_one_page_for_each_crew_that_this_person_sees(self, client_of: Any, evening_farm: Farm) -> None:
        evening_farm.plan("blue", "N4", days=1)
        both = client_of("rosa").get(f"/plan/morning-sheets.pdf?day={day()}").content
        assert len(reader(both).pages) == 2
        own = client_of("sam").get(f"/plan/morning-sheets.pdf?day={day()}").content
        said = " ".join(words(own))
        assert len(reader(own).pages) == 1 and "Red crew" in said and "Blue crew" not in said
        assert "Spares to load" in said and "Begun 06:30: by 10:30, 14:30" in said and "Loaded by" in said
        assert "work with the blades away from you" in said

    def test_nothing_to_print_is_said(self, client_of: Any, look: Any, ruled_farm: Farm) -> None:
        answer = client_of("rosa").get(f"/plan/morning-sheets.pdf?day={day()}", follow=True)
        assert "there is nothing to print" in text(answer)
        assert client_of("rosa").get("/plan/morning-sheets.pdf?day=x").status_code == 302

    def test_a_crew_without_pickers_has_a_page_that_says_so(self, client_of: Any, ruled_farm: Farm) -> None:
        leave(ruled_farm.pen(), [ruled_farm.pickers[name] for name in ("ana", "ben")])
        ruled_farm.plan("red", "S2", days=1)
        made = client_of("rosa").get(
            f"/plan/morning-sheets.pdf?day={day()}&crew={ruled_farm.crews['red'].pk}"
        )
        assert "There are no pickers in this crew" in " ".join(words(made.content))


class TestSameOrderEverywhere:
    def test_wash_marks_and_puts_first_what_the_plan_chose(self, client_of: Any, evening_farm: Farm) -> None:
        """Three pairs are asked for, the oldest due first; of four one is not needed, and stands last."""
        evening_farm.gear("clippers", 2, days_ago=3)
        html = client_of("rosa").get("/wash/?store=A").content.decode()
        rows = [row for row in html.split("<tr>") if "/gear/CL" in row]
        assert ["in the plan" in row for row in rows] == [True, True, True, False]
        assert "3 in the plan" in html

    def test_queries(self, client_of: Any, evening_farm: Farm, django_assert_max_num_queries: Any) -> None:
        crew = evening_farm.crews["red"].pk
        for path, most in (("/plan/", 20), ("/wash/?store=A", 34), (f"/plan/crews/{crew}/?day={day()}", 26)):
            client = client_of("rosa")
            with django_assert_max_num_queries(most):
                assert client.get(path).status_code == 200
