"""`dataclasses.replace` for the values of the book at less than half its price: a fold makes millions of states."""

from collections.abc import Callable, Mapping
from dataclasses import fields
from functools import cache
from operator import attrgetter
from typing import Any, TypeVar

T = TypeVar("T")
Put = Callable[[Any, Any], None]


def replace(value: T, **changes: Any) -> T:
    """A new `value` with these fields changed. For frozen dataclasses with slots and at least two fields, all of them
    given to `__init__` and none looked at after it; TypeError for a field that there is not."""
    kind: Any = type(value)
    read, every, named = _shape(kind)
    made: T = object.__new__(kind)
    for put, each in zip(every, read(value), strict=True):
        put(made, each)
    for name, each in changes.items():
        if name not in named:
            raise TypeError(f"{kind.__name__} has no field {name}")
        named[name](made, each)
    return made


@cache
def _shape(kind: type[Any]) -> tuple[Callable[[Any], tuple[Any, ...]], tuple[Put, ...], Mapping[str, Put]]:
    """What reads all fields of such a value, and what writes each: the slots themselves, which a frozen class leaves
    open to who goes past its `__setattr__`, as its own `__init__` does."""
    names = [each.name for each in fields(kind) if each.init]
    if len(names) < 2 or hasattr(kind, "__post_init__") or len(names) != len(fields(kind)):
        raise TypeError(f"{kind.__name__} is not a plain value")
    named = {name: getattr(kind, name).__set__ for name in names}
    return attrgetter(*names), tuple(named.values()), named
