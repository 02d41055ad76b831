"""What whoever runs the server hears of it: a line for each request, a number for each fault, and the meters."""

import json
import os
import re
import signal
import subprocess
import sys
import urllib.request
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction
from django.test import Client
from django.utils import timezone
from prometheus_client.openmetrics.parser import text_string_to_metric_families as read_open
from prometheus_client.parser import text_string_to_metric_families as read_plain
from rest_framework.authtoken.models import Token

from config import logs
from equipment.ledger.watched import watching
from equipment.models import Entry
from equipment.pages import health
from equipment.pages.watching.metrics import FIGURES
from tests import processes
from tests.cast import Farm

WORD = "a word of the farm"
OPEN = "application/openmetrics-text; version=1.0.0"


@pytest.fixture
def word(settings: Any) -> dict[str, str]:
    settings.HEALTH_TOKEN = WORD
    return {"Authorization": f"Bearer {WORD}"}


def served(monkeypatch: pytest.MonkeyPatch, *arguments: str) -> tuple[Any, str]:
    monkeypatch.setenv("SHEDBOOK_LOG", "json")
    monkeypatch.setenv("SHEDBOOK_HEALTH_TOKEN", WORD)
    server = processes.start("serve", "--port", "0", *arguments)
    address = re.search(r"http://\S+/", server.stdout.readline())
    assert address
    return server, address.group()


def ended(server: Any) -> list[dict[str, Any]]:
    """What it wrote to its log, every line of it JSON."""
    server.send_signal(signal.SIGTERM)
    said, _ = server.communicate(timeout=20)
    return [json.loads(line) for line in said.splitlines()]


def posted(address: str, token: str, body: dict[str, Any]) -> tuple[str, dict[str, Any]]:
    head = {"Authorization": f"Token {token}", "Content-Type": "application/json"}
    asked = urllib.request.Request(f"{address}api/entries/", json.dumps(body).encode(), head)
    with urllib.request.urlopen(asked, timeout=20) as answer:
        return answer.headers["X-Request-ID"], json.load(answer)


@pytest.mark.django_db(transaction=True)
def test_each_request_is_one_line_that_names_what_it_wrote(farm: Farm, monkeypatch: Any) -> None:
    token = Token.objects.create(user=farm.users["rosa"]).key
    tags = farm.gear("bag", 8)
    bodies = [farm.batch([farm.entry("handed_out", item=tag, picker=farm.badges["ana"])]) for tag in tags]
    server, address = served(monkeypatch)
    with ThreadPoolExecutor(8) as counters:
        answers = list(counters.map(posted, [address] * 8, [token] * 8, bodies))
    number, refused = posted(address, token, bodies[0] | {"entries": [farm.entry("found", item="CL9999X")]})
    lines = {line["request"]: line for line in ended(server) if line["logger"] == "shedbook.request"}
    assert len(lines) == 9
    for (own, answer), body in zip(answers, bodies, strict=True):
        line = lines[own]
        assert line["entries"] == [body["entries"][0]["id"]] == [answer["answers"][0]["id"]]
        assert (line["route"], line["status"], line["method"]) == ("api:entries", 200, "POST")
        assert (line["user"], line["device"]) == (farm.users["rosa"].pk, str(farm.device.pk))
        assert Entry.objects.get(pk=line["entries"][0]).position <= line["heads"]["A"]
    assert lines[number]["refused"] == {refused["answers"][0]["code"]: 1}
    assert "entries" not in lines[number]


@pytest.mark.django_db(transaction=True)
def test_what_is_asked_for_behind_the_question_mark_is_not_told(farm: Farm, caplog: Any) -> None:
    client = Client()
    client.force_login(farm.users["rosa"], backend="crews.signing_in.RoleBackend")
    with caplog.at_level("INFO", "shedbook"):
        assert client.get("/gear/", {"q": "Ana"}).status_code == 200
        assert client.get("/nowhere/Ana/").status_code == 404
    shown, nowhere = [record for record in caplog.records if record.name == "shedbook.request"]
    assert (shown.route, shown.user, nowhere.route) == ("gear", farm.users["rosa"].pk, "none")
    assert "Ana" not in f"{vars(shown)} {vars(nowhere)}"


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("path", "content_type"), [("/gear/", "text/html"), ("/api/items/", "application/json")]
)
def test_a_fault_has_a_number_that_can_be_read_out(path, content_type, farm, monkeypatch, caplog):
    def broken(*args: Any, **kwargs: Any) -> None:
        raise RuntimeError("the shelf fell down")

    client = Client(raise_request_exception=False)
    client.force_login(farm.users["rosa"], backend="crews.signing_in.RoleBackend")
    monkeypatch.setattr("crews.policy.may_open", broken)
    caplog.handler.addFilter(logs.Numbered())
    answer = client.get(path)
    assert (answer.status_code, answer["Content-Type"].split(";")[0]) == (500, content_type)
    number = answer["X-Request-ID"]
    assert number in answer.content.decode()
    fault = next(record for record in caplog.records if record.name == "django.request")
    assert (fault.request, fault.exc_info[0]) == (number, RuntimeError)


