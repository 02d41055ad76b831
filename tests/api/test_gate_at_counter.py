"""The gate at the counter: what stays here is refused with why, another is offered, and who may lets it go."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from equipment.actions.inspect_item import all_good
from equipment.actions.set_rule import set_rule
from equipment.domain import codes
from equipment.models import Attempt, Entry, ItemState
from tests.cast import Farm
from tests.farm import Post

WIPED = {"method": "sterilise", "recipe": "clippers_alcohol", "seconds": 60, "each_scanned": True}


@pytest.fixture
def clippers(ruled_farm: Farm, post: Post) -> list[str]:
    """Three pairs, sterile, in the order in which they came."""
    tags = [ruled_farm.gear("clippers", days_ago=days)[0] for days in (3, 2, 1)]
    wipe(ruled_farm, post, *tags)
    return tags


def wipe(farm: Farm, post: Post, *tags: str) -> None:
    answers = post(*(farm.entry("cleaned", item=tag, detail=WIPED) for tag in tags))
    assert [(answer["outcome"], answer.get("codes")) for answer in answers] == [("recorded", None)] * len(
        tags
    )


def fault(farm: Farm, post: Post, tag: str, code: str) -> None:
    assert post(farm.entry("fault_found", item=tag, detail={"fault": code}))[0]["outcome"] == "recorded"


def out(farm: Farm, tag: str, who: str = "ana", **fields: Any) -> dict[str, Any]:
    return farm.entry("handed_out", item=tag, picker=farm.badges[who], **fields)


def hold_for_a_look(farm: Farm, kind: str = "clippers") -> None:
    """The officer decides: not one goes out before it was looked over."""
    changes = {"holds": True}
    set_rule(farm.users["olga"], f"inspection {kind}_daily", changes, "two came out blunt", timezone.now())


def test_a_worn_spring_stays_here_and_the_next_is_offered(
    farm: Farm, post: Post, clippers: list[str]
) -> None:
    worn, second, third = clippers
    fault(farm, post, worn, "clippers_worn_spring")
    (no,) = post(out(farm, worn))
    assert (no["outcome"], no["code"]) == ("refused", "stop_use")
    assert no["state"]["instead"] in (second, third) and no["state"]["place"] == "bench"
    assert "Worn spring, found" in no["say"] and f"Take {no['state']['instead']} instead." in no["say"]
    (reason,) = [each for each in no["reasons"] if each["blocks"]]
    assert reason["code"] == "stop_use" and reason["say"] in no["say"]
    assert post(out(farm, no["state"]["instead"]))[0]["outcome"] == "recorded"


def test_what_is_not_sterile_says_since_when_why_and_what_to_do(
    farm: Farm, post: Post, clippers: list[str]
) -> None:
    (raw,) = farm.gear("clippers", days_ago=5)
    (no,) = post(out(farm, raw))
    assert no["code"] == "cleaning_due"
    assert "not sterile since" in no["say"] and "never done yet" in no["say"] and "Dip it first" in no["say"]
    assert no["state"]["instead"] in clippers


def test_another_picker_s_clippers_are_not_offered_to_the_next(
    farm: Farm, post: Post, clippers: list[str]
) -> None:
    """Ben had the first two since their dip: they are sterile for him, and not for Ana."""
    first, second, third = clippers
    (raw,) = farm.gear("clippers")
    for tag in (first, second):
        post(out(farm, tag, "ben"))
        post(farm.entry("returned", item=tag))
    assert post(out(farm, raw, "ana"))[0]["state"]["instead"] == third
    assert post(out(farm, first, "ana"))[0]["code"] == "cleaning_due"
    post(out(farm, third, "ben"))
    assert post(out(farm, raw, "ana"))[0]["state"]["instead"] is None
    assert post(out(farm, raw, "ben"))[0]["state"]["instead"] in (first, second)


def test_only_a_like_piece_that_lies_here_is_offered(ruled_farm: Farm, farm: Farm, post: Post) -> None:
    worn, packed = farm.gear("gloves", 2, size="M")
    farm.gear("gloves", 1, size="L")
    farm.gear("gloves", 1, size="M", store="B")
    fault(farm, post, worn, "glove_hole")
    post(farm.entry("packed", item=packed, detail={"set": codes.make(codes.SET, 1)}))
    (no,) = post(out(farm, worn))
    assert (no["code"], no["state"]["instead"]) == ("stop_use", None)
    assert "instead" not in no["say"]
    (fresh,) = farm.gear("gloves", size="M")
    assert post(out(farm, worn))[0]["state"]["instead"] == fresh


def test_two_refused_at_once_are_offered_two(farm: Farm, post: Post, clippers: list[str]) -> None:
    raw = farm.gear("clippers", 2)
    answers = post(*(out(farm, tag) for tag in raw))
    offered = {answer["state"]["instead"] for answer in answers}
    assert len(offered) == 2 and offered <= set(clippers)


def test_counters_side_by_side_offer_different_pieces(farm: Farm, post: Post, clippers: list[str]) -> None:
    (raw,) = farm.gear("clippers")
    devices = [f"00000000-0000-7000-8000-0000000000{number:02}" for number in (30, 31, 32)]
    offered = {post(out(farm, raw), device=device)[0]["state"]["instead"] for device in devices}
    assert offered == set(clippers)


def test_what_is_not_about_the_piece_offers_none(farm: Farm, post: Post, clippers: list[str]) -> None:
    (no,) = post(farm.entry("handed_out", item=clippers[0], picker=codes.make(codes.BADGE, 7777)))
    assert no["code"] == "unknown_picker" and not no["state"]


class TestOverride:
    """Looking over clippers holds by the officer's own rule; the officer lets one go all the same."""

    WHY = {"detail": {"overridden": ["inspection_due"]}, "note": "Looked at with Ana, the sheet is lost"}

    @pytest.fixture
    def overdue(self, farm: Farm, clippers: list[str]) -> str:
        hold_for_a_look(farm)
        return clippers[0]

    def test_by_the_officer_it_is_recorded_with_verdict_and_why(
        self, farm: Farm, post: Post, overdue: str
    ) -> None:
        (no,) = post(out(farm, overdue), name="olga")
        assert (no["code"], no["may_override"]) == ("inspection_due", True)
        entry = out(farm, overdue, **self.WHY)
        (yes,) = post(entry, name="olga")
        assert yes["outcome"] == "recorded" and "may_override" not in yes
        assert "Let go all the same, with a written why: its inspection is due." in yes["say"]
        assert "stays here" not in yes["say"]
        stored = Entry.objects.select_related("written_note").get(pk=entry["id"])
        assert stored.detail["overridden"] == stored.detail["verdict"] == ["inspection_due"]
        assert stored.detail["rules"] and stored.by == farm.users["olga"]
        assert stored.written_note.text == self.WHY["note"]
        assert ItemState.objects.get(tag=overdue).place == "picker"

    def test_by_the_storeman_it_is_refused_with_its_own_code_and_who_may(
        self, farm: Farm, post: Post, overdue: str
    ) -> None:
        assert post(out(farm, overdue))[0]["may_override"] is False
        (no,) = post(out(farm, overdue, **self.WHY))
        assert (no["outcome"], no["code"]) == ("refused", "inspection_due")
        assert "The safety officer may let it go with a written why." in no["say"]
        assert [each["override"] for each in no["reasons"] if each["blocks"]] == [["safety officer"]]
        assert ItemState.objects.get(tag=overdue).place == "store"
        assert Attempt.objects.filter(subject=overdue, codes=["inspection_due"]).count() == 2

    @pytest.mark.parametrize("note", ["", "   "])
    def test_without_a_why_it_is_malformed(self, note: str, farm: Farm, post: Post, overdue: str) -> None:
        (no,) = post(out(farm, overdue, **{**self.WHY, "note": note}), name="olga")
        assert (no["code"], ItemState.objects.get(tag=overdue).place) == ("malformed", "store")
        assert "writes down why" in no["say"]

    def test_what_is_not_named_is_not_overridden(self, farm: Farm, post: Post, overdue: str) -> None:
        fault(farm, post, overdue, "clippers_blunt")
        (no,) = post(out(farm, overdue, **self.WHY), name="olga")
        assert (no["code"], no["codes"], no["may_override"]) == ("stop_use", ["stop_use"], True)
        both = {"detail": {"overridden": ["inspection_due", "stop_use"]}, "note": "for cutting twine"}
        assert post(out(farm, overdue, **both), name="olga")[0]["outcome"] == "recorded"

    @pytest.mark.parametrize("name", ["rosa", "olga"])
    @pytest.mark.parametrize(
        ("kind", "code"),
        [("ladder", "ladder_cracked_stile"), ("trailer", "trailer_brake"), ("goggles", "goggles_cracked")],
    )
    def test_what_can_maim_nobody_lets_go(
        self, kind: str, code: str, name: str, ruled_farm: Farm, farm: Farm, post: Post
    ) -> None:
        (tag,) = farm.gear(kind)
        fault(farm, post, tag, code)
        every = {
            "detail": {"overridden": ["stop_use", "inspection_due", "cleaning_due"]},
            "note": "only today",
        }
        (no,) = post(farm.entry("handed_out", item=tag, crew=farm.crews["red"].pk, **every), name=name)
        assert (no["outcome"], no["code"], no["may_override"]) == ("refused", "stop_use", False)
        assert "Nobody may let it go before it is mended." in no["say"]
        assert ItemState.objects.get(tag=tag).place == "bench"

    def test_a_disease_nobody_lets_go(self, farm: Farm, post: Post, clippers: list[str]) -> None:
        flagged = farm.entry("flagged", item=clippers[0], detail={"disease": "exocortis", "case": "1"})
        assert post(flagged, name="olga")[0]["outcome"] == "recorded"
        tried = {"detail": {"overridden": ["disease_flag", "cleaning_due"]}, "note": "only today"}
        (no,) = post(out(farm, clippers[0], **tried), name="olga")
        assert (no["code"], no["may_override"]) == ("disease_flag", False)
        assert "Nobody may let it go before a cleaning that kills the disease." in no["say"]

    def test_custody_is_nobody_s_to_override(self, farm: Farm, post: Post, clippers: list[str]) -> None:
        post(out(farm, clippers[0], "ben"))
        tried = {"detail": {"overridden": ["already_out"]}, "note": "only today"}
        (no,) = post(out(farm, clippers[0], **tried), name="olga")
        assert (no["code"], no["may_override"]) == ("already_out", False)
        assert "Nobody may let that pass." in no["say"]


