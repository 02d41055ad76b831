"""Every address of Shedbook, from its URL configuration, and real ones for those that name something."""

from collections.abc import Iterator
from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver, reverse

# Something that fits in each kind of place, where it does not matter what is named.
FITS = {
    "string": "BG0001A",
    "int": 1,
    "uuid": "01890000-0000-7000-8000-000000000001",
    "slug": "x",
    "path": "x",
}


def patterns(of: Any = None, prefix: str = "") -> Iterator[tuple[str, URLPattern]]:
    """Every URL there is, by its name with the namespace; "" for one without a name."""
    for pattern in of or get_resolver().url_patterns:
        if isinstance(pattern, URLResolver):
            space = f"{prefix}{pattern.namespace}:" if pattern.namespace else prefix
            yield from patterns(pattern.url_patterns, space)
        else:
            yield (prefix + pattern.name if pattern.name else ""), pattern


ALL = dict(patterns())


def places(name: str) -> dict[str, str]:
    """The places of that address, each with its kind (string, int, uuid, slug, path)."""
    converters = ALL[name].pattern.converters
    return {key: type(each).__name__.removesuffix("Converter").lower() for key, each in converters.items()}


def address(name: str, /, **named: Any) -> str:
    """The URL of that name; what is not `named` is something that fits."""
    kinds = places(name)
    return reverse(name, kwargs={key: named.get(key, FITS[kind]) for key, kind in kinds.items()})
