"""Whoever watches over the server hears at once where the farm could not work, and strangers hear no figures."""

import sqlite3
from contextlib import closing
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import DatabaseError, connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from crews.models import Device
from equipment.actions.backup import keeping
from equipment.models import ChainHead
from equipment.pages import health
from tests.cast import PASSWORD, Farm


@pytest.fixture(autouse=True)
def no_backup_yet(settings: Any, tmp_path: Path) -> None:
    settings.BACKUP_DIR, settings.HEALTH_TOKEN = tmp_path / "backups", "a word of the farm"


def ready(**headers: str) -> tuple[int, dict[str, Any]]:
    answer = Client(headers=headers).get("/readyz")
    assert "no-store" in answer["Cache-Control"]
    return answer.status_code, answer.json()


def figures() -> dict[str, Any]:
    return ready(authorization="Bearer a word of the farm")[1]["figures"]


def test_the_process_answers_without_any_database() -> None:
    answer = Client().get("/healthz")
    assert (answer.status_code, answer.content) == (200, b"ok")


@pytest.mark.django_db(transaction=True)
def test_a_stranger_hears_no_figures(farm: Farm) -> None:
    assert ready() == (200, {"ready": True, "wrong": []})
    assert ready(authorization="Bearer a word of another") == ready()
    assert ready(authorization="Bearer ") == ready()


@pytest.mark.django_db(transaction=True)
def test_without_a_word_of_the_farm_none_opens_it(farm: Farm, settings: Any) -> None:
    settings.HEALTH_TOKEN = ""
    assert ready(authorization="Bearer ") == (200, {"ready": True, "wrong": []})


@pytest.mark.django_db(transaction=True)
def test_who_is_signed_in_hears_them(farm: Farm) -> None:
    client = Client()
    client.force_login(farm.users["mo"], backend="crews.signing_in.RoleBackend")
    told = client.get("/readyz").json()["figures"]
    assert told | {"free_mb": 0} == figures() | {"free_mb": 0} and told["free_mb"] > 0
    assert PASSWORD not in client.get("/readyz").content.decode()


@pytest.mark.django_db(transaction=True)
def test_the_figures(farm: Farm, post: Any, settings: Any) -> None:
    assert figures()["backup_hours"] is None and figures()["unsettled"] == 0
    bag = farm.gear("bag")[0]
    post(farm.entry("handed_out", item=bag, picker=farm.badges["ana"]))
    post(farm.entry("handed_out", item=bag, picker=farm.badges["ben"]), gate="note")
    post(farm.entry("missed", item="BG9999X"), gate="note")
    Device.objects.create(kind="phone", unsent=4)
    Device.objects.create(kind="phone", unsent=3)
    Device.objects.create(kind="phone", unsent=50, revoked_at=timezone.now())
    settings.BACKUP_DIR.mkdir()
    for hours in (30, 50):
        (settings.BACKUP_DIR / keeping.name_at(timezone.now() - timedelta(hours=hours))).touch()
    told = figures()
    assert {name: told[name] for name in ("backup_hours", "unsettled", "kept", "unsent")} == {
        "backup_hours": 30.0,
        "unsettled": 1,
        "kept": 1,
        "unsent": 7,
    }
    assert told["heads"] == dict(ChainHead.objects.values_list("store", "position")) and told["free_mb"] > 0


@pytest.mark.django_db(transaction=True)
def test_the_questions_do_not_grow(farm: Farm, post: Any) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            ready()
        return len(queries)

    before = asked()
    bags = farm.gear("bag", 20)
    post(*(farm.entry("handed_out", item=bag, picker=farm.badges["ana"]) for bag in bags))
    post(*(farm.entry("handed_out", item=bag, picker=farm.badges["ben"]) for bag in bags), gate="note")
    assert asked() == before <= 6


@pytest.mark.django_db(transaction=True)
def test_a_disk_that_is_nearly_full(farm: Farm, settings: Any) -> None:
    settings.LEAST_FREE_MB = 10**9
    assert ready() == (503, {"ready": False, "wrong": ["disk"]})


@pytest.mark.django_db(transaction=True)
def test_a_head_whose_entry_is_another(farm: Farm) -> None:
    farm.gear("bag")
    ChainHead.objects.filter(store="A").update(digest="ab" * 32)
    assert ready() == (503, {"ready": False, "wrong": ["heads"]})


@pytest.mark.django_db(transaction=True)
def test_a_database_that_does_not_answer(farm: Farm, monkeypatch: pytest.MonkeyPatch) -> None:
    def gone() -> None:
        raise DatabaseError("server closed the connection unexpectedly")

    monkeypatch.setattr(health, "_waiting", gone)
    assert ready() == (503, {"ready": False, "wrong": ["database"]})
    code, told = ready(authorization="Bearer a word of the farm")
    assert code == 503 and told["wrong"] == ["database"] and "free_mb" in told["figures"]
    assert "server closed" not in str(told)


@pytest.mark.only_on("sqlite")
@pytest.mark.django_db(transaction=True)
def test_a_database_that_somebody_keeps_locked(farm: Farm, monkeypatch: pytest.MonkeyPatch) -> None:
    """It says so after a moment; it does not wait with those who wait."""
    monkeypatch.setattr(health, "WAITS", 0.05)
    with closing(sqlite3.connect(connection.settings_dict["NAME"], isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        assert ready() == (503, {"ready": False, "wrong": ["database"]})
        other.execute("ROLLBACK")
    assert ready()[0] == 200


@pytest.mark.only_on("sqlite")
@pytest.mark.django_db(transaction=True)
def test_a_database_file_that_is_gone(farm: Farm, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setitem(connection.settings_dict, "NAME", str(tmp_path / "gone.sqlite3"))
    assert ready() == (503, {"ready": False, "wrong": ["database"]})
    assert not (tmp_path / "gone.sqlite3").exists()


@pytest.mark.only_on("postgresql")
@pytest.mark.django_db(transaction=True)
def test_a_database_that_only_reads(farm: Farm) -> None:
    """As a standby does, and a server whose disk an administrator has put under guard."""
    with connection.cursor() as cursor:
        cursor.execute("SET default_transaction_read_only = on")
    try:
        assert ready() == (503, {"ready": False, "wrong": ["database"]})
    finally:
        with connection.cursor() as cursor:
            cursor.execute("SET default_transaction_read_only = off")
    assert ready()[0] == 200