def test_what_only_warns_is_said_beside_the_yes(farm: Farm, post: Post, clippers: list[str]) -> None:
    (yes,) = post(out(farm, clippers[0]))
    assert yes["outcome"] == "recorded" and yes["codes"] == ["inspection_due"]
    assert [(each["code"], each["blocks"]) for each in yes["reasons"]] == [("inspection_due", False)]
    assert "Look it over first" in yes["say"]


def test_a_sterile_pair_costs_ten_queries_by_the_rules(
    farm: Farm, post: Post, clippers: list[str], client_of: Any, django_assert_max_num_queries: Any
) -> None:
    """Used before and wiped since: its clock runs by the visits of the crew that had it."""
    tag = clippers[0]
    post(out(farm, tag))
    post(farm.entry("arrived", crew=farm.crews["red"].pk, block="N4", detail={"block": "N4"}), name="sam")
    post(farm.entry("returned", item=tag))
    client = client_of("rosa")
    body = farm.batch([out(farm, tag)])
    with django_assert_max_num_queries(12):  # ten, and the savepoint that stands for BEGIN and COMMIT here
        assert client.post("/api/entries/", body, format="json").json()["answers"][0]["outcome"] == "recorded"


def test_a_refusal_looks_for_another_in_one_query(farm: Farm, clippers: list[str], client_of: Any) -> None:
    (raw,) = farm.gear("clippers")
    client = client_of("rosa")

    def refused() -> list[str]:
        with CaptureQueriesContext(connection) as seen:
            body = farm.batch([out(farm, raw)])
            assert (
                client.post("/api/entries/", body, format="json").json()["answers"][0]["code"]
                == "cleaning_due"
            )
        return [query["sql"] for query in seen.captured_queries if "packed_in_id" in query["sql"]]

    assert len(refused()) == 1
    farm.gear("clippers", 40)
    assert len(refused()) == 1


def test_a_look_that_holds_ends_by_the_look(farm: Farm, post: Post, clippers: list[str]) -> None:
    hold_for_a_look(farm)
    assert post(out(farm, clippers[0]))[0]["code"] == "inspection_due"
    detail = {"checklist": "clippers_daily", "answers": all_good("clippers_daily")}
    assert post(farm.entry("inspected", item=clippers[0], detail=detail))[0]["state"]["fit"]
    assert post(out(farm, clippers[0]))[0]["outcome"] == "recorded"
    assert timezone.now() - timedelta(minutes=1) < Entry.objects.get(verb="inspected").happened_at