def test_a_number_and_an_address_are_believed_of_the_farms_own_proxy_only(settings: Any) -> None:
    given = {"X-Request-ID": "of-the-proxy-1", "X-Forwarded-For": "198.51.100.7, 203.0.113.9"}
    stranger = Client(headers=given).get("/healthz")
    assert stranger["X-Request-ID"] != "of-the-proxy-1"
    assert stranger.wsgi_request.META["REMOTE_ADDR"] == "127.0.0.1"
    settings.PROXIES = ["127.0.0.1"]
    told = Client(headers=given).get("/healthz")
    assert told["X-Request-ID"] == "of-the-proxy-1"
    # The one that the proxy itself saw; what stands before it anybody may have sent. Addresses: RFC 5737.
    assert told.wsgi_request.META["REMOTE_ADDR"] == "203.0.113.9"
    bad = Client(headers=given | {"X-Request-ID": 'a"b\nc' * 3}).get("/healthz")
    assert re.fullmatch("[0-9a-f]{32}", bad["X-Request-ID"])


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize(("accept", "read"), [(OPEN, read_open), ("text/plain", read_plain)])
def test_the_meters_can_be_read_by_their_own_reader(farm, word, accept, read):
    client = Client()
    client.force_login(farm.users["rosa"], backend="crews.signing_in.RoleBackend")
    tag = farm.gear("bag")[0]
    body = farm.batch([farm.entry("handed_out", item=tag, picker=farm.badges["ana"])])
    assert client.post("/api/entries/", body, content_type="application/json").status_code == 200
    answer = Client().get("/metrics", headers=word | {"Accept": accept})
    told = {family.name: family for family in read(answer.content.decode())}
    samples = {(s.name, *sorted(s.labels.items())): s.value for f in told.values() for s in f.samples}
    assert samples["shedbook_entries_total", ("store", "A"), ("verb", "handed_out")] >= 1
    assert samples["shedbook_head", ("store", "A")] == Entry.objects.filter(store="A").count()
    assert samples["shedbook_ready",] == 1
    assert samples["shedbook_database_bytes",] > 100_000
    assert any(key[0] == "shedbook_request_seconds_bucket" for key in samples)
    assert "Ana" not in answer.content.decode()


def test_the_meters_are_for_those_who_know_the_word(word: dict[str, str], settings: Any) -> None:
    for headers in ({}, {"Authorization": "Bearer another"}, {"Authorization": f"Token {WORD}"}):
        assert Client().get("/metrics", headers=headers).status_code == 403
    settings.HEALTH_TOKEN = ""
    assert Client().get("/metrics", headers={"Authorization": "Bearer "}).status_code == 403


@pytest.mark.only_on("postgresql")
@pytest.mark.django_db(transaction=True)
def test_any_process_tells_the_meters_of_all(farm: Farm, monkeypatch: Any) -> None:
    server, address = served(monkeypatch, "--workers", "3")
    with ThreadPoolExecutor(12) as clients:
        list(
            clients.map(lambda _: urllib.request.urlopen(f"{address}healthz", timeout=20).close(), range(120))
        )
    asked = urllib.request.Request(f"{address}metrics", headers={"Authorization": f"Bearer {WORD}"})
    counts = []
    for _ in range(6):
        with urllib.request.urlopen(asked, timeout=20) as answer:
            families = list(read_plain(answer.read().decode()))
        counts += [
            sample.value
            for family in families
            for sample in family.samples
            if sample.name == "shedbook_requests_total" and sample.labels["route"] == "healthz"
        ]
    ended(server)
    assert counts == [120] * 6


@pytest.mark.django_db(transaction=True)
def test_what_was_taken_back_by_the_database_is_not_told(farm: Farm) -> None:
    with watching() as watch, transaction.atomic():
        farm.gear("bag")
        transaction.set_rollback(True)
    assert watch.entries == []
    with watching() as watch:
        farm.gear("bag")
    assert [verb for _, _, verb in watch.entries] == ["registered"]


def test_the_log_has_a_form_that_there_is() -> None:
    with pytest.raises(ValueError, match="SHEDBOOK_LOG is one of json, plain, off"):
        logs.config("xml", "INFO")


@pytest.mark.django_db(transaction=True)
def test_the_meters_ask_for_figures_that_there_are() -> None:
    _, figures = health.looked(timezone.now())
    assert FIGURES.keys() <= figures.keys()


def test_a_database_of_an_older_shedbook_is_not_served(tmp_path: Path) -> None:
    book = {"SHEDBOOK_DATA": str(tmp_path), "DATABASE_URL": f"sqlite:///{tmp_path / 'old.sqlite3'}"}
    command = [sys.executable, "manage.py", "serve", "--port", "0"]
    done = subprocess.run(
        command, cwd=processes.ROOT, env=os.environ | book, capture_output=True, text=True, timeout=60
    )
    assert (done.returncode, done.stdout) == (1, "")
    assert re.match(
        r"CommandError: The database is not that of this Shedbook \(\d+ steps behind\)", done.stderr
    )
