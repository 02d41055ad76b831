"""The two commands of the README are one line each, and the machine that checks every change runs the second."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


def first_block(heading: str) -> list[str]:
    """Lines of the first code block under a heading of the README."""
    _, _, section = (ROOT / "README.md").read_text().partition(f"\n## {heading}\n")
    block = re.search(r"```sh\n(.*?)```", section.split("\n## ")[0], re.DOTALL)
    assert block, f"no code block under {heading}"
    return block.group(1).splitlines()


@pytest.mark.parametrize("heading", ["Try it", "Test it"])
def test_it_is_one_line(heading):
    assert len(first_block(heading)) == 1


def test_every_change_is_checked_by_the_readmes_own_command():
    assert (ROOT / ".ci" / "run").read_text().splitlines()[-1] == first_block("Test it")[0]
