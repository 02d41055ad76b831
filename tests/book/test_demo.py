"""The demo: loaded into an empty database only, whole or anew, with logins that work; run again, it is served."""

import os
import re
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from filelock import FileLock

from crews import policy
from crews.models import Crew, DayPlan, Device, Picker, Store, User
from equipment.actions import demo
from equipment.models import Entry, ItemState
from tests.commands import manage
from tests.processes import ROOT

LOAD = ("demo", "--no-serve", "--days", "1")


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    """Only one loads in a folder at a time, and beside this test another may be loading."""
    settings.DATA_DIR = tmp_path


def test_the_demo_loads_once_with_logins_that_work(db):
    out, err, code = manage(*LOAD)
    assert (err, code) == ("", 0)
    assert (Store.objects.count(), Crew.objects.count(), Picker.objects.count()) == (2, 8, 240)
    assert 1_150 <= ItemState.objects.count() <= 1_300
    assert DayPlan.objects.filter(date=timezone.localdate()).exists()
    assert manage("verify_book")[2] == 0
    entries = Entry.objects.count()

    again, err, code = manage(*LOAD)
    assert (err, code) == ("", 0)
    assert "loaded already" in again and Entry.objects.count() == entries
    for said in (out, again):
        check_logins(said)


def check_logins(said: str) -> None:
    """Every line of the table signs in, with the role that it names; no role and no crew's supervisor is left out."""
    rows = re.findall(r"^(\w+) {2,}([a-z ]+?) {2,}(quillberg-\w+) {2,}\S", said, re.MULTILINE)
    assert {role for _, role, _ in rows} == set(policy.ROLES)
    for username, role, password in rows:
        answer = Client().post(reverse("login"), {"username": username, "password": password})
        assert answer.status_code == 302, username
        assert User.objects.get(username=username).roles == {role}
    assert set(Crew.objects.values_list("supervisor__username", flat=True)) <= {
        username for username, _, _ in rows
    }


def test_a_farm_of_ones_own_is_left_alone(farm):
    users = User.objects.count()
    out, err, code = manage(*LOAD)
    assert code == 1 and "holds a farm already" in err and "password" not in out
    assert User.objects.count() == users and not Device.objects.filter(pk=demo.DEMO_ID).exists()


def test_a_demo_that_was_cut_off_is_not_taken_for_a_whole_one(db):
    Device.objects.create(pk=demo.DEMO_ID, kind=Device.Kind.SERVER, name="demo")
    _out, err, code = manage(*LOAD)
    assert code == 1 and "cut off while it was loading" in err


def test_two_do_not_load_at_once(db, settings):
    with FileLock(settings.DATA_DIR / "demo.lock"):
        _out, err, code = manage(*LOAD)
    assert code == 1 and "is loading already" in err and not User.objects.exists()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "data"


def started(folder: Path, *command: str) -> subprocess.Popen[str]:
    """`manage.py ...` on a SQLite file of its own in `folder`."""
    environment = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    environment |= {"SHEDBOOK_DATA": str(folder), "DJANGO_SETTINGS_MODULE": "config.settings"}
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.STDOUT, "text": True}
    return subprocess.Popen([sys.executable, "manage.py", *command], cwd=ROOT, env=environment, **pipes)


@pytest.mark.only_on("sqlite")
def test_a_demo_killed_in_the_middle_is_put_aside_and_loaded_anew(folder):
    first = started(folder, "demo", "--no-serve", "--days", "3")
    for line in first.stdout:
        if "day 1 of" in line:
            break
    first.send_signal(signal.SIGKILL)
    first.communicate()

    again = started(folder, *LOAD)
    said, _ = again.communicate(timeout=120)
    assert again.returncode == 0, said
    assert "put aside as cut-off-demo.sqlite3" in said and "day 1 of 1" in said
    assert (folder / "cut-off-demo.sqlite3").exists()

    verified = started(folder, "verify_book")
    said, _ = verified.communicate(timeout=120)
    assert verified.returncode == 0 and "The book is whole" in said
