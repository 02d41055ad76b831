"""The disease trace's pages and its paper: what is asked, what is said, the case kept, the pieces flagged and freed."""

from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from equipment.actions.set_rule import set_rule
from equipment.models import Case, Discrepancy, Entry, Item, ItemState
from tests.cast import Farm
from tests.documents.reading import words
from tests.traced import Day, a_day

pytestmark = pytest.mark.django_db


@pytest.fixture
def day(ruled_farm: Farm) -> Day:
    return a_day(ruled_farm)


def client(farm: Farm, name: str = "olga") -> Client:
    found = Client()
    found.force_login(farm.users[name], backend="crews.signing_in.RoleBackend")
    return found


def ask(day: Day, name: str = "olga", **more: Any) -> str:
    asked = {"block": "N4", "disease": "exocortis", "since": day.date.isoformat(), **more}
    response = client(day.farm, name).get("/trace/", asked)
    assert response.status_code == 200
    return " ".join(response.content.decode().split())


def keep(day: Day, **more: Any) -> Case:
    asked = {
        "block": "N4",
        "disease": "exocortis",
        "since": day.date.isoformat(),
        "why": "gum on the trunk",
        **more,
    }
    response = client(day.farm).post("/trace/", asked)
    case = Case.objects.get()
    assert response.headers["Location"] == f"/trace/{case.number}/"
    return case


def post(day: Day, case: Case, what: str, name: str = "olga", **sent: Any) -> str:
    response = client(day.farm, name).post(f"/trace/{case.number}/{what}/", sent, follow=True)
    return str(response.content.decode())


def flagged() -> set[str]:
    return {row.tag for row in ItemState.objects.all() if "disease_flag" in row.reasons}


def test_the_path_is_told_in_words(day: Day) -> None:
    """Ana's pair goes from N4 to S2, where Cy's is; Ben's stays in N4 and was sterilised by what kills it."""
    said = ask(day)
    local = timezone.localtime
    at, until, came = (f"{local(day.at(hour)):%H:%M}" for hour in ("arrived", "left", "came"))
    on = f"{local(day.at('arrived')).day} {local(day.at('arrived')):%B}"
    assert f"{day.ana} in N4 on {on}, {at} to {until}, not sterilised before S2 at {came}" in said
    assert f"{day.cy} in S2 on {on}, {came} to" in said and "not sterilised since" in said
    assert "3 pieces were reached. 2 may still carry it. It came to 1 block more." in said
    assert f"sterilised on {on} at {local(day.at('dipped')):%H:%M}" in said
    assert "Carried by" in said and "Clippers" in said and "Neither a flame nor alcohol ends it" in said
    assert "tell the plant health authority first" in said and "local law" in said


def test_a_disease_that_gear_does_not_carry_shows_no_route(day: Day) -> None:
    said = ask(day, disease="huanglongbing")
    assert "Gear does not carry Huanglongbing (greening) from block to block" in said
    assert "Insects and grafts carry it" in said
    assert "trace-tree" not in said and day.ana not in said and "Gear is one way" not in said
    assert "no piece to call back" in words(pdf(day, keep(day, disease="huanglongbing")))[0]


def test_the_farm_says_what_carries_it(day: Day) -> None:
    olga, now = day.farm.users["olga"], timezone.now()
    set_rule(
        olga, "disease exocortis", {"carried_by_clippers": False}, "every pair is flamed and dipped", now
    )
    assert "Gear does not carry Exocortis" in ask(day)
    boots = day.hand_out("ana", "red", "handed", kind="gumboots")
    assert boots not in ask(day, disease="brown_rot")
    set_rule(olga, "disease brown_rot", {"carried_by_gumboots": True}, "mud", now)
    said = ask(day, disease="brown_rot")
    assert boots in said and "not washed since" in said
    rules = client(day.farm).get("/rules/?q=brown").content.decode()
    assert "Carried by Picking bags, Bulk bins, Pairs of gumboots." in rules


def pdf(day: Day, case: Case, name: str = "rosa") -> bytes:
    response = client(day.farm, name).get(f"/trace/{case.number}/recall.pdf")
    assert response.status_code == 200 and response["Content-Type"] == "application/pdf"
    return bytes(response.content)


CANNOT = [
    ({"since": "2999-01-01"}, "That day is still to come."),
    ({"until": "2000-01-01"}, "This is before the day since which it is present."),
    ({"since": "soon"}, "Enter a valid date."),
    ({"since": ""}, "This field is required."),
    ({"disease": "measles"}, "Select a valid choice."),
    ({"block": "Z9"}, "Select a valid choice."),
    ({"since": "2001-01-01"}, "The book begins on"),
]


