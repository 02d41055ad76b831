"""Registers and charts are read from a replica that really follows, lags and stops; nothing else ever is."""

import logging
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from time import monotonic, sleep
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.db import connection, connections
from django.utils import timezone

from equipment.actions.print_register import lines_of, print_register
from equipment.actions.verify_printing import verify
from equipment.documents.charts import CHARTS, counted
from equipment.models import Printing, replica
from equipment.models.charts import Window
from equipment.models.registers import REGISTERS, Asked, Heads, Line, Register, heads_now, heads_to_read
from equipment.models.registers.reading import in_period, standing, where
from tests import postgres
from tests.cast import Farm
from tests.processes import ROOT, environment

pytestmark = [
    pytest.mark.django_db(transaction=True, databases=["default", replica.ALIAS]),
    pytest.mark.only_on("postgresql"),
    pytest.mark.usefixtures("following"),
]
PATIENCE = 20
HANDOUT = REGISTERS["handout"]


@pytest.fixture(scope="module")
def following(django_db_setup: None) -> Iterator[postgres.Follower]:
    """As REPLICA_URL would name it, on the database of the tests."""
    with postgres.replica(os.environ["DATABASE_URL"]) as follower:
        ours = connection.settings_dict
        options = {"HOST": str(follower.folder), "OPTIONS": {"connect_timeout": 3}}
        mirror = {"TEST": ours["TEST"] | {"MIRROR": "default"}}
        connections.databases[replica.ALIAS] = ours | options | mirror
        yield follower
        connections[replica.ALIAS].close()
        del connections[replica.ALIAS], connections.databases[replica.ALIAS]


@pytest.fixture
def follower(following: postgres.Follower, transactional_db: None) -> Iterator[postgres.Follower]:
    come_back()
    yield following
    if not (following.folder / "data" / "postmaster.pid").exists():
        following.start()
    there("SELECT pg_wal_replay_resume()")
    connections[replica.ALIAS].close()


def come_back() -> None:
    replica._away["until"] = 0.0


def there(sql: str, *values: Any) -> Any:
    with connections[replica.ALIAS].cursor() as cursor:
        cursor.execute(sql, values)
        return cursor.fetchone()[0]


def hold_it_up() -> None:
    """From now on it replays nothing. It says yes at once and stops a little later, while others write."""
    there("SELECT pg_wal_replay_pause()")
    for _ in range(600):
        if there("SELECT pg_get_wal_replay_pause_state()") == "paused":
            return
        sleep(0.05)
    pytest.fail("The replica did not pause.")


def until_it_has_all() -> None:
    """The heads are written last, with what they stand for. A place in the log says less: the server of the tests
    commits before it has written there."""
    heads, end = heads_now(), monotonic() + PATIENCE
    while heads_there() != heads:
        assert monotonic() < end, "it does not follow"
        sleep(0.01)


def heads_there() -> Heads:
    with replica._reading():
        return heads_now()


@pytest.fixture
def season(farm: Farm, post: Any) -> Farm:
    """Three hand-outs, each to be a line of its own."""
    for who in ("ana", "ben", "cy"):
        post(farm.entry("handed_out", item=farm.gear("bag")[0], picker=farm.badges[who]))
    return farm


def more(farm: Farm, post: Any) -> None:
    (answer,) = post(
        farm.entry("handed_out", item=farm.gear("clippers")[0], picker=farm.badges["ana"], note="x")
    )
    assert answer["outcome"] == "recorded"


def today() -> Asked:
    return Asked(timezone.localdate(), timezone.localdate())


def pieces(lines: Any) -> int:
    return sum(int(line.cells[4]) for line in lines)


def printed(form: str = "pdf") -> Printing:
    return print_register(HANDOUT, today(), form, None, timezone.now())


def on_replica() -> Any:
    """Whatever is asked of the replica, and asked of it alone."""
    asked: list[str] = []

    def note(execute: Any, sql: str, *rest: Any) -> Any:
        asked.append(sql)
        return execute(sql, *rest)

    return asked, connections[replica.ALIAS].execute_wrapper(note)


def test_lines_and_charts_are_read_there_and_the_printing_is_kept_here(
    follower: postgres.Follower, season: Farm
) -> None:
    until_it_has_all()
    asked, noted = on_replica()
    with noted:
        kept = printed()
        assert pieces(lines_of(kept)) == 3
        before = len(asked)
        counted(CHARTS["losses"], Window(today().first, today().last), timezone.now())
    assert [sql for sql in asked if "equipment_entry" in sql] and len(asked) > before
    assert not [sql for sql in asked if "equipment_printing" in sql or not sql.startswith("SELECT")]
    assert Printing.objects.using("default").filter(pk=kept.pk).exists()


