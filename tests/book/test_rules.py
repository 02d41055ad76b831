"""Rules are versions: each from a time on, by somebody, for a reason; what held before goes on holding for its day."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from equipment.actions.load_catalogue import BEGINNING, load_catalogue
from equipment.actions.set_rule import BadRule, set_rule
from equipment.catalogue.rules import assembled, defaults, rows
from equipment.domain.rules import NO_RULES, CleaningRule, Rules
from equipment.models import ItemState, Rule, rules
from tests.cast import Farm

CLIPPERS = "cleaning clippers sterilise"
MONDAY = datetime(2026, 6, 1, 6, tzinfo=UTC)
TUESDAY = MONDAY + timedelta(days=1)


def hours(of: Rules) -> float | None:
    return of.cleaning["clippers"][0].hours_in_use


@pytest.fixture
def olga(ruled_farm: Farm) -> Any:
    return ruled_farm.users["olga"]


def test_an_empty_book_of_rules_forbids_nothing(db: None, django_assert_num_queries: Any) -> None:
    assert rules.version() == 0 and rules.next_change(MONDAY) is None
    assert rules.rules_at(MONDAY) == NO_RULES
    with django_assert_num_queries(0):
        assert rules.rules_at(MONDAY, 0) is NO_RULES


def test_what_the_catalogue_gives_holds_from_the_beginning(ruled_farm: Farm) -> None:
    whole = rules.whole()
    known = rows(whole)
    newest = rules.version()
    expected = assembled(whole, {subject: defaults(row) for subject, row in known.items()}, newest)
    assert rules.rules_at(BEGINNING) == rules.rules_at(timezone.now()) == expected
    assert rules.rules_at(BEGINNING - timedelta(seconds=1)) == NO_RULES
    assert set(expected.faults) == {fault.code for fault in whole.fault}
    assert "" not in expected.inspections
    assert expected.cleaning["clippers"] == (
        CleaningRule("clippers", "sterilise", 4, 72, other_block=True, other_picker=True, holds=True),
    )


def test_each_day_goes_by_its_own_rule(olga: Any) -> None:
    before = rules.version()
    set_rule(olga, CLIPPERS, {"hours_in_use": 3}, "warm days", MONDAY)
    last = set_rule(olga, CLIPPERS, {"hours_in_use": 2.5}, "warmer", TUESDAY)
    at = [MONDAY - timedelta(microseconds=1), MONDAY, TUESDAY - timedelta(microseconds=1), TUESDAY]
    assert [hours(rules.rules_at(when)) for when in at] == [4, 3, 3, 2.5]
    assert [rules.rules_at(when).version for when in at] == [before, last.pk - 1, last.pk - 1, last.pk]
    assert [(row.by, row.why) for row in Rule.objects.of(CLIPPERS)] == [
        (olga, "warmer"),
        (olga, "warm days"),
        (None, ""),
    ]


def test_of_two_that_begin_together_the_one_written_last_counts(olga: Any) -> None:
    set_rule(olga, CLIPPERS, {"hours_in_use": 3}, "warm days", MONDAY, TUESDAY)
    set_rule(olga, CLIPPERS, {"hours_in_use": 5}, "cold after all", MONDAY + timedelta(hours=1), TUESDAY)
    assert hours(rules.rules_at(TUESDAY)) == 5


def test_a_rule_comes_into_force_by_time_alone(olga: Any, django_assert_num_queries: Any) -> None:
    set_rule(olga, CLIPPERS, {"hours_in_use": 3}, "from the harvest on", MONDAY, TUESDAY)
    newest = rules.version()
    rules.rules_at(MONDAY, newest)
    with django_assert_num_queries(0):
        assert hours(rules.rules_at(TUESDAY - timedelta(seconds=1), newest)) == 4
        assert hours(rules.rules_at(TUESDAY, newest)) == 3
    assert rules.next_change(MONDAY) == TUESDAY
    assert rules.next_change(TUESDAY) is None


def test_one_set_meanwhile_holds_until_the_one_that_waits(olga: Any) -> None:
    set_rule(olga, CLIPPERS, {"hours_in_use": 3}, "from tomorrow", MONDAY, TUESDAY)
    set_rule(olga, CLIPPERS, {"other_block": False}, "one block today", MONDAY)
    today, tomorrow = (rules.rules_at(at).cleaning["clippers"][0] for at in (MONDAY, TUESDAY))
    assert (today.hours_in_use, today.other_block) == (4, False)
    assert (tomorrow.hours_in_use, tomorrow.other_block) == (3, True)


def test_what_was_read_once_is_not_asked_for_again(olga: Any, django_assert_num_queries: Any) -> None:
    newest = set_rule(olga, CLIPPERS, {"hours_in_use": 3}, "warm days", MONDAY).pk
    first = rules.rules_at(MONDAY, newest)
    with django_assert_num_queries(0):
        assert rules.rules_at(MONDAY + timedelta(minutes=1), newest) is first
        assert rules.rules_at(MONDAY - timedelta(minutes=1), newest).version < newest
    with django_assert_num_queries(1):
        assert rules.rules_at(MONDAY) is first


def test_an_older_version_does_not_know_the_newer_ones(olga: Any) -> None:
    older = rules.version()
    set_rule(olga, CLIPPERS, {"hours_in_use": 3}, "warm days", MONDAY)
    assert hours(rules.rules_at(MONDAY, older)) == 4


@pytest.mark.django_db(transaction=True)
def test_what_is_committed_is_kept_and_what_is_rolled_back_is_not(
    ruled_farm: Farm, django_assert_num_queries: Any
) -> None:
    """SQLite gives the id of a row that was rolled back to the next one."""
    olga = ruled_farm.users["olga"]
    with transaction.atomic():
        lost = set_rule(olga, CLIPPERS, {"hours_in_use": 1}, "a slip", MONDAY).pk
        assert hours(rules.rules_at(MONDAY, lost)) == 1
        transaction.set_rollback(True)
    assert hours(rules.rules_at(MONDAY)) == 4
    kept = set_rule(olga, CLIPPERS, {"hours_in_use": 3}, "warm days", MONDAY).pk
    assert kept == lost or connection.vendor != "sqlite"
    assert hours(rules.rules_at(MONDAY, kept)) == 3
    with django_assert_num_queries(0):
        assert hours(rules.rules_at(TUESDAY, kept)) == 3


def test_a_part_of_a_transaction_that_is_taken_back_leaves_nothing(olga: Any) -> None:
    with transaction.atomic():
        lost = set_rule(olga, CLIPPERS, {"hours_in_use": 1}, "a slip", MONDAY).pk
        assert hours(rules.rules_at(MONDAY, lost)) == 1
        transaction.set_rollback(True)
    kept = set_rule(olga, CLIPPERS, {"hours_in_use": 3}, "warm days", MONDAY).pk
    assert hours(rules.rules_at(MONDAY, kept)) == 3


def test_a_version_is_never_changed_and_never_deleted(ruled_farm: Farm) -> None:
    row = Rule.objects.of(CLIPPERS).get()
    for change in (
        row.save,
        row.delete,
        Rule.objects.all().delete,
        lambda: Rule.objects.update(why="because"),
        lambda: Rule.objects.filter(pk=row.pk).update(values={}),
    ):
        with pytest.raises(TypeError, match="write a new version"):
            change()
    assert Rule.objects.get(pk=row.pk).values == row.values


def test_the_database_asks_the_farm_for_a_why(ruled_farm: Farm) -> None:
    row = Rule(subject=CLIPPERS, values={}, from_at=MONDAY, by=ruled_farm.users["olga"], recorded_at=MONDAY)
    with pytest.raises(IntegrityError, match="a_rule_of_the_farm_says_why"), transaction.atomic():
        row.save()


def test_a_subject_that_the_catalogue_does_not_know_is_left_out(ruled_farm: Farm) -> None:
    Rule(subject="fault bag_haunted", values={"severity": "note"}, from_at=MONDAY, recorded_at=MONDAY).save()
    found = rules.rules_at(TUESDAY)
    assert "bag_haunted" not in found.faults
    assert found.fault("bag_haunted").severity == "stop_use"


# --- the catalogue, loaded again and again


def test_loading_again_changes_nothing(ruled_farm: Farm) -> None:
    before = list(Rule.objects.values_list("id", "subject"))
    loaded = load_catalogue().rules
    assert (loaded.added, loaded.updated, loaded.kept) == (0, 0, 0)
    assert list(Rule.objects.values_list("id", "subject")) == before


def test_what_the_farm_has_set_stays_the_farms(olga: Any) -> None:
    set_rule(olga, CLIPPERS, {"hours_in_use": 3}, "warm days", MONDAY)
    loaded = load_catalogue().rules
    assert (loaded.added, loaded.updated, loaded.kept) == (0, 0, 1)
    assert hours(rules.rules_at(timezone.now() + timedelta(days=1))) == 3


def test_a_default_that_reads_otherwise_now_holds_from_now_on(db: None) -> None:
    old = {**defaults(rules.subjects_known()[CLIPPERS]), "hours_in_use": 6}
    Rule(subject=CLIPPERS, values=old, from_at=BEGINNING, recorded_at=BEGINNING).save()
    loaded = load_catalogue(at=MONDAY).rules
    assert (loaded.added, loaded.updated, loaded.kept) == (len(rules.subjects_known()) - 1, 1, 0)
    assert [hours(rules.rules_at(at)) for at in (MONDAY - timedelta(seconds=1), MONDAY)] == [6, 4]
    assert load_catalogue(at=TUESDAY).rules.updated == 0


def test_what_was_kept_before_there_was_more_to_set_has_the_default_for_it(db: None) -> None:
    Rule(
        subject=CLIPPERS, values={"hours_in_use": 6, "phase": 2}, from_at=BEGINNING, recorded_at=MONDAY
    ).save()
    assert rules.rules_at(MONDAY).cleaning["clippers"][0] == CleaningRule(
        "clippers", "sterilise", 6, 72, other_block=True, other_picker=True, holds=True
    )


def test_the_catalogue_may_be_loaded_without_its_rules(farm: Farm) -> None:
    assert Rule.objects.count() == 0


# --- setting a rule


def refused(by: Any, subject: str, changes: dict[str, Any], why: str = "a reason", **times: Any) -> Any:
    before = Rule.objects.count()
    with pytest.raises(BadRule) as bad:
        set_rule(by, subject, changes, why, MONDAY, **times)
    assert Rule.objects.count() == before
    return bad.value.problems


@pytest.mark.parametrize(
    ("subject", "changes", "setting", "says"),
    [
        (CLIPPERS, {"hours_in_use": 0}, "hours_in_use", "Hours in use: give a number above zero, not 0."),
        (CLIPPERS, {"hours_in_use": -4}, "hours_in_use", "above zero, not -4"),
        (CLIPPERS, {"hours_in_use": "2,5"}, "hours_in_use", "“2,5” is not a number"),
        (CLIPPERS, {"hours_in_use": True}, "hours_in_use", "give a number"),
        (CLIPPERS, {"shelf_hours": 1e300}, "shelf_hours", "more than a year"),
        (CLIPPERS, {"shelf_hours": float("nan")}, "shelf_hours", "not a number"),
        (CLIPPERS, {"other_block": "yes"}, "other_block", "yes or no"),
        (CLIPPERS, {"phase": 1}, "", "nothing to set that is called “phase”"),
        (
            CLIPPERS,
            {"hours_in_use": None, "shelf_hours": None, "other_block": False, "other_picker": False},
            "",
            "Nothing would end this sterilising",
        ),
        ("inspection bag_weekly", {"every_days": -1}, "every_days", "from 0 to 3650, not -1"),
        ("inspection bag_weekly", {"every_days": 1.5}, "every_days", "whole number"),
        ("inspection bag_weekly", {"every_days": None}, "every_days", "give a number"),
        ("inspection morning", {"every_days": 1}, "", "There is no rule “inspection morning”"),
        ("fault bag_hole", {"severity": "fatal"}, "severity", "choose one of what is offered, not “fatal”"),
        ("fault bag_hole", {"severity": "mend_by"}, "within_days", "Say in how many days"),
        ("fault bag_hole", {"within_days": 3}, "within_days", "Leave them empty"),
        ("fault tag_unreadable", {"within_days": 0}, "within_days", "from 1 to 365, not 0"),
        ("fault dirty", {"severity": "stop_use"}, "", "nothing to set that is called “severity”"),
        (
            "recipe clippers_daily_bleach",
            {"target_ppm": 60_000},
            "target_ppm",
            "of 5 % gives at most 50000 ppm",
        ),
        (
            "recipe clippers_daily_bleach",
            {"target_ppm": 7000},
            "target_ppm",
            "lies outside what its test lets pass",
        ),
        ("recipe clippers_daily_bleach", {"test_low_ppm": 5001}, "target_ppm", "5001 to 6500 ppm"),
        ("recipe clippers_daily_bleach", {"contact_seconds": 0}, "contact_seconds", "from 1 to 86400"),
        (
            "recipe clippers_alcohol",
            {"target_ppm": 950_000},
            "target_ppm",
            "of 70 % gives at most 700000 ppm",
        ),
        ("recipe wash_soap", {"target_ppm": 5}, "", "nothing to set that is called “target_ppm”"),
        ("recipe canker_chlorine", {"ph_low": 4}, "", "nothing to set that is called “ph_low”"),
        ("disease exocortis", {"bleach_ppm": 200}, "bleach_ppm", "weaker than 10000 ppm was tried"),
        ("disease exocortis", {"alcohol_ppm": 700_000}, "", "nothing to set that is called “alcohol_ppm”"),
        ("disease citrus_canker", {"quat_ppm": 200_000}, "quat_ppm", "at most 100000 ppm"),
        ("fault unheard_of", {"severity": "note"}, "", "There is no rule “fault unheard_of”"),
    ],
)
def test_a_number_that_cannot_be_is_named(
    subject: str, changes: dict[str, Any], setting: str, says: str, olga: Any
) -> None:
    """What was tried against exocortis: Roistacher, Calavan & Blue 1969, Plant Disease Reporter 53(5):333-336."""
    problems = refused(olga, subject, changes)
    assert list(problems) == [setting]
    assert says in " ".join(problems[setting])


NEVER = [fault.code for fault in rules.whole().fault if not fault.overridable]


@pytest.mark.parametrize("code", NEVER)
@pytest.mark.parametrize(
    "changes", [{"severity": "mend_by", "within_days": 3}, {"severity": "note"}, {"overridable": True}]
)
def test_what_can_maim_always_stops_the_use(code: str, changes: dict[str, Any], olga: Any) -> None:
    problems = refused(olga, f"fault {code}", changes)
    assert [sentence for several in problems.values() for sentence in several if "It can maim" in sentence]


@pytest.mark.parametrize(
    ("code", "says"),
    [
        ("ladder_cracked_stile", "Whoever mended this must not be the one to pass it"),
        ("trailer_brake", "Whoever mended this must not be the one to pass it"),
        ("hurt_someone", "only the safety officer lets it go"),
    ],
)
def test_such_a_mend_is_never_passed_by_its_mender(code: str, says: str, olga: Any) -> None:
    assert says in refused(olga, f"fault {code}", {"released_by": "mender"})["released_by"][0]


def test_the_officer_may_take_a_ladder_upon_themselves(olga: Any) -> None:
    set_rule(olga, "fault ladder_wobble", {"released_by": "officer"}, "two near falls", MONDAY)
    assert rules.rules_at(MONDAY).fault("ladder_wobble").released_by == "officer"


@pytest.mark.parametrize("code", NEVER)
def test_not_even_a_row_that_says_so_lets_out_what_can_maim(code: str, ruled_farm: Farm) -> None:
    careless = {"severity": "mend_by", "within_days": 9, "released_by": "mender", "overridable": True}
    Rule(subject=f"fault {code}", values=careless, from_at=MONDAY, recorded_at=MONDAY).save()
    found, usual = rules.rules_at(MONDAY).fault(code), rules.rules_at(BEGINNING).fault(code)
    assert found == usual and found.severity == "stop_use" and not found.overridable


def test_a_fault_that_stops_the_use_needs_no_days(olga: Any) -> None:
    row = set_rule(olga, "fault goggles_scratched", {"severity": "stop_use"}, "eyes first", MONDAY)
    assert row.values["within_days"] is None
    assert rules.rules_at(MONDAY).fault("goggles_scratched").severity == "stop_use"
    back = set_rule(
        olga, "fault goggles_scratched", {"severity": "mend_by", "within_days": 2}, "too few", TUESDAY
    )
    assert (back.values["severity"], back.values["within_days"]) == ("mend_by", 2)


@pytest.mark.parametrize(
    ("why", "from_at", "setting", "says"),
    [
        ("", None, "why", "say why"),
        ("  \n", None, "why", "say why"),
        ("x" * 501, None, "why", "500 characters"),
        ("late", MONDAY - timedelta(seconds=1), "from_at", "begins now or later"),
        ("far", MONDAY + timedelta(days=3660), "from_at", "Is the year right?"),
    ],
)
def test_a_version_says_why_and_never_begins_before_it_was_written(
    why: str, from_at: datetime | None, setting: str, says: str, olga: Any
) -> None:
    problems = refused(olga, CLIPPERS, {"hours_in_use": 3}, why, from_at=from_at)
    assert says in problems[setting][0]


def test_nothing_changed_is_no_version(olga: Any) -> None:
    assert "Nothing is changed" in refused(olga, CLIPPERS, {"hours_in_use": 4.0})[""][0]
    assert "Nothing is changed" in refused(olga, CLIPPERS, {})[""][0]


def test_baths_can_be_made_stricter_and_looser(olga: Any) -> None:
    subject = "recipe clippers_daily_bleach"
    changes = {"target_ppm": 10_000, "test_low_ppm": 9000, "test_high_ppm": 12_000, "contact_seconds": 60}
    set_rule(olga, subject, changes, "exocortis next door", MONDAY)
    found = rules.rules_at(MONDAY).recipes["clippers_daily_bleach"]
    assert (found.target_ppm, found.contact_seconds, found.life_minutes) == (10_000, 60, 120)
    assert (found.agent, found.kinds, found.method) == ("bleach", ("clippers",), "sterilise")


def test_the_gear_follows_a_rule_that_has_begun(ruled_farm: Farm) -> None:
    """A bag that nobody has looked at yet: said at first, kept here from the moment that the rule says so."""
    olga, at = ruled_farm.users["olga"], timezone.now()
    (tag,) = ruled_farm.gear("bag", days_ago=30)
    assert ItemState.objects.get(tag=tag).fit_at(at)
    set_rule(olga, "inspection bag_weekly", {"holds": True}, "straps tore", at, at + timedelta(days=1))
    assert ItemState.objects.get(tag=tag).fit_at(at)
    set_rule(olga, "inspection bag_weekly", {"holds": True}, "and today", at)
    assert not ItemState.objects.get(tag=tag).fit_at(at)
