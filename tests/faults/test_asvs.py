"""The table on OWASP ASVS 5.0.0 in DEVELOPERS.md is whole, names tests that exist, and says what the program does.

The numbers are those of the standard's own list (`OWASP_Application_Security_Verification_Standard_5.0.0_en.csv`):
all 70 of level 1, and those of level 2 of the chapters V5 to V8.
"""

import ast
import math
import re
from functools import cache
from pathlib import Path

import pytest
from django.conf import settings
from django.http import BadHeaderError, HttpResponse
from django_otp.plugins.otp_totp.models import TOTPDevice

from crews import pins, second_factor
from equipment.actions import keep_photo, shrink_photo
from equipment.actions.importing import reader
from equipment.pages.shell import limits

ROOT = Path(__file__).resolve().parents[2]
SECTION = (ROOT / "DEVELOPERS.md").read_text().partition("\n## Against ASVS 5.0\n")[2].partition("\n## ")[0]
PROSE = " ".join(SECTION.partition("\n| requirement")[0].split())
LEVEL_1 = """
1.2: 1-5; 1.3: 1-2; 1.5: 1; 2.1: 1; 2.2: 1-2; 2.3: 1; 3.2: 1-2; 3.3: 1; 3.4: 1-2; 3.5: 1-3; 4.1: 1; 4.4: 1; 5.2: 1-2;
5.3: 1-2; 6.1: 1; 6.2: 1-8; 6.3: 1-2; 6.4: 1-2; 7.2: 1-4; 7.4: 1-2; 8.1: 1; 8.2: 1-2; 8.3: 1; 9.1: 1-3; 9.2: 1;
10.4: 1-5; 11.3: 1-2; 11.4: 1; 12.1: 1; 12.2: 1-2; 13.4: 1; 14.2: 1; 14.3: 1; 15.1: 1; 15.2: 1; 15.3: 1
"""
LEVEL_2 = """
5.1: 1; 5.2: 3; 5.4: 1-3; 6.1: 2-3; 6.2: 9-12; 6.3: 3-4; 6.4: 3-4; 6.5: 1-5; 6.6: 1-3; 6.8: 1-4; 7.1: 1-3; 7.3: 1-2;
7.4: 3-5; 7.5: 1-2; 7.6: 1-2; 8.1: 2; 8.2: 3; 8.4: 1
"""
NAMED = re.compile(r"`([\w/]+\.py)::(\w+)`")


def numbers(text: str) -> list[str]:
    spans = re.findall(r"([\d.]+): (\d+)(?:-(\d+))?", text)
    return [f"{part}.{n}" for part, first, last in spans for n in range(int(first), int(last or first) + 1)]


def rows() -> list[list[str]]:
    lines = [line for line in SECTION.splitlines() if re.match(r"\| \d", line)]
    return [[cell.strip() for cell in line.strip("|").split(" | ")] for line in lines]


@cache
def defined_in(name: str) -> frozenset[str]:
    path = ROOT / "tests" / name
    tree = ast.parse(path.read_text()) if path.exists() else ast.Module([], [])
    return frozenset(node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef))


def test_each_requirement_stands_there_once() -> None:
    assert (len(numbers(LEVEL_1)), len(numbers(LEVEL_2))) == (70, 42)
    there = [number for row in rows() for number in row[0].split(", ")]
    assert sorted(there) == sorted(numbers(LEVEL_1 + LEVEL_2))


@pytest.mark.parametrize("row", rows(), ids=lambda row: row[0])
def test_it_says_how_it_stands_and_by_which_test_or_why(row: list[str]) -> None:
    _, short, stands, why = row
    named = NAMED.findall(why)
    assert short and stands in {"met", "part", "gap", "none"}
    assert named or stands != "met"
    assert NAMED.sub("", why).strip(" ;") or stands == "met", "what lacks, or why not, in words"
    assert why.count("::") == len(named)
    assert [f"{file}::{name}" for file, name in named if name not in defined_in(file)] == []


def test_a_test_that_is_not_there_is_told() -> None:
    assert "test_a_test_that_is_not_there_is_told" in defined_in("faults/test_asvs.py")
    assert "test_nothing_of_the_kind" not in defined_in("faults/test_asvs.py") | defined_in(
        "nowhere/test_it.py"
    )


def test_what_is_said_of_files_is_what_the_program_does() -> None:
    most, pixels = keep_photo.MOST_BYTES // 1_000_000, shrink_photo.MOST_PIXELS // 1_000_000
    assert f"JPEG, PNG, WebP, at most {most} MB and {pixels} megapixels" in PROSE
    assert f"CSV text, at most {reader.MOST_BYTES // 1024**2} MB" in PROSE
    assert f"No request is longer than {limits.MOST_BYTES // 1_000_000} MB" in PROSE


def test_what_is_said_of_throttling_is_what_the_program_does() -> None:
    assert (settings.AXES_FAILURE_LIMIT, pins.MOST_WRONG) == (10, 50)
    minutes = round(settings.AXES_COOLOFF_TIME * 60)
    assert f"Ten wrong tries of a name from one address lock that pair for {minutes} minutes" in PROSE
    assert settings.AXES_LOCKOUT_PARAMETERS == [["username", "ip_address"]] and "fifty end a PIN" in PROSE
    ways = {name.rpartition(".")[2] for name in settings.AUTHENTICATION_BACKENDS} - {"AxesStandaloneBackend"}
    assert ways == {"RoleBackend", "PinBackend", "CodeBackend"}
    assert all(f"y {way}" in PROSE for way in ("password anywhere", "PIN", "API token"))


def test_when_holes_are_closed_is_written_down() -> None:
    assert re.search(r"known hole .* within \d+ days, any other with the monthly update", PROSE)


def test_the_secrets_of_codes_and_their_times() -> None:
    """20 bits at least are asked for of a recovery code; RFC 4226 wants 128 of a phone's secret, 160 better."""
    assert 8 * math.log2(len(set(second_factor.LETTERS))) > 36
    keys = {TOTPDevice().key for _ in range(20)}
    assert len(keys) == 20 and {len(bytes.fromhex(key)) * 8 for key in keys} == {160}
    assert (TOTPDevice().step, TOTPDevice().tolerance) == (30, 1)


def test_a_head_of_two_lines_is_refused() -> None:
    with pytest.raises(BadHeaderError):
        HttpResponse(headers={"Content-Disposition": 'inline; filename="a"\r\nSet-Cookie: b=c'})
