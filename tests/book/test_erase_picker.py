"""A picker who left is forgotten: nothing tells who it was, and the book is as whole as before."""

import subprocess
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.utils import timezone

from crews.models import Badge, BadgeLoan, Picker
from equipment.actions.change_crew import leave
from equipment.actions.importing import import_list
from equipment.actions.print_register import print_register
from equipment.actions.verify_book import verify_book
from equipment.actions.verify_printing import verify
from equipment.models import Entry, ItemState, KeptEntry, Note
from equipment.models.registers import REGISTERS, Asked
from tests.cast import Farm, day_card
from tests.commands import manage
from tests.stored import stored

pytestmark = pytest.mark.django_db
NAME = "Canary Quillfeather"
WORDS = "hurt her hand"


@pytest.fixture
def gone(farm: Farm, post: Any) -> Picker:
    """Ana, under a name that stands nowhere else: she had a bag, something was written, and she left the farm."""
    ana = farm.pickers["ana"]
    sizes = {"hand": "left", "glove_size": "S", "boot_size": "37", "overall_size": "M"}
    Picker.objects.filter(pk=ana.pk).update(name=NAME, number="K-4711", **sizes)
    (bag,) = farm.gear("bag")
    post(farm.entry("handed_out", item=bag, picker=farm.badges["ana"], note=f"She {WORDS}."))
    post(farm.entry("returned", item=bag, note=f"Brought by the brother of {NAME.upper()}."))
    post(farm.entry("missed", item=bag, note="Canary Quillfeathers? Somebody else."))
    post(farm.entry("found", item=bag))
    leave(farm.pen(), [ana])
    ana.refresh_from_db()
    return ana


def test_nothing_tells_who_it_was_and_the_book_is_whole(farm: Farm, gone: Picker) -> None:
    lines, badge = list(Entry.objects.order_by("store", "position").values()), farm.badges["ana"]
    assert stored(NAME) and stored(WORDS) and stored("K-4711")
    out, err, code = manage("erase_picker", badge, "--notes")
    assert (err, code) == ("", 0) and f"K-4711 {NAME}: 2 notes" in out and "1 picker erased." in out
    assert "Backups made before still hold them" in out
    # Only the note about somebody of another name is left.
    assert (
        stored("Canary Quillfeather") == ["equipment_note.text"] and stored("K-4711") == stored(WORDS) == []
    )
    assert [note.text for note in Note.objects.filter(erased_at=None)] == [
        "Canary Quillfeathers? Somebody else."
    ]
    now = Picker.objects.get(pk=gone.pk)
    assert [now.name, now.number, now.hand, now.glove_size, now.boot_size, now.overall_size] == [
        "",
        f"x{gone.pk}",
        *[""] * 4,
    ]
    assert not BadgeLoan.objects.filter(picker=gone).exists() and Badge.objects.get(pk=badge).died_on
    assert verify_book().clean and list(Entry.objects.order_by("store", "position").values()) == lines


def test_what_was_written_of_them_is_shown_and_asked_for(farm: Farm, gone: Picker) -> None:
    out, err, code = manage("erase_picker", "K-4711")
    assert code == 1 and "Say --notes" in err and "--keep-notes" in err and "Not erased: K-4711." in err
    assert f"She {WORDS}." in out and "QUILLFEATHER" in out and "Somebody else" not in out
    assert Picker.objects.get(pk=gone.pk).name == NAME
    assert manage("erase_picker", "K-4711", "--keep-notes")[2] == 0
    assert stored(WORDS) == ["equipment_note.text"] and verify_book().clean
    # Decided otherwise later, by what the book calls them; the name is known no more, so that only their own are found.
    assert manage("erase_picker", f"x{gone.pk}", "--notes")[2] == 0
    assert stored(WORDS) == [] and stored(NAME.upper()) != [] and verify_book().clean


def test_where_else_the_name_stands_is_said(farm: Farm, gone: Picker) -> None:
    plan = farm.plan("red", "N4")
    for why in (f"Ask {NAME} first", f"Ask {NAME}s"):
        plan.changes.create(at=timezone.now(), by=farm.users["sam"], state="stopped", why=why)
    first = plan.changes.order_by("pk")[0].pk
    out = manage("erase_picker", "K-4711", "--notes")[0]
    assert f"in the why of: day plan change {first}." in out


