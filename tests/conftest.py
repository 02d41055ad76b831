"""Shared by every test: the rules of the run, and a database that may be emptied between tests."""

import os

import pytest
from hypothesis import settings as hypothesis_settings

# The browser's driver keeps an event loop in the thread that the tests run in.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"

pytest_plugins = ["tests.browsing", "tests.counter", "tests.emptying", "tests.farm", "tests.no_skipping"]

# Browser tests (those that ask for a page) run on these databases; leave one out where time is short.
BROWSER_TESTS_ON = ("sqlite", "postgresql")

# Two processes share two cores: one slow example says nothing.
hypothesis_settings.register_profile("shedbook", deadline=None, print_blob=True)
hypothesis_settings.load_profile("shedbook")


def database() -> str:
    from django.db import connection

    return connection.vendor


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Mark the browser tests, and leave out (not skip) what is not for this database."""
    here = database()
    kept, left_out = [], []
    for item in items:
        if "chromium" in getattr(item, "fixturenames", ()):
            item.add_marker("browser")
        (kept if wanted(item, here) else left_out).append(item)
    if left_out:
        config.hook.pytest_deselected(items=left_out)
        items[:] = kept


def wanted(item: pytest.Item, here: str) -> bool:
    only_on = item.get_closest_marker("only_on")
    if only_on and here not in only_on.args:
        return False
    return here in BROWSER_TESTS_ON or not item.get_closest_marker("browser")
