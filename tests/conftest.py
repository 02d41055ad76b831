"""Shared by every test: the rules of the run, and a database that may be emptied between tests."""

import os
from pathlib import Path

import pytest
from django.utils import translation
from hypothesis import Phase
from hypothesis import settings as hypothesis_settings

# The browser's driver keeps an event loop in the thread that the tests run in.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"

pytest_plugins = [
    "tests.browsing",
    "tests.counter",
    "tests.emptying",
    "tests.farm",
    "tests.no_skipping",
    "tests.orchard",
    "tests.restarting",
    "tests.showing",
    "tests.phone",
]

# What no database has a part in is tested on this one alone: tests that ask for none (they cannot reach one), and
# browser tests but those marked `every_database`.
FIRST = "sqlite"
DATABASE_FIXTURES = {"db", "transactional_db", "django_db_setup", "live_server"}

# Two processes share two cores: one slow example says nothing. To explain an example takes minutes where a database is
# asked; the shortest one says enough.
PHASES = [phase for phase in Phase if phase is not Phase.explain]
hypothesis_settings.register_profile("shedbook", deadline=None, print_blob=True, phases=PHASES)
hypothesis_settings.load_profile("shedbook")


@pytest.fixture(autouse=True)
def nobodys_language() -> None:
    """A request leaves the language of whoever made it to its thread, which here is that of every test."""
    translation.deactivate()


def database() -> str:
    from django.db import connection

    return connection.vendor


def pytest_ignore_collect(collection_path: Path) -> bool | None:
    """The pure core's tests, which ask for no database by rule: there is nothing to choose among them."""
    return True if collection_path.name == "domain" and database() != FIRST else None


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
    if only_on := item.get_closest_marker("only_on"):
        return here in only_on.args
    if item.get_closest_marker("browser"):
        return here == FIRST or item.get_closest_marker("every_database") is not None
    return here == FIRST or uses_a_database(item)


def uses_a_database(item: pytest.Item) -> bool:
    asked = DATABASE_FIXTURES & set(getattr(item, "fixturenames", ()))
    return bool(asked) or item.get_closest_marker("django_db") is not None
