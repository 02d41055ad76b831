"""The lock holds what `pyproject.toml` asks for, all of that and nothing else, each file by its digest.

What "satisfies" means is PEP 440's word, by the library that pip itself uses (packaging); that the lock is pip's form
was tried by installing from it (`pip install --require-hashes`), which needs the net and so is not done here.
"""

import re
import tomllib
from collections.abc import Iterable
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from equipment.management.materials.locked import Locked, locked

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "config" / "requirements"
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())
RUN = [*PROJECT["project"]["dependencies"], *PROJECT["build-system"]["requires"]]
ASKED = {"run.txt": RUN, "test.txt": [*RUN, *PROJECT["project"]["optional-dependencies"]["test"]]}
# By these words pip-tools says that the project itself asked, for running it or for building it.
ITSELF = re.compile(r"shedbook \(pyproject\.toml\)|shedbook \(pyproject\.toml::[\w:.-]+\)")

a_lock = pytest.mark.parametrize("name", ASKED)


def not_held(asked: Iterable[str], lock: dict[str, Locked]) -> list[str]:
    """Requirements that the lock has no fitting version of."""
    return [
        line
        for line, wanted in ((line, Requirement(line)) for line in asked)
        if (pin := lock.get(canonicalize_name(wanted.name))) is None
        or not wanted.specifier.contains(pin.version, prereleases=True)
    ]


def not_needed(asked: Iterable[str], lock: dict[str, Locked]) -> set[str]:
    """Packages that no chain of askers joins to the project's own requirements."""
    direct = {canonicalize_name(Requirement(line).name) for line in asked}
    needed = {
        name for name, pin in lock.items() if name in direct and any(map(ITSELF.fullmatch, pin.asked_by))
    }
    while more := {n for n, pin in lock.items() if n not in needed and needed & askers(pin)}:
        needed |= more
    return set(lock) - needed


def askers(pin: Locked) -> set[str]:
    return {canonicalize_name(word.partition("[")[0]) for word in pin.asked_by}


@a_lock
def test_each_requirement_is_held_at_a_version_that_satisfies_it(name: str) -> None:
    assert not not_held(ASKED[name], locked(FOLDER / name)), "run python -m tests.lock"


@a_lock
def test_nothing_is_in_it_that_the_project_does_not_need(name: str) -> None:
    assert not not_needed(ASKED[name], locked(FOLDER / name)), "run python -m tests.lock"


@a_lock
def test_each_line_has_digests_and_none_names_a_place(name: str) -> None:
    text = (FOLDER / name).read_text()
    lock = locked(FOLDER / name)
    assert all(pin.digests for pin in lock.values())
    lines = [line for line in text.splitlines() if line and not line.startswith((" ", "#"))]
    assert len(lines) == len(lock)
    assert all(re.match(r"[a-z0-9-]+==\S+ \\$", line) for line in lines)
    assert not re.search(r"://|^\s*-[ief]|--(index|extra|find|trusted)|file:/", text, re.MULTILINE)


def test_the_tests_run_with_what_the_farm_runs_with() -> None:
    run, test = (locked(FOLDER / name) for name in ASKED)
    assert {name: pin.version for name, pin in run.items()} == {name: test[name].version for name in run}
    assert {name: set(pin.digests) for name, pin in run.items()} == {
        name: set(test[name].digests) for name in run
    }


def pin(version: str, *asked_by: str) -> Locked:
    return Locked(version, ("0" * 64,), asked_by)


def test_a_lock_that_fell_behind_is_told() -> None:
    lock = {"left": pin("1.9", "shedbook (pyproject.toml)"), "right": pin("3", "left")}
    assert not_held(["left>=1.9", "Right[more]<4"], lock) == []
    assert not_held(["left>=2", "right!=3", "absent"], lock) == ["left>=2", "right!=3", "absent"]


def test_what_nobody_asks_for_any_more_is_told() -> None:
    own = "shedbook (pyproject.toml)"
    lock = {
        "left": pin("1", own),
        "right": pin("1", "left[more]"),
        "gone": pin("1", own),
        "its": pin("1", "gone"),
    }
    assert not_needed(["left"], lock) == {"gone", "its"}
    assert not_needed(["left", "gone"], lock) == set()


def test_pips_form_is_read_whole(tmp_path: Path) -> None:
    path = tmp_path / "run.txt"
    path.write_text(
        "# by a command\nOne_More==2.0 \\\n"
        f"    --hash=sha256:{'a' * 64} \\\n    --hash=sha256:{'b' * 64}\n    # via two, three[x]\n"
        f"two==1 \\\n    --hash=sha256:{'c' * 64}\n"
    )
    assert locked(path) == {
        "one-more": Locked("2.0", ("a" * 64, "b" * 64), ("two", "three[x]")),
        "two": Locked("1", ("c" * 64,), ()),
    }
