"""The trade knowledge as data: kinds, kit rules, faults, checklists, cleaning, agents, diseases, cautions, goods, work,
foresight.

The TOML files beside this one are read, checked and given back as frozen values. They are defaults:
`load_catalogue` puts them in the database, where a farm sets its own.
"""

import tomllib
from collections.abc import Iterator
from functools import cache
from importlib.resources import files
from typing import Any

from pydantic import ValidationError

from equipment.catalogue.whole import Catalogue

__all__ = ["Catalogue", "CatalogueError", "load", "parse"]

TABLES = {
    "kinds": ("kind",),
    "kit": ("rule",),
    "faults": ("fault",),
    "checklists": ("checklist", "contents"),
    "cleaning": ("cleaning",),
    "agents": ("agent", "recipe"),
    "diseases": ("disease",),
    "cautions": ("caution",),
    "goods": ("goods",),
    "work": ("work",),
    "foresight": ("foresight",),
}
"""The files, and the tables that each may hold."""


class CatalogueError(ValueError):
    """The catalogue is not whole; the message names table, place and reason, one a line."""


@cache
def load() -> Catalogue:
    """The catalogue that comes with the program, read once. Raises CatalogueError."""
    folder = files(__name__)
    return parse({name: folder.joinpath(f"{name}.toml").read_text("utf-8") for name in TABLES})


def parse(texts: dict[str, str]) -> Catalogue:
    """The catalogue in `texts`, TOML by file name without its ending. Raises CatalogueError."""
    tables: dict[str, Any] = {}
    for name, text in texts.items():
        try:
            read = tomllib.loads(text)
        except tomllib.TOMLDecodeError as error:
            raise CatalogueError(f"{name}.toml: {error}") from error
        if stray := sorted(set(read) - set(TABLES[name])):
            raise CatalogueError(f"{name}.toml: no table {', '.join(stray)} belongs here")
        tables |= read
    try:
        return Catalogue.model_validate(tables)
    except ValidationError as error:
        raise CatalogueError("\n".join(_plain(error, tables))) from error


def _plain(error: ValidationError, tables: dict[str, Any]) -> Iterator[str]:
    """Each fault of the data as "table code, field: reason"."""
    for fault in error.errors(include_url=False):
        place = ", ".join(_place(fault["loc"], tables))
        reason = fault["msg"].removeprefix("Value error, ")
        yield f"{place}: {reason}" if place else reason


def _place(loc: tuple[int | str, ...], tables: dict[str, Any]) -> Iterator[str]:
    if len(loc) < 2 or not isinstance(loc[1], int):
        yield from map(str, loc)
        return
    row = tables[str(loc[0])][loc[1]]
    yield f"{loc[0]} {row.get('code', loc[1] + 1)}"
    yield from map(str, loc[2:])
