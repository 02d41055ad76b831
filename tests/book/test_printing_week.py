"""`print_registers`: a week's registers in a folder, each file whole under its name, or not there at all."""

import errno
import os
from datetime import date, datetime, timedelta
from io import BytesIO
from pathlib import Path

import openpyxl
import pytest
from django.utils import timezone

from equipment.actions.print_register import digest
from equipment.documents.registers import week
from equipment.domain import codes, printed
from equipment.models import Printing
from equipment.models.registers import REGISTERS
from tests.commands import manage
from tests.documents.reading import scanned, words

WHOLE_SET = sorted(name for name, register in REGISTERS.items() if not register.needs)


@pytest.fixture
def handed_out(farm, post):
    """Somebody got a bag this week."""
    post(farm.entry("handed_out", item=farm.gear("bag")[0], picker=farm.badges["ana"]))
    return timezone.localdate()


def test_last_week_is_monday_to_sunday_before_this_one():
    assert week.last_week(date(2026, 11, 26)) == week.last_week(date(2026, 11, 23)) == date(2026, 11, 16)
    assert week.last_week(date(2026, 11, 22)) == date(2026, 11, 9)
    assert week.monday("2026-11-18") == week.monday("2026-W47") == date(2026, 11, 16)


def test_the_whole_set_is_written_with_names_that_sort(farm, tmp_path):
    out, err, code = manage("print_registers", "--to", str(tmp_path))
    assert (err, code) == ("", 0)
    first = week.last_week(timezone.localdate())
    made = {each.register: each for each in Printing.objects.all()}
    assert sorted(made) == WHOLE_SET and len(WHOLE_SET) >= 7
    assert not {"gear-card", "item-life"} & set(made)
    files = sorted(path.name for path in tmp_path.iterdir())
    last = first + timedelta(days=6)
    assert files == sorted(f"{first}_{last}_{name}_{each.code}.pdf" for name, each in made.items())
    assert all(
        each.by is None and each.what.first == first and each.what.last == last for each in made.values()
    )
    assert all(name in out for name in files) and f"{len(files)} files written." in out
    assert all(path.read_bytes().rstrip().endswith(b"%%EOF") for path in tmp_path.iterdir())


def test_the_paper_leads_back_to_its_printing_and_that_to_the_same_lines(handed_out, tmp_path):
    assert manage("print_registers", "--to", str(tmp_path), "--week", str(handed_out))[2] == 0
    (file,) = tmp_path.glob("*_handout_*.pdf")
    pdf = file.read_bytes()
    (read,) = scanned(pdf, dpi=150)
    found = printed.parse(read)
    printing = Printing.objects.get(pk=codes.parse(found.code).number)
    assert (printing.register, printing.lines) == ("handout", 1) and found.agrees(printing.digest)
    assert digest(REGISTERS["handout"], printing.what, printing.at_heads) == (1, printing.digest)
    assert "Ana (1)" in words(pdf)[0] and "Picking bag" in words(pdf)[0]


def test_all_forms_may_be_asked_for(handed_out, tmp_path):
    forms = [word for form in ("csv", "xlsx", "csv") for word in ("--form", form)]
    assert manage("print_registers", "--to", str(tmp_path), "--week", str(handed_out), *forms)[2] == 0
    assert len(list(tmp_path.iterdir())) == Printing.objects.count() == 2 * len(WHOLE_SET)
    (csv,), (xlsx,) = tmp_path.glob("*_handout_*.csv"), tmp_path.glob("*_handout_*.xlsx")
    assert "Ana (1)" in csv.read_text("utf-8-sig")
    rows = openpyxl.load_workbook(BytesIO(xlsx.read_bytes())).worksheets[0].iter_rows(values_only=True)
    assert any("Ana (1)" in row for row in rows)


@pytest.mark.parametrize("text", ["next", "2026-13-01", "2026-W60"])
def test_a_week_that_is_none_is_said(farm, tmp_path, text):
    _out, err, code = manage("print_registers", "--to", str(tmp_path), "--week", text)
    assert code == 1 and f"“{text}” is no week" in err and list(tmp_path.iterdir()) == []


def test_a_week_to_come_has_nothing_to_print(farm, tmp_path):
    later = timezone.localdate() + timedelta(days=8)
    _out, err, code = manage("print_registers", "--to", str(tmp_path), "--week", str(later))
    assert code == 1 and "has not begun" in err and not Printing.objects.exists()


def test_a_folder_that_is_not_there_is_said_and_nothing_is_printed(farm, tmp_path):
    _out, err, code = manage("print_registers", "--to", str(tmp_path / "nowhere"))
    assert code == 1 and "There is no folder" in err and "0 files written" in err
    file = tmp_path / "file"
    file.touch()
    _out, err, code = manage("print_registers", "--to", str(file))
    assert code == 1 and "is no folder" in err
    assert not Printing.objects.exists()


def test_a_folder_without_the_right_to_write_is_said(farm, tmp_path, monkeypatch):
    def refuse(self: Path, *_args: object, **_named: object) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(self))

    monkeypatch.setattr(Path, "open", refuse)
    _out, err, code = manage("print_registers", "--to", str(tmp_path))
    assert code == 1 and "cannot be written to: Permission denied" in err
    assert not Printing.objects.exists()


def test_a_full_disk_leaves_nothing_half_and_what_was_whole_stays(farm, tmp_path, monkeypatch):
    whole = os.fsync
    calls = []

    def full(number: int) -> None:
        calls.append(number)
        if len(calls) == 3:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        whole(number)

    monkeypatch.setattr(os, "fsync", full)
    _out, err, code = manage("print_registers", "--to", str(tmp_path))
    assert code == 1 and "is full" in err and "2 files written" in err
    files = sorted(path.name for path in tmp_path.iterdir())
    assert len(files) == 2 and all(name.endswith(".pdf") and not name.startswith(".") for name in files)
    assert sorted(f"{each.code}.pdf" for each in Printing.objects.all()) == sorted(
        name.rsplit("_", 1)[1] for name in files
    )


def test_a_writer_that_fails_half_way_leaves_nothing(farm, tmp_path, monkeypatch):
    def half(_printing: Printing, to: BytesIO) -> None:
        to.write(b"half")
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(week, "write", half)
    assert manage("print_registers", "--to", str(tmp_path))[2] == 1
    assert list(tmp_path.iterdir()) == [] and not Printing.objects.exists()


def test_a_logo_that_is_no_picture_is_said_and_the_set_is_printed(farm, tmp_path, settings):
    settings.FARM_LOGO = str(tmp_path)
    to = tmp_path / "to"
    to.mkdir()
    _out, err, code = manage("print_registers", "--to", str(to))
    assert code == 0 and "not a picture that can be printed" in err
    assert len(list(to.iterdir())) == len(WHOLE_SET)


def test_last_weeks_time_is_that_of_the_farm(farm, tmp_path, monkeypatch):
    """On Sunday at 23:30 UTC it is Monday on the farm: the week is over."""
    monkeypatch.setattr(timezone, "now", lambda: datetime.fromisoformat("2026-11-22T23:30:00+00:00"))
    assert manage("print_registers", "--to", str(tmp_path))[2] == 0
    assert {path.name[:21] for path in tmp_path.iterdir()} == {"2026-11-16_2026-11-22"}
