"""The small commands: what they print, what they complain of, and how they end."""

import threading

import pytest
from django.core.management import get_commands
from rest_framework.test import APIClient

from equipment import catalogue
from equipment.actions.rebuild_states import rebuild_states
from equipment.actions.verify_book import verify_book
from equipment.management.progress import Progress, lasting
from equipment.models import CrewState, Entry, Goods, ItemState, Kind, Membership, histories, projections
from equipment.models.rules import subjects_known
from tests.commands import manage
from tests.processes import ROOT, run


def test_every_command_of_ours_is_in_the_readme():
    ours = [name for name, app in get_commands().items() if app == "equipment"]
    readme = (ROOT / "README.md").read_text("utf-8")
    assert len(ours) >= 7
    assert [name for name in ours if f"`{name}" not in readme] == []


def test_a_token_is_printed_alone_and_stays_the_same(farm):
    out, err, code = manage("api_token", "rosa")
    assert (err, code) == ("", 0) and len(out.splitlines()) == 1
    assert manage("api_token", "rosa")[0] == out
    assert manage("api_token", "sam")[0] != out
    client = APIClient(headers={"authorization": f"Token {out.strip()}"})
    assert client.get("/api/stores/").status_code == 200


def test_a_token_is_for_somebody_who_may_sign_in(farm):
    assert manage("api_token", "nobody") == ("", "Nobody signs in as nobody.", 1)
    farm.users["rosa"].is_active = False
    farm.users["rosa"].save()
    assert manage("api_token", "rosa") == ("", "rosa may not sign in any more.", 1)


def test_the_catalogue_loads_again_and_again_and_leaves_what_is_the_farms_own(db):
    kinds = len(catalogue.load().kind)
    rules = len(subjects_known())
    as_it_is = "0 brought up to date, 0 left as the farm has them.\n"
    goods = len(catalogue.load().goods)
    said = f"{kinds} kinds added, {as_it_is}{goods} counted goods added, {as_it_is}{rules} rules added, {as_it_is}"
    assert manage("load_catalogue") == (said, "", 0)
    Kind.objects.filter(pk="bag").update(prefix="SA", own=True)
    Goods.objects.filter(pk="plasters").update(low=7, own=True)
    Goods.objects.filter(pk="thread").update(low=7)
    Kind.objects.filter(pk="ladder").update(name="Steps")
    assert manage("load_catalogue")[0].startswith("0 kinds added, 1 brought up to date, 1 left")
    assert Kind.objects.get(pk="bag").prefix == "SA"
    assert [Goods.objects.get(pk=own).low for own in ("plasters", "thread")] == [7, 100]
    assert Kind.objects.get(pk="ladder").name == "Ladder"


def test_states_are_rebuilt_from_nothing(farm, post):
    bags = farm.gear("bag", 3)
    post(farm.entry("handed_out", item=bags[0], picker=farm.badges["ana"]))
    states = list(ItemState.objects.order_by("pk").values())
    members = list(Membership.objects.order_by("crew", "picker").values("crew", "picker", "since"))
    for model in (ItemState, CrewState, Membership):
        model.objects.all().delete()
    out, err, code = manage("rebuild_states")
    assert (err, code) == ("", 0)
    assert out == "7 entries folded into the states of 3 items and 2 crews.\n"
    assert list(ItemState.objects.order_by("pk").values()) == states
    assert list(Membership.objects.order_by("crew", "picker").values("crew", "picker", "since")) == members
    assert verify_book().clean


def test_rows_of_subjects_without_entries_are_taken_away(farm):
    farm.gear("bag")
    made = ItemState.objects.get()
    farm.crews["red"].pk = farm.crews["red"].code = "CW0009X"
    farm.crews["red"].name = "Ghosts"
    farm.crews["red"].save(force_insert=True)
    CrewState.objects.create(crew_id="CW0009X", fold={})
    Membership.objects.create(crew_id="CW0009X", picker=farm.pickers["ana"], since=made.since)
    assert {found.code for found in verify_book().findings} == {"state_left_over", "members_differ"}
    assert "2 rows without entries taken away." in manage("rebuild_states")[0]
    assert verify_book().clean


