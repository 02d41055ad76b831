"""Rows straight to the database: where hundreds are written at once, the ORM takes longer over them than all else."""

from collections.abc import Mapping, Sequence
from itertools import chain
from typing import Any

from django.db import DEFAULT_DB_ALIAS, connections, models

# Of all others both databases take the value as it is.
_PREPARED = frozenset({"UUIDField", "DateTimeField", "DateField", "JSONField"})
# From so many on PostgreSQL copies them in quicker than it inserts them.
_MANY = 20


def insert(model: type[models.Model], rows: Sequence[Mapping[str, Any]], *, replacing: str = "") -> None:
    """Insert rows, each a value for every one of the same fields by its name or that of its column; where one of the
    same `replacing` (a field) stands there already, it gets these values. All of them or none."""
    if not rows:
        return
    fields = [model._meta.get_field(name) for name in rows[0]]
    columns = [field.column for field in fields]
    database = connections[DEFAULT_DB_ALIAS]
    by_column = [
        _prepared(field, [row[name] for row in rows], database)
        for name, field in zip(rows[0], fields, strict=True)
    ]
    prepared = list(zip(*by_column, strict=True))
    into = f"{model._meta.db_table} ({', '.join(columns)})"
    instead = _instead(model._meta.get_field(replacing).column, columns) if replacing else ""
    places = f"({', '.join(['%s'] * len(columns))})"
    with database.cursor() as cursor:
        if database.vendor == "postgresql" and len(rows) >= _MANY and not instead:
            with database.wrap_database_errors, cursor.cursor.copy(f"COPY {into} FROM STDIN") as copying:
                for row in prepared:
                    copying.write_row(row)
        elif database.vendor == "postgresql":
            every = ", ".join([places] * len(rows))
            values = list(chain.from_iterable(prepared))
            cursor.execute(f"INSERT INTO {into} VALUES {every} {instead}", values)  # noqa: S608
        else:
            cursor.executemany(f"INSERT INTO {into} VALUES {places} {instead}", prepared)  # noqa: S608


def _instead(key: str, columns: Sequence[str]) -> str:
    changes = ", ".join(f"{column} = excluded.{column}" for column in columns if column != key)
    return f"ON CONFLICT ({key}) DO UPDATE SET {changes}"


def _prepared(field: Any, values: list[Any], database: Any) -> list[Any]:
    """As the database takes them; of rows written together many have the same."""
    kind = (field.target_field if field.is_relation else field).get_internal_type()
    if kind == "JSONField":
        return [database.ops.adapt_json_value(value, field.encoder) for value in values]
    if kind not in _PREPARED:
        return values
    known = {value: field.get_db_prep_save(value, database) for value in set(values) - {None}}
    return [known.get(value) for value in values]
