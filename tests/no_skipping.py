"""A skipped test fails: what cannot be tested here must be seen, not passed over.

A test for one database only says so with `@pytest.mark.only_on("postgresql")` and is left out on the other.
"""

from collections.abc import Generator

import pytest
from pluggy import Result

REFUSED = "Skipping is not allowed: make the test run, or mark it only_on(database)."


@pytest.hookimpl(hookwrapper=True)
def pytest_runtest_makereport() -> Generator[None, Result[pytest.TestReport]]:
    report = (yield).get_result()
    if report.skipped and not hasattr(report, "wasxfail"):
        refuse(report)


@pytest.hookimpl(hookwrapper=True)
def pytest_make_collect_report() -> Generator[None, Result[pytest.CollectReport]]:
    report = (yield).get_result()
    if report.skipped:
        refuse(report)


def refuse(report: pytest.TestReport | pytest.CollectReport) -> None:
    report.outcome = "failed"
    report.longrepr = f"{REFUSED}\n{report.longrepr}"
