"""The catalogue's words that a person reads: what they are called, what to look for, what to beware of.

Where numbers come from (`source`) stays as it is written: titles of works, in the languages they were published in.
"""

from collections.abc import Iterator
from dataclasses import fields, is_dataclass

from pydantic import BaseModel

from equipment import catalogue
from equipment.catalogue.shapes import Work

READ = frozenset(
    "name name_plural unit look_for mend never ask choices measured_as before after cautions why what note cause text "
    "never_sampled".split()
)
# Minutes of work have no words.
SILENT = Work


def trade_words() -> Iterator[str]:
    """In the order of the files; a word may come more than once."""
    return _of(catalogue.load())


def _of(value: object, read: bool = False) -> Iterator[str]:
    if isinstance(value, str):
        if read and any(letter.isalpha() for letter in value):
            yield value
    elif isinstance(value, tuple):
        for each in value:
            yield from _of(each, read)
    elif (isinstance(value, BaseModel) or is_dataclass(value)) and not isinstance(value, SILENT):
        names = (
            type(value).model_fields
            if isinstance(value, BaseModel)
            else [each.name for each in fields(value)]
        )
        for name in names:
            yield from _of(getattr(value, name), name in READ)
