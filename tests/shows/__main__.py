"""Show what survives: `python -m tests.shows [NAME ...] [--long]` prints a figure a show, and exits 1 where one fails.

    python -m tests.shows tampering scanner_streams
    python -m tests.shows crash --long
    python -m tests.postgres -- python -m tests.shows crash --long

A show NAME is `test_NAME.py` here. The suite runs them too, in their short form; the long form is for a quiet evening,
and DEVELOPERS.md has its last result.
"""

import argparse
import os
import subprocess
import sys
from pathlib import Path

from tests.showing import LONG

HERE = Path(__file__).parent


def names() -> list[str]:
    """Shows there are."""
    return sorted(file.stem.removeprefix("test_") for file in HERE.glob("test_*.py"))


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.shows", description="Show what survives.")
    parser.add_argument("name", nargs="*", help=", ".join(names()))
    parser.add_argument("--long", action="store_true", help="as often as in the long form")
    asked = parser.parse_args(arguments)
    if unknown := set(asked.name) - set(names()):
        parser.error(f"no such show: {', '.join(sorted(unknown))}; there are {', '.join(names())}")
    files = [str(HERE / f"test_{name}.py") for name in asked.name or names()]
    # A long form may take as long as it takes.
    patience = ["-o", "faulthandler_timeout=0"] if asked.long else []
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:randomly", *patience, *files]
    return subprocess.run(command, env=os.environ | {LONG: "1" if asked.long else "0"}).returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
