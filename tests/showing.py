"""What the shows of `tests/shows/` share: how often to try, and a figure that is printed at the end of the run.

def test_tampering(times, figure):
    for n in range(times(100, 1000)):      # in the suite, and in the long run
        ...
    figure(f"{n} lines changed, all found")
"""

import os
from collections.abc import Callable

import pytest

LONG = "SHEDBOOK_LONG"
FIGURE = "figure"


@pytest.fixture
def times() -> Callable[[int, int], int]:
    """`times(short, long)`: the one that this run asks for."""
    return lambda short, long: long if os.environ.get(LONG) == "1" else short


@pytest.fixture
def figure(request: pytest.FixtureRequest) -> Callable[[str], None]:
    """`figure(words)`: what this show found, in one sentence with its numbers."""
    return lambda words: request.node.user_properties.append((FIGURE, words))


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """The figures, where the shows were what was asked for."""
    if LONG not in os.environ:
        return
    for report in terminalreporter.getreports("passed") + terminalreporter.getreports("failed"):
        for name, words in report.user_properties if report.when == "call" else ():
            if name == FIGURE:
                terminalreporter.write_line(f"{report.outcome}: {report.nodeid.rpartition('::')[2]}: {words}")