def test_what_is_printed_of_a_replica_that_lags_names_the_heads_that_it_had(
    follower: postgres.Follower, season: Farm, post: Any
) -> None:
    until_it_has_all()
    old = heads_now()
    hold_it_up()
    more(season, post)
    kept = printed()
    assert heads_now() != old == heads_to_read() == kept.at_heads
    assert (kept.lines, pieces(lines_of(kept))) == (3, 3)
    verdict = verify(kept)
    assert verdict.agrees and verdict.since.added.count == 1
    there("SELECT pg_wal_replay_resume()")
    until_it_has_all()
    assert printed().at_heads == heads_now() and pieces(lines_of(kept)) == 3


def test_the_page_shows_what_the_replica_has_and_prints_just_that(
    follower: postgres.Follower, season: Farm, post: Any, client_of: Any
) -> None:
    until_it_has_all()
    hold_it_up()
    more(season, post)
    olga, query = client_of("olga"), {"first": str(today().first), "last": str(today().last)}
    page = olga.get("/registers/handout/", query).content.decode()
    assert "Pieces handed out: 3." in page
    made = olga.post("/registers/handout/", query | {"form": "csv"}, follow=True)
    text = b"".join(made.streaming_content).decode()
    assert made.status_code == 200 and Printing.objects.get().lines == 3
    assert Printing.objects.get().digest in text


def test_a_process_reads_where_replica_url_says(
    follower: postgres.Follower, season: Farm, post: Any, tmp_path: Path
) -> None:
    until_it_has_all()
    hold_it_up()
    old = heads_now()
    more(season, post)
    own = urlsplit(follower.url)._replace(path=f"/{connection.settings_dict['NAME']}").geturl()
    week = str(today().first)
    done = subprocess.run(
        [
            sys.executable,
            "manage.py",
            "print_registers",
            "--to",
            str(tmp_path),
            "--week",
            week,
            "--form",
            "csv",
        ],
        cwd=ROOT,
        env=environment() | {"REPLICA_URL": own},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    assert [kept.at_heads for kept in Printing.objects.all()] == [old] * Printing.objects.count() != []


def test_lines_as_of_heads_that_it_has_not_come_to_are_read_from_the_primary(
    follower: postgres.Follower, season: Farm, post: Any
) -> None:
    until_it_has_all()
    hold_it_up()
    more(season, post)
    kept = print_register(HANDOUT, today(), "pdf", None, timezone.now(), heads_now())
    assert kept.lines == 4 == len(list(lines_of(kept)))


def test_a_stopped_replica_is_told_of_once_and_left_alone(
    follower: postgres.Follower, season: Farm, caplog: pytest.LogCaptureFixture
) -> None:
    follower.stop()
    with caplog.at_level(logging.WARNING, replica.__name__):
        for _ in range(2):
            kept = printed()
            assert pieces(lines_of(kept)) == 3 and kept.at_heads == heads_now()
    assert [record.levelname for record in caplog.records if record.name == replica.__name__] == ["WARNING"]
    follower.start()
    until = there("SELECT pg_is_in_recovery()")
    come_back()
    asked, noted = on_replica()
    with noted:
        printed()
    assert until and asked, "it is asked again"


def test_a_replica_that_stops_in_the_middle_costs_no_line(
    follower: postgres.Follower, season: Farm, post: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("equipment.models.registers.reading.AT_ONCE", 1)
    for _ in range(3):
        more(season, post)
    until_it_has_all()
    heads = heads_now()
    whole = [line.canonical() for line in reading(heads)]
    asked, noted = on_replica()
    with noted:
        broken = reading(heads)
        first = next(broken)
        follower.stop()
        rest = list(broken)
    assert asked and [line.canonical() for line in (first, *rest)] == whole


def reading(heads: Heads) -> Iterator[Line]:
    """A register that is read line by line, each with a query of its own."""

    def lines(asked: Asked, heads: Heads) -> Iterator[Line]:
        for some in standing(in_period(asked, heads), ["handed_out"], heads):
            yield from (Line(entry.pk, entry.happened_at, where(entry), ()) for entry in some)

    return Register("one by one", "", "", (), lines).read(today(), heads)


def test_a_counter_never_asks_it(
    follower: postgres.Follower, season: Farm, post: Any, client_of: Any
) -> None:
    asked, noted = on_replica()
    with noted:
        more(season, post)
        for address in ("/", "/still-out/", "/api/items/", "/registers/"):
            assert client_of("rosa").get(address).status_code == 200
    assert asked == []


def test_it_is_no_place_to_write_or_to_migrate_to(follower: postgres.Follower) -> None:
    router = replica.Router()
    with replica._reading():
        assert (router.db_for_read(Printing), router.db_for_write(Printing)) == (replica.ALIAS, "default")
    assert router.db_for_read(Printing) == "default"
    assert not router.allow_migrate(replica.ALIAS, "equipment") and router.allow_migrate(
        "default", "equipment"
    )
    assert router.allow_relation(None, None)
