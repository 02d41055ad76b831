"""Day plans: made, changed, stopped and cancelled with a why, copied, and seen a week at a time."""

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from django.test import Client
from django.utils import timezone

from crews.models import DayPlan
from equipment.actions.change_plan import Change, change_plan
from tests.cast import Farm

SignIn = Callable[[str], Client]


@pytest.fixture
def as_(farm: Farm) -> SignIn:
    def sign_in(name: str) -> Client:
        client = Client()
        client.force_login(farm.users[name], backend="crews.signing_in.RoleBackend")
        return client

    return sign_in


def day(days: int = 0) -> date:
    return timezone.localdate() + timedelta(days=days)


def test_a_plan_is_made_once_for_the_same_hours(farm: Farm, as_: SignIn) -> None:
    sent = {
        "crew": farm.crews["red"].pk,
        "date": day().isoformat(),
        "part": "day",
        "block": "N4",
        "clipped": "on",
    }
    assert as_("frank").post("/plans/new/", sent).status_code == 302
    for part in ("day", "morning"):
        answer = as_("frank").post("/plans/new/", {**sent, "part": part, "block": "S2"})
        assert "Change that plan instead" in answer.content.decode()
    assert DayPlan.objects.count() == 1


@pytest.mark.parametrize("state", ["changed", "stopped", "cancelled"])
def test_each_change_says_who_when_and_why(state: str, farm: Farm, as_: SignIn) -> None:
    plan = farm.plan("red", "N4")
    as_("frank").post(f"/plans/{plan.pk}/", {"state": state, "block": "S2", "why": " wet fruit "})
    plan.refresh_from_db()
    change = plan.changes.get()
    assert (plan.state, change.state, change.why, change.by) == (
        state,
        state,
        "wet fruit",
        farm.users["frank"],
    )
    assert (plan.block_id, plan.clipped) == (("S2", False) if state == "changed" else ("N4", True))
    page = as_("frank").get(f"/plans/{plan.pk}/").content.decode()
    assert "wet fruit" in page
    assert "frank" in page


@pytest.mark.parametrize(
    "sent",
    [
        {"state": "stopped", "block": "N4", "clipped": "on", "why": "  "},
        {"state": "changed", "block": "N4", "clipped": "on", "why": "as it is"},
        {"state": "planned", "block": "N4", "why": "no such thing"},
        {"state": "changed", "block": "X", "why": "no such block"},
    ],
)
def test_half_a_change_is_none(sent: dict[str, str], farm: Farm, as_: SignIn) -> None:
    plan = farm.plan("red", "N4")
    assert as_("frank").post(f"/plans/{plan.pk}/", sent).status_code == 200
    plan.refresh_from_db()
    assert (plan.state, plan.changes.count()) == ("planned", 0)


def test_the_action_itself_wants_a_why(farm: Farm) -> None:
    plan = farm.plan("red", "N4")
    with pytest.raises(ValueError, match="say why"):
        change_plan(plan, Change("stopped", " ", plan.block, True), farm.users["frank"], timezone.now())


def test_a_stopped_plan_goes_on_where_it_was(farm: Farm, as_: SignIn) -> None:
    plan = farm.plan("red", "N4", state="stopped")
    as_("sam").post(
        f"/plans/{plan.pk}/", {"state": "changed", "block": "N4", "clipped": "on", "why": "dry again"}
    )
    plan.refresh_from_db()
    assert plan.state == "changed"


def test_a_supervisor_changes_the_plans_of_their_own_crews_only(farm: Farm, as_: SignIn) -> None:
    own, foreign = farm.plan("red", "N4"), farm.plan("blue", "N4")
    sam = as_("sam")
    assert sam.get(f"/plans/{foreign.pk}/").status_code == 404
    assert (
        sam.post(f"/plans/{foreign.pk}/", {"state": "stopped", "block": "N4", "why": "rain"}).status_code
        == 404
    )
    sam.post(f"/plans/{own.pk}/", {"state": "cancelled", "block": "N4", "why": "rain"})
    own.refresh_from_db()
    assert own.state == "planned"
    sam.post(f"/plans/{own.pk}/", {"state": "stopped", "block": "N4", "why": "rain"})
    own.refresh_from_db()
    assert own.state == "stopped"
    assert [week.crew.name for week in sam.get("/plans/").context["weeks"]] == ["Red crew"]


def test_a_second_role_does_not_open_foreign_plans(farm: Farm, as_: SignIn) -> None:
    farm.users["sam"].groups.add(farm.users["mo"].groups.get())
    foreign = farm.plan("blue", "N4")
    assert as_("sam").get(f"/plans/{foreign.pk}/").status_code == 200
    assert as_("sam").post(f"/plans/{foreign.pk}/", {"state": "stopped", "why": "rain"}).status_code == 403


@pytest.mark.parametrize("name", ["rosa", "olga", "mo"])
def test_others_look_only(name: str, farm: Farm, as_: SignIn) -> None:
    plan = farm.plan("red", "N4")
    assert as_(name).get(f"/plans/{plan.pk}/").context["form"] is None
    assert as_(name).post(f"/plans/{plan.pk}/", {}).status_code == 403


def test_a_day_is_copied_but_for_crews_planned_already(farm: Farm, as_: SignIn) -> None:
    farm.plan("red", "N4", part="morning", state="stopped")
    farm.plan("red", "S2", part="afternoon", clipped=False)
    farm.plan("blue", "S2")
    farm.plan("blue", "N4", days=1)
    sent = {"source": day().isoformat(), "target": day(1).isoformat()}
    page = as_("frank").post("/plans/copy/", sent, follow=True).content.decode()
    assert "2 plans were copied" in page
    assert "Left alone, because planned already: Blue crew." in page
    copied = DayPlan.objects.filter(date=day(1)).order_by("crew__name", "part")
    assert [(p.crew.name, p.part, p.block_id, p.clipped, p.state) for p in copied.select_related("crew")] == [
        ("Blue crew", "day", "N4", True, "planned"),
        ("Red crew", "afternoon", "S2", False, "planned"),
        ("Red crew", "morning", "N4", True, "planned"),
    ]


def test_a_cancelled_plan_is_not_copied_nor_a_day_to_itself(farm: Farm, as_: SignIn) -> None:
    farm.plan("red", "N4", state="cancelled")
    as_("frank").post("/plans/copy/", {"source": day().isoformat(), "target": day(1).isoformat()})
    answer = as_("frank").post("/plans/copy/", {"source": day().isoformat(), "target": day().isoformat()})
    assert "Choose two days." in answer.content.decode()
    assert DayPlan.objects.count() == 1


@pytest.mark.parametrize("asked", ["2026-03-25", "nonsense", "2026-02-30", "0001-01-01", "9999-12-31", ""])
def test_a_week_is_seven_days_from_a_monday(asked: str, farm: Farm, as_: SignIn) -> None:
    days = as_("mo").get("/plans/", {"day": asked}).context["days"]
    assert days[0].weekday() == 0
    assert days[-1] - days[0] == timedelta(days=6)
    if asked == "2026-03-25":
        assert days[0] == date(2026, 3, 23)


def test_a_plan_is_proposed_for_the_square_that_was_pressed(farm: Farm, as_: SignIn) -> None:
    form = (
        as_("frank").get("/plans/new/", {"crew": farm.crews["red"].pk, "date": "2026-03-25"}).context["form"]
    )
    assert (form["crew"].value(), form["date"].value()) == (farm.crews["red"].pk, date(2026, 3, 25))