def test_a_dry_run_shows_and_changes_nothing(farm: Farm, gone: Picker) -> None:
    before = list(Picker.objects.values()), list(Note.objects.values()), list(BadgeLoan.objects.values())
    out, err, code = manage("erase_picker", "K-4711", "--notes", "--dry-run")
    assert (err, code) == ("", 0) and "2 notes" in out and "erased" not in out
    assert before == (
        list(Picker.objects.values()),
        list(Note.objects.values()),
        list(BadgeLoan.objects.values()),
    )


def test_pages_and_registers_say_erased(farm: Farm, gone: Picker) -> None:
    state = ItemState.objects.get()
    day = timezone.localdate()
    printing = print_register(
        REGISTERS["handout"], Asked(day, day), "csv", farm.users["olga"], timezone.now()
    )
    assert manage("erase_picker", "K-4711", "--notes")[2] == 0
    client = Client()
    client.force_login(farm.users["rosa"], backend="crews.signing_in.RoleBackend")
    page = client.get(f"/gear/{state.tag}/").content.decode()
    assert "erased" in page and "Quillfeather" not in page.replace("Quillfeathers?", "")
    page = client.get(f"/pickers/{gone.pk}/")
    assert page.status_code == 200 and "<h1>erased</h1>" in page.content.decode().replace("\n", "")
    assert 'name="glove_size"' not in page.content.decode()
    assert "Who this was, was erased" in page.content.decode()
    assert f"/pickers/{gone.pk}/" not in client.get("/pickers/").content.decode()
    assert f"/pickers/{gone.pk}/" in client.get(f"/pickers/?q=x{gone.pk}").content.decode()
    # A paper of before still has its lines in the book.
    assert verify(printing).agrees


def test_who_holds_gear_or_is_in_a_crew_is_not_erased(farm: Farm, post: Any) -> None:
    bags = farm.gear("bag", 2)
    post(*(farm.entry("handed_out", item=bag, picker=farm.badges["ben"]) for bag in bags))
    post(farm.entry("missed", item=bags[1]))
    _, err, code = manage("erase_picker", "2", "--notes")
    assert code == 1 and f"still has {bags[0]}, {bags[1]}." in err
    post(farm.entry("returned", item=bags[0]))
    leave(farm.pen(), [farm.pickers["ben"]])
    assert f"still has {bags[1]}." in manage("erase_picker", "2", "--notes")[1]
    post(farm.entry("found", item=bags[1]))
    post(farm.entry("returned", item=bags[1]), gate="note")
    _, err, code = manage("erase_picker", "3", "--notes")
    assert code == 1 and "is in Blue crew still" in err
    assert Picker.objects.exclude(name="").count() == 3


def test_what_waits_for_a_person_is_settled_first(farm: Farm, gone: Picker, post: Any) -> None:
    lost = {"item": "BG0999", "picker": farm.badges["ana"], "note": f"She {WORDS} again."}
    post(farm.entry("handed_out", **lost), gate="note")
    _, err, code = manage("erase_picker", "K-4711", "--notes")
    assert code == 1 and "waits under To settle" in err
    KeptEntry.objects.update(set_aside_at=timezone.now(), why="nobody knows it")
    assert manage("erase_picker", "K-4711", "--notes")[2] == 0 and stored(WORDS) == []
    assert KeptEntry.objects.get().raw.startswith("{")


def test_the_cards(farm: Farm, gone: Picker) -> None:
    """A day card serves others tomorrow; a card that somebody else has now is theirs."""
    card, day = day_card(), timezone.localdate()
    BadgeLoan.objects.create(badge=card, picker=gone, from_day=day, to_day=day)
    passed = Badge.objects.create(code="PK7777X")
    for who, days in ((gone, 9), (farm.pickers["ben"], 3)):
        loan = BadgeLoan.objects.create(
            badge=passed, picker=who, from_day=day - timedelta(days=days), to_day=day
        )
    assert "Name the picker's number" in manage("erase_picker", card.pk, "--notes")[1]
    assert manage("erase_picker", "K-4711", "--notes")[2] == 0
    alive = Badge.objects.filter(died_on=None)
    assert {card.pk, "PK7777X", farm.badges["ben"]} <= set(alive.values_list("pk", flat=True))
    assert list(BadgeLoan.objects.filter(badge=passed)) == [loan]
    assert not alive.filter(pk=farm.badges["ana"]).exists()


