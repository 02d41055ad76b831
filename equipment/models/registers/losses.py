"""What was missed or written off: the circumstance, who had it last, what they say, its price. No proof of a debt."""

from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from equipment.domain.verbs.written_off import CIRCUMSTANCES
from equipment.domain.words import gettext_noop
from equipment.models.book import Entry
from equipment.models.registers._endings import TOLD_BY, Loss, losses
from equipment.models.registers._lives import lives
from equipment.models.registers._phrases import phrase, word
from equipment.models.registers.base import Asked, Cell, Column, Heads, Line, Named, Register, Tally
from equipment.models.registers.reading import in_period, standing, where

MISSING = gettext_noop("missing")
STILL = gettext_noop("still missing")
FOUND = gettext_noop("found again")
GONE = gettext_noop("written off since")
GIVEN_BACK = gettext_noop("given back since")
CASE = gettext_noop("case %(case)s")


def lines(asked: Asked, heads: Heads) -> Iterator[Line]:
    rows = in_period(asked, heads, "store", "kind", "tag").select_related("item")
    for some in standing(rows, ["missed", "written_off"], heads):
        told: dict[Any, Loss] = {}
        for _item, life in lives({entry.item_id for entry in some}, heads, TOLD_BY):
            told |= losses(life)
        for entry in some:
            loss = told[entry.pk]
            # A line that names no crew is of the crew of whoever had it last.
            if not asked.crew or asked.crew == loss.crew:
                yield Line(entry.pk, entry.happened_at, where(entry), _cells(entry, loss))


def _cells(entry: Entry, loss: Loss) -> tuple[Cell, ...]:
    assert entry.item is not None  # noqa: S101 the verb's family says so
    return (
        (entry.happened_at, Named("user", entry.by_id)),
        (Named("kind", entry.item.kind_id), Named("tag", str(entry.item_id))),
        _circumstance(entry),
        _had(loss),
        Named("note", str(entry.pk), entry.note_digest) if entry.note_digest else None,
        tuple(
            cell
            for each in loss.heard
            for cell in (each.happened_at, Named("picker", each.picker or 0), each.note)
        ),
        _became(loss),
        entry.item.price,
    )


def _circumstance(entry: Entry) -> Cell:
    code = entry.detail.get("circumstance", "")
    said = word(CIRCUMSTANCES[code] if code else MISSING)
    case = entry.detail.get("case", "")
    return (said, phrase(CASE, case=case)) if case else (said,)


def _had(loss: Loss) -> Cell:
    if loss.had is None:
        return None
    holder = Named("picker", loss.had.picker or 0), Named("crew", loss.had.crew or "")
    since = (*holder, loss.had.happened_at)
    return (*since, word(GIVEN_BACK), loss.back.happened_at) if loss.back else since


def _became(loss: Loss) -> Cell:
    if loss.found:
        return word(FOUND), loss.found.happened_at
    if loss.gone:
        return word(GONE), loss.gone.happened_at
    return word(STILL) if loss.entry.verb == "missed" else None


class Losses(Tally):
    """What the pieces cost, by circumstance; what was found again, or written off since, is not counted as missing."""

    def __init__(self) -> None:
        super().__init__()
        self.pieces: Counter[str] = Counter()
        self.value: dict[str, Decimal] = {}
        self.unpriced = self.settled = 0

    def add(self, line: Line) -> None:
        super().add(line)
        circumstance, became, price = line.cells[2], line.cells[6], line.cells[7]
        if became not in (None, word(STILL)):
            self.settled += 1
            return
        what = str(circumstance[0].key)  # type: ignore[index,union-attr]
        self.pieces[what] += 1
        self.unpriced += price is None
        self.value[what] = self.value.get(what, Decimal()) + (price or Decimal())  # type: ignore[operator]

    def said(self) -> list[tuple[str, dict[str, Any]]]:
        template = gettext_noop("%(what)s: %(pieces)s. Prices together: %(value)s.")
        settled = gettext_noop("Found again, or written off since, and in no sum below: %(settled)s.")
        sums: list[tuple[str, dict[str, Any]]] = (
            [(settled, {"settled": self.settled})] if self.settled else []
        )
        sums += [
            (template, {"what": word(what), "pieces": self.pieces[what], "value": value})
            for what, value in sorted(self.value.items())
        ]
        lacking = gettext_noop("No price is known of %(unpriced)s of them.")
        return [*sums, (lacking, {"unpriced": self.unpriced})] if self.unpriced else sums


REGISTER = Register(
    name="losses",
    title=gettext_noop("Missing and written off: not proof of a debt"),
    about=gettext_noop(
        "What was missed or written off, who had it last, what they say, and what it had cost."
    ),
    columns=(
        Column("at", gettext_noop("When, by whom"), 1.4),
        Column("item", gettext_noop("Piece"), 1.1),
        Column("circumstance", gettext_noop("Circumstance"), 1.2),
        Column("had", gettext_noop("Who had it last"), 1.6),
        Column("note", gettext_noop("What happened"), 1.8),
        Column("side", gettext_noop("The picker's side"), 2),
        Column("became", gettext_noop("What became of it"), 1.2),
        Column("price", gettext_noop("Price"), 0.9, "right"),
    ),
    lines=lines,
    filters=frozenset({"store", "crew", "kind", "tag"}),
    notes=(
        gettext_noop(
            "Not proof of a debt. Nothing in this list is taken from anybody's wages on its account."
        ),
        gettext_noop(
            "In some countries the law forbids charging workers for safety gear, or for gear that wore out at work. "
            "Local law rules."
        ),
        gettext_noop("The price is what the piece was bought for, not what it was worth when it was lost."),
    ),
    signatures=(gettext_noop("Storeman"), gettext_noop("Manager")),
    tally=Losses,
)
