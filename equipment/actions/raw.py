"""An entry as it is sent, and what makes it readable at all."""

import hashlib
import json
import re
from collections.abc import Mapping
from datetime import UTC, datetime
from functools import cache
from typing import Annotated, Any
from uuid import UUID

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, ValidationError

from equipment.domain import chain
from equipment.domain.verbs import VERBS, Verb

MOST = 500
SAFE_INTEGER = 2**53 - 1
DEEPEST = 10
# NUL, which PostgreSQL does not store, and halves of a letter, which are none in UTF-8.
_BAD_LETTER = re.compile("[\x00\ud800-\udfff]")
Reference = Annotated[str, Field(min_length=1, max_length=300)]


class RawEntry(BaseModel):
    """One entry of `POST /api/entries/`. The subject is `item`, `crew`, `bath` or `lot`, as the verb's family has it;
    `v` is the version of the verb's detail that the page which sends it knows."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: UUID
    v: int = Field(default=1, ge=1, le=1000, strict=True)
    verb: str = Field(max_length=24)
    item: Reference | None = None
    crew: Reference | None = None
    bath: UUID | None = None
    lot: UUID | None = None
    picker: Reference | None = None
    block: Reference | None = None
    act: UUID | None = None
    happened_at: AwareDatetime
    device_seq: int = Field(ge=0, le=SAFE_INTEGER, strict=True)
    queued: bool = False
    note: str = Field(default="", max_length=2000)
    detail: dict[str, Any] = Field(default_factory=dict)


FIELDS = frozenset(RawEntry.model_fields)


class Unreadable(ValueError):
    """The entry is malformed; the message says where."""


def read(raw: Any, *, lenient: bool = False) -> tuple[RawEntry, Verb, dict[str, Any]]:
    """The entry, its verb and its checked detail as plain JSON values, in the words of today. Raises Unreadable.

    `lenient`: words that nobody here knows are passed over, because a fact told by a page of another version is a fact.
    """
    if not isinstance(raw, Mapping):
        raise Unreadable("an entry is an object")
    if where := _unwritable(raw, "entry"):
        raise Unreadable(f"{where} holds characters that cannot be stored")
    try:
        raw = _updated(raw, lenient)
        entry = RawEntry.model_validate(_with_lifted_references(raw))
        verb = VERBS.get(entry.verb)
        if verb is None:
            raise Unreadable(f"there is no verb “{entry.verb}”")
        detail = verb.detail.model_validate(entry.detail)
    except ValidationError as error:
        raise Unreadable(_first(error)) from None
    _check_subject(entry, verb)
    _check_time(entry)
    return entry, verb, detail.model_dump(mode="json", by_alias=True, exclude_unset=True)


def content_digest(raw: Mapping[str, Any]) -> str:
    """Seals the content as sent, so that sending again is told from a reused id.

    Without `note`, whose text must stay erasable, and without `queued`, which says how it was sent, not what.
    """
    content = {key: value for key, value in raw.items() if key not in ("note", "queued")}
    return hashlib.sha256(chain.written(content)).hexdigest()


def as_text(raw: Any) -> str:
    """Any JSON value as ASCII text that every database can store."""
    return json.dumps(raw, ensure_ascii=True, sort_keys=True)


def given(raw: Any, name: str) -> str:
    """A text that an entry has under `name`, however malformed the rest is; "" where it has none. Printable ASCII."""
    text = raw.get(name) if isinstance(raw, Mapping) else None
    shown = text[:64].encode("ascii", "replace").decode() if isinstance(text, str) else ""
    return "".join(letter if letter.isprintable() else "?" for letter in shown)


def act(raw: Any) -> UUID | None:
    """The act that an entry belongs to, however malformed the rest is."""
    try:
        return UUID(given(raw, "act"))
    except ValueError:
        return None


def _updated(raw: Mapping[str, Any], lenient: bool) -> Mapping[str, Any]:
    """The entry with its detail in the words of today; where `lenient` without words that are unknown today."""
    verb = VERBS.get(str(raw.get("verb")))
    detail, version = raw.get("detail", {}), raw.get("v", 1)
    if verb is None or not isinstance(detail, Mapping):
        return raw
    if isinstance(version, int) and version < verb.version:
        try:
            detail = verb.updated(detail, version)
        except (KeyError, TypeError, ValueError, AttributeError):
            raise Unreadable(f"detail is not what version {version} of “{verb.name}” had") from None
    if not lenient:
        return {**raw, "detail": detail}
    known = _words_of(verb.name) | {"picker", "block"}
    own = {name: value for name, value in raw.items() if name in FIELDS}
    return {**own, "detail": {name: value for name, value in detail.items() if name in known}}


@cache
def _words_of(verb: str) -> frozenset[str]:
    """The words that a detail of this verb may have."""
    fields = VERBS[verb].detail.model_fields
    return frozenset({*fields, *(field.alias for field in fields.values() if field.alias)})


def _with_lifted_references(raw: Mapping[str, Any]) -> dict[str, Any]:
    """The references `picker` and `block` may stand in `detail` too; where they stand twice they must agree."""
    lifted = dict(raw)
    detail = lifted.get("detail")
    verb = VERBS.get(str(lifted.get("verb")))
    if verb is None or not isinstance(detail, Mapping):
        return lifted
    detail = dict(detail)
    own = _words_of(verb.name)
    for name in ("picker", "block"):
        if lifted.get(name) is None:
            lifted[name] = detail.get(name)
        if name in own:
            detail.setdefault(name, lifted[name])
        if detail.get(name) == lifted[name] and name not in own:
            detail.pop(name, None)
    # An absent word may be sent as null.
    lifted["detail"] = {name: value for name, value in detail.items() if value is not None or name in own}
    return lifted


def _check_subject(entry: RawEntry, verb: Verb) -> None:
    subjects = [name for name in ("item", "crew", "bath", "lot") if getattr(entry, name) is not None]
    if verb.family == "any":
        if not subjects:
            raise Unreadable("the subject is missing: item, crew, bath or lot")
    elif getattr(entry, verb.family) is None:
        raise Unreadable(f"“{verb.name}” needs {verb.family}")
    else:
        _check_family(entry, verb)
    if entry.lot is not None and entry.bath is not None:
        raise Unreadable("an entry is of a bath or of a lot, not of both")
    if entry.block is not None and "block" in entry.detail and entry.detail["block"] != entry.block:
        raise Unreadable("block says one thing and detail.block another")
    for need in verb.needs:
        if need == "holder" and entry.picker is None and entry.crew is None:
            raise Unreadable(f"“{verb.name}” needs picker or crew")
        if need != "holder" and getattr(entry, need) is None:
            raise Unreadable(f"“{verb.name}” needs {need}")


def _check_family(entry: RawEntry, verb: Verb) -> None:
    if verb.family != "item" and entry.item is not None:
        raise Unreadable(f"“{verb.name}” is said of a {verb.family}, not of an item")
    if verb.family != "lot" and entry.lot is not None:
        raise Unreadable(f"“{verb.name}” is said of a {verb.family}, not of a lot")


def _check_time(entry: RawEntry) -> None:
    try:
        at = entry.happened_at.astimezone(UTC)
    except OverflowError:
        raise Unreadable("happened_at lies outside all calendars") from None
    if not datetime(1970, 1, 1, tzinfo=UTC) <= at < datetime(2200, 1, 1, tzinfo=UTC):
        raise Unreadable("happened_at lies outside the years 1970 to 2199")


def _first(error: ValidationError) -> str:
    """The first complaint, with its place; never the input itself, which may be personal."""
    first = error.errors(include_url=False, include_input=False)[0]
    where = ".".join(str(part) for part in first["loc"])
    return f"{where}: {first['msg']}" if where else str(first["msg"])


def _unwritable(value: Any, where: str, depth: int = 0) -> str:
    """Where in a JSON value a text or number stands that a database or canonical JSON cannot hold; "" if nowhere."""
    if depth > DEEPEST:
        return where
    if isinstance(value, str):
        return where if _BAD_LETTER.search(value) else ""
    if isinstance(value, int) and not isinstance(value, bool):
        return where if abs(value) > SAFE_INTEGER else ""
    if isinstance(value, float):
        return "" if value == value and abs(value) != float("inf") else where
    pairs: Any = (
        value.items() if isinstance(value, Mapping) else enumerate(value) if isinstance(value, list) else ()
    )
    for key, inner in pairs:
        if (isinstance(key, str) and _BAD_LETTER.search(key)) or _unwritable(inner, where, depth + 1):
            return f"{where}.{str(key).encode('ascii', 'replace').decode()[:40]}"
    return ""