def test_an_old_list_brings_back_somebody_new(farm: Farm, gone: Picker) -> None:
    assert manage("erase_picker", "K-4711", "--notes")[2] == 0
    old = f"number,name,crew\nK-4711,{NAME},Red crew\n".encode()
    assert not import_list("pickers", old, farm.users["frank"], timezone.now()).bad
    new = Picker.objects.get(number="K-4711")
    assert new.pk != gone.pk and not Entry.objects.filter(picker=new, verb="handed_out").exists()
    assert Picker.objects.get(pk=gone.pk).name == "" and verify_book().clean


class TestByCron:
    def test_those_who_left_before_a_day(self, farm: Farm, gone: Picker) -> None:
        day = timezone.localdate()
        out, _, code = manage("erase_picker", "--left-before", str(day), "--notes")
        assert code == 0 and "0 pickers erased." in out
        out, err, code = manage("erase_picker", "--left-before", str(day + timedelta(days=1)), "--notes")
        assert (err, code) == ("", 0) and "1 picker erased." in out
        assert NAME not in out and WORDS not in out and "K-4711: 2 notes" in out
        assert Picker.objects.filter(name="").count() == 1 and verify_book().clean
        again = manage("erase_picker", "--left-before", str(day + timedelta(days=1)), "--notes")
        assert "0 pickers erased." in again[0]

    def test_as_many_days_as_the_farm_keeps_people(self, farm: Farm, gone: Picker, settings: Any) -> None:
        settings.KEEP_PEOPLE_DAYS = "30"
        assert "0 pickers erased." in manage("erase_picker", "--left-before", "--notes")[0]
        settings.KEEP_PEOPLE_DAYS = "-1"
        assert "1 picker erased." in manage("erase_picker", "--left-before", "--notes")[0]

    @pytest.mark.parametrize("kept", ["", "soon"])
    def test_without_a_day_it_says_what_to_set(self, farm: Farm, settings: Any, kept: str) -> None:
        settings.KEEP_PEOPLE_DAYS = kept
        assert "SHEDBOOK_KEEP_PEOPLE_DAYS" in manage("erase_picker", "--left-before")[1]

    def test_notes_are_decided_of_there_too(self, farm: Farm, gone: Picker) -> None:
        tomorrow = str(timezone.localdate() + timedelta(days=1))
        out, err, code = manage("erase_picker", "--left-before", tomorrow)
        assert code == 1 and "Say --notes" in err and NAME not in out + err and WORDS not in out + err


@pytest.mark.parametrize("words", [["nobody"], [], ["1", "--left-before"]])
def test_a_wrong_word_is_told(farm: Farm, words: list[str]) -> None:
    _, err, code = manage("erase_picker", *words)
    assert code == 1 and ("No picker has" in err or "Name pickers" in err)


@pytest.mark.only_on("sqlite")
@pytest.mark.django_db(transaction=True)
def test_the_file_on_the_disk_has_the_name_no_more(farm: Farm, gone: Picker) -> None:
    """SQLite leaves what it deletes where it was, in the file and in its log, unless it is told otherwise."""

    def on_disk(text: str) -> bool:
        database = Path(connection.settings_dict["NAME"])
        files = [str(file) for file in (database, Path(f"{database}-wal")) if file.exists()]
        # By another process: to close such a file in this one lets go of the locks that SQLite has on it here.
        return text.encode() in subprocess.run(["cat", *files], capture_output=True, check=True).stdout

    Note.objects.exclude(text__contains=WORDS).update(text="", salt="", erased_at=timezone.now())
    assert on_disk(NAME) and on_disk(WORDS)
    assert manage("erase_picker", "K-4711", "--notes")[2] == 0
    assert not on_disk(WORDS) and not on_disk("K-4711") and not on_disk(NAME)


@pytest.mark.only_on("postgresql")
@pytest.mark.django_db(transaction=True)
def test_the_rows_of_before_are_given_up(farm: Farm, gone: Picker) -> None:
    """PostgreSQL keeps what a row was until it is vacuumed."""

    def vacuumed() -> int:
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_stat_force_next_flush()")
            cursor.execute("SELECT vacuum_count FROM pg_stat_user_tables WHERE relname = 'crews_picker'")
            return cursor.fetchone()[0]

    before = vacuumed()
    assert manage("erase_picker", "K-4711", "--notes")[2] == 0
    assert vacuumed() == before + 1
