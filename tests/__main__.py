"""Everything that must pass, in one command: `python -m tests`.

    python -m tests                               static checks, the suite on SQLite, and on PostgreSQL what concerns it
    python -m tests --only lint|sqlite|postgresql  one of the three
    python -m tests --only sqlite -- tests/domain  what follows `--` goes to pytest

Nothing is skipped: a part that cannot be had (the browser, the database) fails the run and says what to do.
"""

import argparse
import os
import signal
import subprocess
import sys
import sysconfig
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from tests import chromium, postgres

ROOT = Path(__file__).resolve().parent.parent
SCRIPTS = Path(sysconfig.get_path("scripts"))
PARTS = ("lint", "sqlite", "postgresql")
MANAGE = (sys.executable, "manage.py")
LINT = {
    "ruff check": (sys.executable, "-m", "ruff", "check", "."),
    "ruff format": (sys.executable, "-m", "ruff", "format", "--check", "."),
    "mypy": (sys.executable, "-m", "mypy"),
    "imports": (str(SCRIPTS / "lint-imports"),),
    "migrations": (*MANAGE, "makemigrations", "--check", "--dry-run"),
    "system check": (*MANAGE, "check"),
}
# One more than the cores of a small machine: a browser test waits for a clock as often as for a core.
WORKERS = "3"


@dataclass(frozen=True)
class Result:
    """How one part went: its name, whether it passed, and how long it took in seconds."""

    name: str
    passed: bool
    seconds: float


def main() -> int:
    options, pytest_arguments = arguments(sys.argv[1:])
    # Stopped from outside or by Ctrl-C, the way out still stops the database server.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
    started = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="shedbook-tests-") as data:
        environment = os.environ | {"SHEDBOOK_TESTING": "1", "SHEDBOOK_DATA": data, "PYTHONUNBUFFERED": "1"}
        environment.pop("DATABASE_URL", None)
        # Compiled once, not anew by every worker and every command that a test starts.
        environment.pop("PYTHONDONTWRITEBYTECODE", None)
        results: list[Result] = []
        if options.only in (None, "lint"):
            results += [lint(name, environment) for name in LINT]
        if options.only != "lint":
            results += suites(options.only, environment, pytest_arguments)
    return summary(results, time.monotonic() - started)


def arguments(given: list[str]) -> tuple[argparse.Namespace, list[str]]:
    """Our own arguments, and what follows `--`."""
    end = given.index("--") if "--" in given else len(given)
    parser = argparse.ArgumentParser(prog="python -m tests", description="Run everything that must pass.")
    parser.add_argument("--only", choices=PARTS, help="run only this part")
    return parser.parse_args(given[:end]), given[end + 1 :]


def lint(name: str, environment: dict[str, str]) -> Result:
    """One static check; what it says is shown only where it fails."""

    def check() -> bool:
        done = subprocess.run(
            LINT[name], cwd=ROOT, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
        )
        if done.returncode:
            print(done.stdout, flush=True)
        return done.returncode == 0

    return timed(name, check)


def suites(only: str | None, environment: dict[str, str], pytest_arguments: list[str]) -> list[Result]:
    """pytest on each database asked for."""

    def browser() -> bool:
        chromium.ensure()
        chromium.ensure_light()
        chromium.ensure_certutil()
        chromium.ensure_strace()
        return True

    def decoder() -> bool:
        return subprocess.run([*MANAGE, "fetch_decoder"], cwd=ROOT, env=environment).returncode == 0

    def sqlite() -> bool:
        return pytest("sqlite", environment, pytest_arguments)

    def postgresql() -> bool:
        with postgres.server() as url:
            return pytest("postgresql", environment | {"DATABASE_URL": url}, pytest_arguments)

    results = [timed("chromium", browser), timed("decoder", decoder)]
    if only in (None, "sqlite"):
        results.append(timed("pytest on SQLite", sqlite))
    if only in (None, "postgresql"):
        results.append(timed("pytest on PostgreSQL", postgresql))
    return results


def pytest(database: str, environment: dict[str, str], pytest_arguments: list[str]) -> bool:
    # Whoever is done first takes over from the other: the slow tests, those of the browser, come last.
    command = [sys.executable, "-m", "pytest", "-n", WORKERS, "--dist", "worksteal", *pytest_arguments]
    return (
        subprocess.run(command, cwd=ROOT, env=environment | {"SHEDBOOK_EXPECT_DB": database}).returncode == 0
    )


def timed(name: str, part: Callable[[], bool]) -> Result:
    """Run one part under its heading; an error that explains itself is printed and counts as failed."""
    print(f"== {name}", flush=True)
    started = time.monotonic()
    try:
        passed = part()
    except (chromium.NoChromium, postgres.ServerFailed) as refusal:
        print(refusal, flush=True)
        passed = False
    return Result(name, passed, time.monotonic() - started)


def summary(results: list[Result], seconds: float) -> int:
    """Print one line a part and the total; the exit status."""
    print("\n== Summary")
    for result in results:
        print(f"{'passed' if result.passed else 'FAILED':8}{result.name:24}{result.seconds:8.1f} s")
    failed = [result.name for result in results if not result.passed]
    print(f"{'FAILED' if failed else 'passed':8}{'all together':24}{seconds:8.1f} s")
    return 1 if failed else 0


if __name__ == "__main__":
    try:
        sys.exit(main())
    except KeyboardInterrupt:
        sys.exit("Stopped.")
