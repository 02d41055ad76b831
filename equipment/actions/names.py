"""Names of what the catalogue knows, in the reader's language; the code itself where it is not known (any more)."""

from collections.abc import Mapping
from functools import cache

from django.utils.translation import gettext as _

from equipment import catalogue


def fault(code: str) -> str:
    return _name("fault", code)


def checklist(code: str) -> str:
    return _name("checklist", code)


def recipe(code: str) -> str:
    return _name("recipe", code)


def agent(code: str) -> str:
    return _name("agent", code)


def disease(code: str) -> str:
    return _name("disease", code)


def point(checklist_code: str, code: str) -> str:
    """What a point of a checklist asks."""
    return _(_points().get((checklist_code, code), code))


@cache
def _points() -> Mapping[tuple[str, str], str]:
    return {(each.code, point.code): point.ask for each in catalogue.load().checklist for point in each.point}


def _name(table: str, code: str) -> str:
    return _(_names(table).get(code, code)) if code else ""


@cache
def _names(table: str) -> Mapping[str, str]:
    return {row.code: row.name for row in getattr(catalogue.load(), table)}
