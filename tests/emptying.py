"""Emptying the database after a transactional test, although the book's triggers refuse it.

The triggers are taken away for that moment only, and stand again before the next test. What migrate made for good
stays, and rows are deleted, not tables truncated: Django's own `flush` is many times slower, most of all on PostgreSQL.
"""

from collections.abc import Iterator

import pytest
from django.db import connections, transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.test import TransactionTestCase

KEPT = {"django_migrations", "django_content_type", "auth_permission"}


@pytest.fixture(scope="session", autouse=True)
def _emptying_without_triggers() -> Iterator[None]:
    patch = pytest.MonkeyPatch()
    patch.setattr(TransactionTestCase, "_fixture_teardown", emptied)
    yield
    patch.undo()


def emptied(self: TransactionTestCase) -> None:
    for name in self._databases_names(include_mirrors=False):
        empty(connections[name])


def empty(connection: BaseDatabaseWrapper) -> None:
    """Back to what every farm has from the first migrate."""
    from crews import founding
    from equipment.models import rules, triggers

    tables = set(connection.introspection.django_table_names()) - KEPT
    triggers.drop(connection)
    try:
        with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
            for table in sorted(tables):
                cursor.execute(f"DELETE FROM {connection.ops.quote_name(table)}")
        founding.found(using=connection.alias)
    finally:
        rules.forget()
        triggers.install(connection)
