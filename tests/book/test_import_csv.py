"""`manage.py import_csv`: thin, and honest about how it ended."""

from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from crews.models import DayPlanChange, Picker, User
from tests.cast import Farm


@pytest.fixture
def season(tmp_path: Path, farm: Farm) -> Path:
    file = tmp_path / "season.csv"
    file.write_text("number;name;crew\r\n1;Ana;Red crew\r\n9;Dan;Blue crew\r\n", encoding="utf-8-sig")
    return file


def run(*words: object) -> tuple[str, int]:
    """What the command prints, and the code it ends with."""
    out = StringIO()
    try:
        call_command("import_csv", *map(str, words), stdout=out)
    except CommandError as error:
        return f"{out.getvalue()}{error}", error.returncode
    return out.getvalue(), 0


def test_it_imports_and_says_what(season: Path) -> None:
    said, code = run("pickers", season)
    assert (code, "1 added, 0 changed, 1 unchanged." in said, "1 new cards" in said) == (0, True, True)
    assert "Not on this list:\n  3 Cy, Blue crew: –\n  2 Ben, Red crew: –" in said
    assert Picker.objects.filter(name="Dan").exists()


def test_a_dry_run_says_so_and_writes_nothing(season: Path) -> None:
    said, code = run("pickers", season, "--dry-run")
    assert (code, said.startswith("A dry run")) == (0, True)
    assert not Picker.objects.filter(name="Dan").exists()


def test_bad_rows_are_printed_and_the_code_is_one(season: Path) -> None:
    season.write_text("number,name,crew\n1,Ana,Red crew\n9,Dan,Green\n")
    said, code = run("pickers", season)
    assert code == 1
    assert "Line 3, crew “Green”: There is no such crew." in said
    assert said.endswith("Nothing was imported.")


@pytest.mark.parametrize("who", [[], ["--user", "rosa"]])
def test_who_imports_stands_with_what_changes(who: list[str], farm: Farm, season: Path) -> None:
    plan = farm.plan("red", "N4")
    season.write_text(f"date,crew,block\n{plan.date},Red crew,S2\n")
    assert run("plans", season, *who)[1] == 0
    assert DayPlanChange.objects.get().by == farm.users[who[1] if who else "frank"]


def test_nobody_and_nothing_are_refused(season: Path) -> None:
    assert run("pickers", season, "--user", "nobody")[1] == 1
    assert run("pickers", season.parent / "none.csv")[1] == 1
    User.objects.all().update(is_active=False)
    said, code = run("pickers", season)
    assert (code, "--user" in said) == (1, True)
