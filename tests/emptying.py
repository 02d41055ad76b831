"""Emptying the database after a transactional test, although the book's triggers refuse it.

The triggers are taken away for that moment only, and stand again before the next test.
"""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.db import connections
from django.test import TransactionTestCase


@pytest.fixture(scope="session", autouse=True)
def _emptying_without_triggers() -> Iterator[None]:
    patch = pytest.MonkeyPatch()
    patch.setattr(
        TransactionTestCase, "_fixture_teardown", without_triggers(TransactionTestCase._fixture_teardown)
    )
    yield
    patch.undo()


def without_triggers(teardown: Callable[..., None]) -> Callable[..., None]:
    def emptied(self: TransactionTestCase, *args: Any, **kwargs: Any) -> None:
        from equipment.models import triggers

        used = [connections[name] for name in self._databases_names(include_mirrors=False)]
        for connection in used:
            triggers.drop(connection)
        try:
            teardown(self, *args, **kwargs)
        finally:
            for connection in used:
                triggers.install(connection)

    return emptied
