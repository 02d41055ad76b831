"""Where a text stands in the database of a test."""

from django.db import connection


def stored(text: str) -> list[str]:
    """The tables and columns that a text stands in, whatever they are, whatever the case of its letters."""
    found = []
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            for column in connection.introspection.get_table_description(cursor, table):
                name = connection.ops.quote_name(column.name)
                cursor.execute(
                    f"SELECT COUNT(*) FROM {connection.ops.quote_name(table)}"
                    f" WHERE LOWER(CAST({name} AS TEXT)) LIKE %s",
                    [f"%{text.lower()}%"],
                )
                if cursor.fetchone()[0]:
                    found.append(f"{table}.{column.name}")
    return found
