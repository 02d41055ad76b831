"""Gear: each row registers new pieces, but for those whose tag is in the book already."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Annotated, Any, Literal

from django.db.models import Count, F
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from pydantic import Field

from crews.models import Store
from equipment.actions.importing.cells import (
    Amount,
    Day,
    Line,
    MadeCode,
    PlaceCode,
    Words20,
    Words60,
    Words80,
    lowered,
)
from equipment.actions.importing.kinds import ByName, Given, ListKind
from equipment.actions.importing.results import BadCell, Findings, bad
from equipment.actions.register import (
    LADDER,
    MOST_AT_ONCE,
    OF_A_LADDER,
    TRAITS,
    Run,
    free_tags,
    register,
)
from equipment.actions.writing import Pen, new_id
from equipment.domain import codes
from equipment.models import Item, ItemState, Kind

MOST_PIECES = 20_000
LINES_NAMED = 5


class GearLine(Line):
    kind: Words60
    store: PlaceCode
    count: Annotated[int, Field(ge=1, le=MOST_AT_ONCE)] = 1
    make: Words60 = ""
    size: Words20 = ""
    hand: Annotated[Literal["left", "right"], lowered] = ""
    owner: Words80 = ""
    price: Amount | None = None
    supplier: Words80 = ""
    delivery: Words60 = ""
    bought_on: Day | None = None
    material: Annotated[Literal["timber", "aluminium", "fibreglass"], lowered] = ""
    legs: Annotated[int, Field(ge=2, le=4)] | None = None
    length_m: Annotated[Amount, Field(ge=1, le=10)] | None = None
    rating_kg: Annotated[int, Field(ge=1, le=1000)] | None = None
    tag: MadeCode = ""


def compare(given: Given) -> Findings:
    kinds = ByName(Kind.objects.all(), lambda kind: [kind.pk, kind.name, kind.name_plural, str(kind)])
    stores = Store.objects.in_bulk()
    tagged = _tagged([row.tag for _line, row in given.lines if row.tag])
    findings = Findings()
    runs: list[tuple[int, Run]] = []
    for line, row in given.lines:
        kind = kinds.find(row.kind)
        if wrong := list(_wrong(line, row, kind, stores)):
            findings.bad += wrong
        elif kind and (state := tagged.get(row.tag)):
            _known(line, row, kind, state, findings)
        elif kind:
            size = next((s for s in kind.sizes if s.casefold() == row.size.casefold()), row.size)
            traits = {name: getattr(row, name) for name in TRAITS} | {"size": size}
            runs.append((line, Run(kind, row.store, row.count, traits, row.tag)))
    _count(runs, findings)
    findings.act = new_id()
    findings.write = lambda: _register(Pen(given.by, "", given.at), [run for _line, run in runs], findings)
    return findings


def _tagged(tags: Sequence[str]) -> dict[str, ItemState]:
    """The items that these tags, worn now or earlier, find."""
    if not tags:
        return {}
    rows = ItemState.objects.filter(item__labels__code__in=tags).select_related("item__kind").defer("fold")
    return {state.tag_asked: state for state in rows.annotate(tag_asked=F("item__labels__code"))}


def _wrong(line: int, row: GearLine, kind: Kind | None, stores: Mapping[str, Store]) -> Iterable[BadCell]:
    if kind is None:
        known = ", ".join(Kind.objects.values_list("code", flat=True))
        yield bad(
            line, "kind", row.kind, _("There is no such kind. Write one of: %(kinds)s.") % {"kinds": known}
        )
    elif row.hand and not kind.hands:
        yield bad(line, "hand", row.hand, _("%(kind)s have no left and right.") % {"kind": kind.name_plural})
    if kind is not None and kind.pk != LADDER:
        for name in [name for name in OF_A_LADDER if getattr(row, name)]:
            yield bad(line, name, getattr(row, name), _("Only ladders have this. Leave it empty."))
    if row.store not in stores:
        yield bad(line, "store", row.store, _("There is no such store. Import the stores first."))
    if row.tag and row.count != 1:
        yield bad(line, "count", row.count, _("Only one piece can wear this tag. Write 1 or leave it empty."))
    if row.tag and codes.parse(row.tag).prefix in codes.NOT_ON_ITEMS:
        yield bad(
            line,
            "tag",
            row.tag,
            _("This is the code of a card, crew, set or counter, not of a piece of gear."),
        )


def _known(line: int, row: GearLine, kind: Kind, state: ItemState, findings: Findings) -> None:
    """A piece that is in the book stays as it was registered; what the file says otherwise is told."""
    said = {"tag": row.tag, "kind": state.item.kind, "line": line}
    if state.item.kind_id != kind.pk:
        findings.bad.append(bad(line, "tag", row.tag, _("%(tag)s is in the book as: %(kind)s.") % said))
        return
    findings.unchanged += 1
    if state.place == ItemState.Place.GONE:
        findings.warnings.append(_("Line %(line)d: %(tag)s was written off and stays so.") % said)
    if others := [n for n in TRAITS if getattr(row, n) and getattr(row, n) != getattr(state.item, n)]:
        words = _(
            "Line %(line)d: %(tag)s is in the book with another %(columns)s, and stays as it was registered."
        )
        findings.warnings.append(words % {**said, "columns": ", ".join(others)})


def _count(runs: Sequence[tuple[int, Run]], findings: Findings) -> None:
    """Say what the runs add."""
    for line, run in runs:
        findings.new_pieces += run.count
        make = " ".join(str(run.traits[name]) for name in ("make", "size", "hand") if run.traits[name])
        what = run.kind if run.count == 1 else run.kind.name_plural
        findings.added.append(f"{run.count} × {what} {make}".rstrip() + f", {run.store} {run.tag}".rstrip())
        if run.traits["size"] and run.kind.sizes and run.traits["size"] not in run.kind.sizes:
            said = _("Line %(line)d: %(kind)s usually come in the sizes %(sizes)s.")
            sizes = ", ".join(run.kind.sizes)
            findings.warnings.append(said % {"line": line, "kind": run.kind.name_plural, "sizes": sizes})
    if findings.new_pieces > MOST_PIECES:
        reason = _("At most %(most)d pieces go in at once. Split the file.") % {"most": MOST_PIECES}
        findings.bad.append(bad(0, "count", findings.new_pieces, reason))
    findings.warnings += _imported_before(runs)


def _imported_before(runs: Sequence[tuple[int, Run]]) -> Iterator[str]:
    """A word of warning where pieces of the same deliveries are in the book already."""
    untagged = [(line, run) for line, run in runs if not run.tag]
    before = _delivered({run.traits["delivery"] for _line, run in untagged})
    like = {line: _likeness(run.kind.pk, run.traits) for line, run in untagged}
    if lines := [line for line, likeness in like.items() if likeness in before]:
        count = sum(before[likeness] for likeness in set(like.values()) & set(before))
        shown = ", ".join(map(str, lines[:LINES_NAMED])) + (" ..." if len(lines) > LINES_NAMED else "")
        said = _(
            "%(count)d pieces like these, of the same deliveries, are in the book already (lines %(lines)s). Was this "
            "list imported before? Then leave it: it would register them once more."
        )
        yield said % {"count": count, "lines": shown}


def _likeness(kind: str, traits: Mapping[str, Any]) -> tuple[Any, ...]:
    return (kind, *(traits[name] for name in ("make", "size", "hand", "supplier", "delivery")))


def _delivered(deliveries: Iterable[str]) -> dict[tuple[Any, ...], int]:
    """How many pieces of these deliveries the book knows, by what they have in common."""
    rows = Item.objects.filter(delivery__in=[name for name in deliveries if name])
    counted = rows.values("kind", "make", "size", "hand", "supplier", "delivery").annotate(count=Count("id"))
    return {_likeness(row["kind"], row): row["count"] for row in counted}


def _register(pen: Pen, runs: Sequence[Run], findings: Findings) -> None:
    """One act for the whole file; its numbers are taken once a kind, however many rows it has."""
    given = {run.tag for run in runs if run.tag}
    wanted: dict[Kind, int] = defaultdict(int)
    for run in runs:
        wanted[run.kind] += 0 if run.tag else run.count
    free = {kind: _free(kind, count, given) for kind, count in wanted.items()}
    pieces = [
        replace(run, count=1, tag=run.tag or next(free[run.kind]))
        for run in runs
        for _piece in range(run.count)
    ]
    register(pen, pieces, findings.act)


def _free(kind: Kind, count: int, given: set[str]) -> Iterator[str]:
    """The next free tags of the kind, but for those that the file itself gives away."""
    while count > 0:
        tags = [tag for tag in free_tags(kind, count) if tag not in given]
        count -= len(tags)
        yield from tags


KIND = ListKind(
    name="gear",
    words=gettext_lazy("Gear"),
    about=gettext_lazy(
        "One row for pieces that are alike, with their count; each becomes a piece with a number of its own. A row "
        "with a tag is one piece that wears a label already. Rows without tags are new pieces each time."
    ),
    line=GearLine,
    key=("tag",),
    compare=compare,
    sample={
        "kind": "bag",
        "store": "HOME",
        "count": "84",
        "make": "Draagsel",
        "owner": "Quillberg",
        "price": "385.00",
    },
)
