"""What a copy of the book says of itself: how far each store's book goes, how much there is, and what made it."""

import json
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, field
from importlib.metadata import PackageNotFoundError, version
from typing import Any

Ask = Callable[[str], list[Any]]
"""Asks one database and gives its rows; the same SQL on both."""

FORMAT = 1
COUNTED = {
    "entries": "equipment_entry",
    "items": "equipment_item",
    "pickers": "crews_picker",
    "photos": "equipment_photo",
}


@dataclass(frozen=True, slots=True)
class Facts:
    """`heads` are store -> (position, digest); `counts` rows by name; `migrations` what was applied, "app.name"."""

    heads: Mapping[str, tuple[int, str]]
    counts: Mapping[str, int]
    migrations: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Member:
    """A file of the archive: its size in bytes and its SHA-256 in hexadecimal."""

    size: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Manifest:
    """The first file of an archive. `database` is sqlite or postgresql; `made_at` is ISO 8601, UTC; `own_key`: the
    secret key came from the environment, and is not in the archive."""

    made_at: str
    database: str
    facts: Facts
    members: Mapping[str, Member]
    own_key: bool = False
    shedbook: str = field(default_factory=lambda: own_version())
    format: int = FORMAT

    def as_json(self) -> bytes:
        return json.dumps(asdict(self), indent=1, sort_keys=True).encode() + b"\n"

    @classmethod
    def read(cls, plain: Any) -> "Manifest":
        """From what its JSON says. Raises ValueError, LookupError, TypeError or AttributeError for what is none."""
        plain = dict(plain)
        facts = plain.pop("facts")
        heads = {str(store): (int(place), str(digest)) for store, (place, digest) in facts["heads"].items()}
        members = {str(name): Member(**member) for name, member in plain.pop("members").items()}
        known = Facts(heads, dict(facts["counts"]), tuple(facts["migrations"]))
        return cls(facts=known, members=members, **plain)


def facts(ask: Ask) -> Facts:
    """Of the database that `ask` asks; all of one moment where that is a copy, or one snapshot."""
    heads = ask("SELECT store_id, position, digest FROM equipment_chainhead ORDER BY store_id")
    applied = ask("SELECT app, name FROM django_migrations ORDER BY app, name")
    return Facts(
        heads={store: (position, digest) for store, position, digest in heads},
        counts={name: ask(f"SELECT COUNT(*) FROM {table}")[0][0] for name, table in COUNTED.items()},  # noqa: S608
        migrations=tuple(f"{app}.{name}" for app, name in applied),
    )


def own_version() -> str:
    try:
        return version("shedbook")
    except PackageNotFoundError:
        return ""