@pytest.mark.parametrize("rows", [10, 50, 100_000])
def test_it_makes_no_difference_in_how_many_parts_it_is_done(farm, post, rows):
    bags = farm.gear("bag", 12)
    post(*(farm.entry("handed_out", item=bag, picker=farm.badges["ana"]) for bag in bags))
    ItemState.objects.update(place="missing", fold={})
    told = []
    done = rebuild_states(lambda *progress: told.append(progress), rows)
    assert (done.items, done.entries) == (12, 27)
    assert told[-1] == (27, 27) and told == sorted(told)
    assert verify_book().clean


def test_what_is_read_raw_is_what_the_models_read(farm, post):
    bags = farm.gear("bag", 3, make="Sjöberg “ü”")
    post(*(farm.entry("handed_out", item=bag, picker=farm.badges["ana"]) for bag in bags))
    post(farm.entry("stowed", item=bags[0], block="N4", detail={"block": "N4", "counted": 1}))
    post(farm.entry("waived", crew=farm.crews["red"].pk, picker=farm.badges["ben"], detail={"kind": "bag"}))
    read = {}
    for family in ("item", "crew"):
        for part in histories.parts(family):
            for key, entries in histories.lives(family, part.keys):
                read[family, key] = {entry.id: entry for entry in entries()}
    for row in Entry.objects.all():
        subject = ("item", row.item_id) if row.item_id else ("crew", row.crew_id)
        found = read[subject].pop(row.pk)
        assert found == projections.value_of(row)
        assert hash(found.id) == hash(row.pk) and str(found.id) == str(row.pk)
    assert len(read) == 5 and not any(read.values())


def test_parts_hold_every_subject_once_in_order(farm):
    farm.gear("bag", 25)
    parts = list(histories.parts("item", 10))
    keys = [key for part in parts for key in part.keys]
    assert keys == sorted(ItemState.objects.values_list("pk", flat=True)) and len(parts) > 1
    assert sum(part.entries for part in parts) == 25


@pytest.mark.django_db(transaction=True)
def test_counters_go_on_while_states_are_rebuilt(farm, post):
    """Handouts and returns beside three rebuilds: nothing is lost and nothing of it is overwritten."""
    bags = farm.gear("bag", 30)
    failed: list[str] = []

    def rebuild() -> None:
        for _ in range(3):
            code, _out, err = run("rebuild_states")
            if code:
                failed.append(err)

    beside = threading.Thread(target=rebuild)
    beside.start()
    turn = 0
    while beside.is_alive():
        verb, who = (("handed_out", {"picker": farm.badges["ana"]}), ("returned", {}))[turn % 2]
        assert {a["outcome"] for a in post(*(farm.entry(verb, item=bag, **who) for bag in bags))} == {
            "recorded"
        }
        turn += 1
    beside.join()
    assert failed == [] and turn > 3
    assert verify_book().clean


class Terminal:
    def __init__(self) -> None:
        self.text = ""

    def isatty(self) -> bool:
        return True

    def write(self, text: str, ending: str = "\n") -> None:
        self.text += text + ending

    def flush(self) -> None:
        pass


def test_progress_is_told_on_one_line_and_not_of_short_work():
    terminal = Terminal()
    progress = Progress(terminal, "Entries")
    progress(1, 2)
    progress.end()
    assert terminal.text == ""
    progress._told -= 2
    progress(1_000, 2_000)
    progress._told -= 2
    progress(2_000, 2_000)
    progress.end()
    assert terminal.text == "\rEntries: 1,000 of 2,000\rEntries: 2,000 of 2,000\n"


def test_progress_says_how_quick_it_is_and_how_long_it_takes_from_where_it_began():
    """It went on at 1,000: what was done before says nothing of its pace."""
    terminal = Terminal()
    progress = Progress(terminal, "Seals", "States")
    progress(1_000, 9_000)
    progress._told, progress._begun = progress._told - 2, (progress._begun[0] - 10, 1_000)
    progress(3_000, 9_000)
    assert terminal.text == "\rSeals: 3,000 of 9,000, 200 a second, 30 seconds left"
    progress._told -= 2
    progress(10, 9_000)
    assert terminal.text.endswith(f"\r{'States: 10 of 9,000'.ljust(52)}"), "what stood there is written over"


def test_nobody_is_told_more_than_can_be_guessed():
    assert [lasting(seconds) for seconds in (0, 1.4, 89, 100, 3_600)] == [
        "1 second",
        "1 second",
        "89 seconds",
        "2 minutes",
        "60 minutes",
    ]
