"""The Rules page: everybody reads why a piece stays in the store, the officer and the manager set it, with a why."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from equipment.actions.set_rule import set_rule
from equipment.models import Rule, rules
from tests.cast import ROLES, Farm
from tests.farm import SignIn

CLIPPERS, PATH = "cleaning clippers sterilise", "/rules/cleaning-clippers-sterilise/"


def sent(subject: str, **changes: Any) -> dict[str, Any]:
    """What the form sends of a rule as it is, but for `changes`."""
    row = Rule.objects.of(subject).order_by("-id")[0]
    values = {name: "" if value is None else value for name, value in row.values.items()}
    ticked = {name: "on" if value is True else value for name, value in values.items() if value is not False}
    return {**ticked, "why": "warm days", "seen": row.pk, **changes}


def text(response: Any) -> str:
    assert response.status_code == 200
    return " ".join(response.content.decode().replace("&#x27;", "'").split())


@pytest.mark.parametrize("name", ROLES)
def test_everybody_reads_the_rules_and_their_source(name: str, as_: SignIn) -> None:
    page = text(as_(name).get("/rules/"))
    for heading in ("Cleaning", "Inspections", "Faults", "Baths and washes", "Diseases"):
        assert f">{heading}</h2>" in page
    assert "Holds until the first of: 4 hours in use, 72 hours on the shelf, another block" in page
    assert "Mixed to 5,000 ppm (0.5 %) of sodium hypochlorite. It must act for 10 minutes at least." in page
    assert "half a picking day" in page
    assert "Never with acid (vinegar included) or ammonia" in page
    assert "The label of the product and its safety sheet come first, and local law." in page
    assert f'href="{PATH}"' in page


@pytest.mark.parametrize("name", ROLES)
def test_the_officer_and_the_manager_set_them(name: str, as_: SignIn) -> None:
    may = name in ("olga", "frank")
    assert ("Look at the change" in text(as_(name).get(PATH))) == may
    answer = as_(name).post(PATH, sent(CLIPPERS, hours_in_use="3", confirmed="1"))
    assert answer.status_code == (302 if may else 403)
    assert Rule.objects.of(CLIPPERS).count() == (2 if may else 1)


def test_a_change_is_looked_at_before_it_is_written_down(as_: SignIn) -> None:
    page = text(as_("olga").post(PATH, sent(CLIPPERS, hours_in_use="3")))
    assert '<th scope="row">Hours in use</th><td><s>4</s></td><td><b>3</b></td>' in page
    assert "Holds until the first of: 3 hours in use" in page and "warm days" in page
    assert "Hours on the shelf" not in page
    assert Rule.objects.of(CLIPPERS).count() == 1
    back = text(as_("olga").post(PATH, sent(CLIPPERS, hours_in_use="3", back="1")))
    assert 'name="hours_in_use" value="3"' in back and "Look at the change" in back
    assert Rule.objects.of(CLIPPERS).count() == 1


def test_a_change_is_a_version_and_history_shows_it(as_: SignIn) -> None:
    client = as_("olga")
    assert client.post(PATH, sent(CLIPPERS, hours_in_use="3", confirmed="1"))["Location"] == PATH
    page = text(client.get(PATH))
    assert "holds as it stands below, from now on" in page
    assert "The catalogue has: 4." in page
    history = page[page.index("Its history</h2>") :]
    assert history.index("3 hours in use") < history.index("4 hours in use")
    assert "olga" in history and "warm days" in history and "the beginning" in history
    assert Rule.objects.of(CLIPPERS)[0].values["hours_in_use"] == 3
    assert "olga, since" in text(client.get("/rules/"))


def test_a_change_may_wait_for_its_day(as_: SignIn, ruled_farm: Farm) -> None:
    client = as_("olga")
    day = (timezone.localtime() + timedelta(days=2)).replace(second=0, microsecond=0)
    when = day.strftime("%Y-%m-%dT%H:%M")
    client.post(PATH, sent(CLIPPERS, hours_in_use="3", from_at=when, confirmed="1"))
    assert Rule.objects.of(CLIPPERS)[0].from_at == day
    assert rules.rules_at(timezone.now()).cleaning["clippers"][0].hours_in_use == 4
    for path in ("/rules/", PATH):
        assert f"From {day:%-d %b %Y %H:%M}" in text(client.get(path))
    page = text(client.post(PATH, sent(CLIPPERS, hours_in_use="5")))
    assert f"Only until {day:%-d %B %Y %H:%M}" in page


def test_the_minute_that_runs_is_now(as_: SignIn) -> None:
    now = timezone.localtime().strftime("%Y-%m-%dT%H:%M")
    as_("olga").post(PATH, sent(CLIPPERS, hours_in_use="3", from_at=now, confirmed="1"))
    assert Rule.objects.of(CLIPPERS).count() == 2
    assert rules.rules_at(timezone.now()).cleaning["clippers"][0].hours_in_use == 3


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"hours_in_use": "0"}, "Hours in use: give a number above zero, not 0."),
        ({"hours_in_use": "half a day"}, "Hours in use: “half a day” is not a number."),
        ({"shelf_hours": "99999"}, "more than a year, 99999 hours"),
        ({"hours_in_use": "4"}, "Nothing is changed"),
        ({"hours_in_use": "3", "why": " "}, "This field is required."),
        ({"hours_in_use": "3", "from_at": "2020-01-01T06:00"}, "A rule begins now or later."),
        ({"hours_in_use": "3", "from_at": "soon"}, "Enter a valid date/time."),
        ({"hours_in_use": "3", "seen": "1000000"}, "Somebody has changed this rule meanwhile."),
    ],
)
@pytest.mark.parametrize("confirmed", [{}, {"confirmed": "1"}])
def test_what_cannot_be_is_named(
    changes: dict[str, str], confirmed: dict[str, str], says: str, as_: SignIn
) -> None:
    page = text(as_("olga").post(PATH, sent(CLIPPERS, **changes, **confirmed)))
    assert says in page and "Look at the change" in page
    assert Rule.objects.of(CLIPPERS).count() == 1


@pytest.mark.parametrize(
    "forced", [{"severity": "note"}, {"overridable": "on"}, {"severity": "mend_by", "within_days": "3"}]
)
def test_what_can_maim_is_not_offered_and_not_taken(forced: dict[str, str], as_: SignIn) -> None:
    path, subject = "/rules/fault-ladder_cracked_stile/", "fault ladder_cracked_stile"
    page = text(as_("olga").get(path))
    assert 'name="severity"' not in page and 'name="overridable"' not in page
    assert "It can maim: it always stops the use" in page
    data = {"released_by": "officer", "why": "in a hurry", "seen": Rule.objects.of(subject)[0].pk, **forced}
    assert "It can maim" in text(as_("olga").post(path, {**data, "confirmed": "1"}))
    assert Rule.objects.of(subject).count() == 1


def test_a_piece_that_hurt_somebody_has_nothing_to_set(as_: SignIn) -> None:
    page = text(as_("olga").get("/rules/fault-hurt_someone/"))
    assert "Look at the change" not in page
    assert as_("olga").post("/rules/fault-hurt_someone/", {"why": "x"}).status_code == 403


def test_a_bath_keeps_its_cautions_whatever_is_set(as_: SignIn) -> None:
    path, subject = "/rules/recipe-clippers_daily_bleach/", "recipe clippers_daily_bleach"
    too_strong = sent(subject, target_ppm="60000", test_high_ppm="70000")
    assert "of 5 % gives at most 50000 ppm" in text(as_("olga").post(path, too_strong))
    stronger = sent(subject, target_ppm="6000")
    for page in (as_("olga").post(path, stronger), as_("olga").get(path), as_("sam").get(path)):
        said = text(page)
        for caution in ("Label and safety sheet first.", "Bleach into water", "Gloves, goggles"):
            assert caution in said


def test_what_was_tried_in_vain_stays_so(as_: SignIn) -> None:
    """Roistacher, Calavan & Blue 1969, Plant Disease Reporter 53(5):333-336."""
    path = "/rules/disease-exocortis/"
    assert "alcohol, 95 % included" in text(as_("olga").get(path))
    page = text(as_("olga").post(path, sent("disease exocortis", bleach_ppm="200")))
    assert "weaker than 10000 ppm was tried and does not end Exocortis" in page


@pytest.mark.parametrize(
    ("asked", "there", "not_there"),
    [
        ("bag seam", "Torn seam", "Worn spring"),
        ("CLIPPERS sterilise", "Clippers: sterilise", "Torn seam"),
        ("exocortis", "Exocortis", "Torn seam"),
    ],
)
def test_rules_are_found_by_their_words(asked: str, there: str, not_there: str, as_: SignIn) -> None:
    page = text(as_("mo").get("/rules/", {"q": asked}))
    assert there in page and not_there not in page


def test_a_search_without_an_answer_says_what_to_do(as_: SignIn) -> None:
    page = text(as_("mo").get("/rules/", {"q": "<b>zeppelin"}))
    assert "No rule speaks of “&lt;b&gt;zeppelin”." in page and "Show all" in page


def test_without_rules_the_page_says_what_that_means(farm: Farm) -> None:
    client = Client()
    client.force_login(farm.users["olga"], backend="crews.signing_in.RoleBackend")
    assert "No rule is in force" in text(client.get("/rules/"))
    assert client.get(PATH).status_code == 404


@pytest.mark.parametrize("slug", ["x", "fault-unheard_of", "inspection-morning", "-"])
def test_a_rule_that_is_not_there_is_404(slug: str, as_: SignIn) -> None:
    assert as_("olga").get(f"/rules/{slug}/").status_code == 404
    assert as_("olga").post(f"/rules/{slug}/", {"why": "x"}).status_code == 404


@pytest.mark.parametrize("name", ["olga", "mo"])
def test_every_rule_has_a_page(name: str, as_: SignIn) -> None:
    client = as_(name)
    for subject in rules.subjects_known():
        assert "Its history" in text(client.get(f"/rules/{subject.replace(' ', '-')}/"))


def test_queries_do_not_grow_with_versions(
    as_: SignIn, ruled_farm: Farm, django_assert_max_num_queries: Any
) -> None:
    client, olga = as_("olga"), ruled_farm.users["olga"]
    for n in range(1, 13):
        set_rule(olga, CLIPPERS, {"hours_in_use": n / 8}, f"try {n}", timezone.now())
    for path in ("/rules/", PATH):
        client.get(path)
        with django_assert_max_num_queries(9):
            client.get(path)
