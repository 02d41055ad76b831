"""The upload page: a look first, then the word to do it."""

from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone

from crews.models import Picker
from equipment.actions.importing import KINDS
from equipment.actions.importing.reader import MOST_BYTES
from equipment.models import Item, Upload
from tests.cast import Farm

SEASON = b"number,name,crew\n1,Ana,Red crew\n9,=Dan<script>,Blue crew\n"


@pytest.fixture
def rosa(farm: Farm) -> Client:
    client = Client()
    client.force_login(farm.users["rosa"], backend="crews.signing_in.RoleBackend")
    return client


def look(client: Client, kind: str = "pickers", data: bytes = SEASON, name: str = "season.csv"):  # type: ignore[no-untyped-def]
    return client.post("/import/", {"kind": kind, "file": SimpleUploadedFile(name, data)})


def test_a_look_shows_what_would_happen_and_writes_nothing(rosa: Client) -> None:
    answer = look(rosa)
    page = answer.content.decode()
    assert "Nothing is written yet" in page
    assert "=Dan&lt;script&gt;" in page
    assert [missing.name for missing in answer.context["result"].missing] == ["Cy", "Ben"]
    assert Picker.objects.count() == 3


def test_the_word_to_do_it_does_it_once(rosa: Client) -> None:
    address = f"/import/{look(rosa).context['upload'].pk}/"
    assert "The list is in the book." in rosa.post(address).content.decode()
    assert Picker.objects.filter(number="9").exists()
    again = rosa.post(address, follow=True)
    assert "imported already" in again.content.decode()
    assert rosa.get(address).url == "/import/"
    assert not Upload.objects.exists()


def test_gear_says_how_many_pieces_and_leads_to_their_labels(rosa: Client) -> None:
    answer = look(rosa, "gear", b"kind,store,count\nbag,A,3\n")
    assert "3 pieces will be registered" in answer.content.decode()
    page = rosa.post(f"/import/{answer.context['upload'].pk}/").content.decode()
    assert "3 pieces were registered" in page
    assert "/labels/?act=" in page
    assert Item.objects.count() == 3


def test_bad_cells_stand_in_a_table_and_nothing_is_kept(rosa: Client) -> None:
    page = look(rosa, data=SEASON + b"8,Eve,<b>Green</b>\n").content.decode()
    assert "Nothing was imported: 1 cell is to be put right." in page
    assert "&lt;b&gt;Green&lt;/b&gt;" in page
    assert not Upload.objects.exists()


def test_what_became_bad_meanwhile_is_found_at_the_end(rosa: Client, farm: Farm) -> None:
    upload = look(rosa, "plans", b"date,crew,block\n2026-03-25,Red crew,S2\n").context["upload"]
    rosa.logout()
    rosa.force_login(farm.users["rosa"], backend="crews.signing_in.RoleBackend")
    from crews.models import Block

    Block.objects.get(pk="S2").delete()
    assert "1 cell is to be put right" in rosa.post(f"/import/{upload.pk}/").content.decode()


def test_another_persons_file_and_an_old_one_are_not_found(rosa: Client, farm: Farm) -> None:
    upload = look(rosa).context["upload"]
    frank = Client()
    frank.force_login(farm.users["frank"], backend="crews.signing_in.RoleBackend")
    frank.post(f"/import/{upload.pk}/")
    Upload.objects.update(at=timezone.now() - timedelta(minutes=61))
    rosa.post(f"/import/{upload.pk}/")
    assert Picker.objects.count() == 3
    look(rosa)
    assert Upload.objects.count() == 1


@pytest.mark.parametrize(
    ("kind", "data", "says"),
    [
        ("pickers", b"", "The file is empty."),
        ("pickers", b"a" * (MOST_BYTES + 1), "larger than 10 MB"),
        ("pickers", b"\x89PNG\r\n\x1a\n\x81", "not a text file"),
        ("spades", SEASON, "Select a valid choice"),
    ],
)
def test_what_is_no_list_is_refused_in_words(kind: str, data: bytes, says: str, rosa: Client) -> None:
    answer = look(rosa, kind, data, name="a\tb.csv")
    assert (answer.status_code, says in answer.content.decode()) == (200, True)


@pytest.mark.parametrize("kind", KINDS)
def test_an_empty_list_of_each_kind_is_there_and_is_good(kind: str, rosa: Client) -> None:
    empty = rosa.get(f"/import/{kind}.csv")
    assert empty["Content-Type"].startswith("text/csv")
    assert look(rosa, kind, empty.content).context["result"].good


def test_the_sample_of_each_kind_fits_its_columns() -> None:
    for kind in KINDS.values():
        assert set(kind.sample) <= set(kind.columns)
        assert kind.required <= set(kind.sample)


def test_no_list_has_another_name(rosa: Client) -> None:
    assert rosa.get("/import/spades.csv").status_code == 404