def test_what_cannot_be_traced_is_said(day: Day) -> None:
    for asked, says in CANNOT:
        assert says in ask(day, **asked), asked


def test_a_block_that_nobody_visited(day: Day) -> None:
    day.farm.plan("red", "S9")
    said = ask(day, block="S9")
    assert "is in the book, though the plan sent these crews: Red crew. Ask them." in said
    day.farm.crews["red"].plans.all().delete()
    assert "and no plan sent a crew there." in ask(day, block="S9")


def test_visits_without_a_carrier(day: Day) -> None:
    assert "No carrier was with the crews that visited N4" in ask(day, disease="brown_rot")


def test_how_far_and_how_strictly_it_is_followed(day: Day) -> None:
    assert day.cy not in ask(day, steps="1") and day.cy in ask(day, steps="2")
    assert "in the same moment too" in ask(day, chaining="same")


def test_a_case_is_kept_flagged_in_one_act_printed_and_undone(day: Day) -> None:
    case = keep(day)
    assert case.found == {
        "blocks": ["S2"],
        "pieces": sorted([day.ana, day.ben, day.cy]),
        "carrying": sorted([day.ana, day.cy]),
    }
    page = client(day.farm).get(f"/trace/{case.number}/").content.decode()
    assert "gum on the trunk" in page and page.count('name="tag"') == 2
    assert "2 pieces are flagged." in post(day, case, "flag", tag=[day.ana, day.cy, day.ben])
    assert flagged() == {day.ana, day.cy}  # Ben's was cleaned of it: nobody flags it by hand
    entries = list(Entry.objects.filter(verb="flagged"))
    assert len({entry.act for entry in entries}) == 1
    assert {entry.detail["case"] for entry in entries} == {str(case.number)}
    assert "None of these is left to flag" in post(day, case, "flag", tag=[day.ana])
    (paper,) = words(pdf(day, case))
    assert all(tag in paper for tag in (day.ana, day.cy)) and "Exocortis, found in N4" in paper
    assert "Say why the flags come off" in post(day, case, "unflag", why=" ")
    assert "2 flags are taken off." in post(day, case, "unflag", why="the laboratory found nothing")
    assert not flagged() and not Discrepancy.objects.exists()
    assert "No piece carries a flag of this case." in post(day, case, "unflag", why="again")
    assert "2 pieces are flagged." in post(day, case, "flag", tag=[day.ana, day.cy])


def test_what_the_book_learns_later_is_told_beside_the_case(day: Day) -> None:
    case = keep(day)
    late = day.hand_out("ben", "red", "handed", kind="clippers")
    page = client(day.farm).get(f"/trace/{case.number}/").content.decode()
    assert "Reached as well:" in page and late in page


def test_a_piece_written_off_is_not_flagged(day: Day) -> None:
    case = keep(day)
    item = Item.objects.get(state__tag=day.ana).pk
    day.tell("now", "written_off", item=item, detail={"circumstance": "lost"})
    assert "1 piece is flagged." in post(day, case, "flag", tag=[day.ana, day.cy])
    assert flagged() == {day.cy}


def test_others_look_and_do_not_flag(day: Day) -> None:
    case = keep(day)
    for name in ("rosa", "sam", "mo"):
        said = ask(day, name)
        assert day.cy in said and "Keep this case" not in said
        page = client(day.farm, name).get(f"/trace/{case.number}/").content.decode()
        assert day.cy in page and "The safety officer and the manager flag them." in page
        pdf(day, case, name)
        for what in ("flag", "unflag"):
            response = client(day.farm, name).post(f"/trace/{case.number}/{what}/", {"tag": day.ana})
            assert response.status_code == 403
    assert not flagged()


def test_cases_are_listed_and_an_unknown_one_is_not_there(day: Day) -> None:
    assert "No case has been kept." in client(day.farm).get("/trace/").content.decode()
    case = keep(day)
    assert f"/trace/{case.number}/" in client(day.farm).get("/trace/").content.decode()
    assert client(day.farm).get("/trace/999999/").status_code == 404


def test_questions_do_not_grow_with_pieces(day: Day) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as captured:
            ask(day)
        return len(captured)

    few = asked()
    for _ in range(12):
        day.hand_out("ana", "red", "handed", kind="clippers")
    assert asked() == few
