"""A stocktake as it stands: every piece that has a part in it, in six queries however many they are."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass, field, replace
from datetime import datetime
from functools import cached_property
from typing import Any
from uuid import UUID

from equipment.domain.stocktake import LYING, OPEN, SURPRISES, Piece, standing
from equipment.models.book import Entry
from equipment.models.states import ItemState
from equipment.models.stocktakes import ExpectedPiece, Stocktake, UnknownTag

# The lines by which a surprise is settled; the others of the act are scans, labels and new pieces.
SETTLING = ("missed", "handed_out", "written_off", "moved", "returned", "found", "settled")
STATE = ("item", "tag", "item__kind", "place", "store", "picker", "crew", "since")


@dataclass(frozen=True, slots=True)
class Scanned:
    """A line of the stocktake that still counts."""

    entry: UUID
    verb: str
    by: int
    at: datetime
    told_at: datetime
    detail: Mapping[str, Any]

    @property
    def said(self) -> str:
        """What a settlement is called, see `domain.stocktake.SETTLED`."""
        return str(self.detail["choice"]) if self.verb == "settled" else self.verb


@dataclass(frozen=True, slots=True)
class Line:
    """A piece at the stocktake. `then` is where it lay when that began, "" for one that was not expected."""

    item: UUID
    tag: str
    kind: str
    then: str
    place: str
    store: str | None
    picker: int | None
    crew: str | None
    since: datetime | None
    standing: str = ""
    seen: Scanned | None = None
    settled: Scanned | None = None
    times: int = 0

    @property
    def expected(self) -> bool:
        return bool(self.then)

    @property
    def surprise(self) -> bool:
        return self.standing in SURPRISES


@dataclass
class Count:
    """The stocktake's pieces by item, and the tags that nobody knows."""

    stocktake: Stocktake
    lines: dict[UUID, Line]
    unknown: list[UnknownTag] = field(default_factory=list)

    def having(self, *standings: str) -> list[Line]:
        return [line for line in self.lines.values() if line.standing in standings]

    @cached_property
    def sums(self) -> Counter[str]:
        """How many of each standing; `expected`, `seen_of_them` and `unknown` (still open) beside them."""
        sums = Counter(line.standing for line in self.lines.values())
        sums["expected"] = sum(line.expected for line in self.lines.values())
        sums["unknown"] = sum(not each.choice for each in self.unknown)
        sums["surprises"] = sum(sums[name] for name in SURPRISES) + sums["unknown"]
        sums["open"] = sum(sums[name] for name in OPEN) + sums["unknown"]
        return sums


def count(stocktake: Stocktake, only: Iterable[UUID] | None = None) -> Count:
    """`only`: of these items alone, without the unknown tags."""
    wanted = None if only is None else set(only)
    if stocktake.ended_at is not None and wanted is None:
        return _kept(stocktake)
    scans, settlements, times = _told(stocktake, wanted)
    lines = {}
    for line in _pieces(stocktake, wanted, {*scans, *settlements}):
        seen, settled = scans.get(line.item), settlements.get(line.item)
        line = replace(line, seen=seen, settled=settled, times=times[line.item])
        line = replace(line, standing=standing(_piece(stocktake, line)))
        if line.standing != "aside":
            lines[line.item] = line
    unknown = [] if wanted is not None else list(stocktake.unknown.select_related("by", "settled_by"))
    return Count(stocktake, lines, unknown)


def _piece(stocktake: Stocktake, line: Line) -> Piece:
    here = line.place in LYING and line.store == stocktake.store_id
    seen, settled = line.seen, line.settled
    return Piece(
        line.expected,
        here,
        line.place,
        line.since,
        seen.at if seen else None,
        settled.at if settled else None,
        told_late=bool(seen and settled and seen.told_at > settled.told_at),
    )


def _told(
    stocktake: Stocktake, only: set[UUID] | None
) -> tuple[dict[UUID, Scanned], dict[UUID, Scanned], Counter[UUID]]:
    """The last scan and the last settlement of each item, and how often it was scanned; without what was taken back."""
    rows = Entry.objects.filter(act=stocktake.pk, item__isnull=False)
    struck = Entry.objects.filter(verb="reversed", happened_at__gte=stocktake.begun_at)
    if only is not None:
        rows, struck = rows.filter(item__in=only), struck.filter(item__in=only)
    undone = {UUID(detail["entry"]) for detail in struck.values_list("detail", flat=True)}
    scans: dict[UUID, Scanned] = {}
    settlements: dict[UUID, Scanned] = {}
    times: Counter[UUID] = Counter()
    columns = ("item", "id", "verb", "by", "happened_at", "recorded_at", "detail")
    for item, *told in rows.order_by("happened_at", "id").values_list(*columns):
        line = Scanned(*told)
        if line.entry in undone:
            continue
        if line.verb == "seen":
            scans[item] = line
            times[item] += 1
        elif line.verb in SETTLING:
            settlements[item] = line
    return scans, settlements, times


def _pieces(stocktake: Stocktake, only: set[UUID] | None, told: Iterable[UUID]) -> Iterator[Line]:
    """Those that were expected, and those that something was told of."""
    expected = ExpectedPiece.objects.filter(stocktake=stocktake)
    expected = expected if only is None else expected.filter(item__in=only)
    columns = [name if name.startswith("item") else f"item__state__{name}" for name in STATE]
    known = set()
    for then, *state in expected.order_by("item__state__tag").values_list("place", *columns):
        yield _line(then, state)
        known.add(state[0])
    if others := set(told) - known:
        for state in ItemState.objects.filter(item__in=others).order_by("tag").values_list(*STATE):
            yield _line("", state)


def _line(then: str, state: Iterable[Any]) -> Line:
    item, tag, kind, place, store, picker, crew, since = state
    return Line(item, tag, kind, then, place, store, picker, crew, since)


def kept(count: Count) -> dict[str, Any]:
    """The stocktake as plain values, to be kept when it ends."""
    return {
        "lines": [_plain(asdict(line)) for line in count.lines.values()],
        "unknown": [str(each.pk) for each in count.unknown],
    }


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {name: _plain(each) for name, each in value.items()}
    if isinstance(value, datetime):
        return value.isoformat()
    return str(value) if isinstance(value, UUID) else value


def _kept(stocktake: Stocktake) -> Count:
    lines = [_line_of(plain) for plain in stocktake.result["lines"]]
    unknown = stocktake.unknown.filter(pk__in=stocktake.result["unknown"]).select_related("by", "settled_by")
    return Count(stocktake, {line.item: line for line in lines}, list(unknown))


def _line_of(plain: Mapping[str, Any]) -> Line:
    since = datetime.fromisoformat(plain["since"]) if plain["since"] else None
    told = {name: _scanned_of(plain[name]) for name in ("seen", "settled")}
    return Line(**{**plain, "item": UUID(plain["item"]), "since": since, **told})


def _scanned_of(plain: Mapping[str, Any] | None) -> Scanned | None:
    if plain is None:
        return None
    times = {name: datetime.fromisoformat(plain[name]) for name in ("at", "told_at")}
    return Scanned(**{**plain, **times, "entry": UUID(plain["entry"])})
