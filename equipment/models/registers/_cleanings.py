"""What the sanitation register says of each sort of line: a bath mixed, tested, emptied; pieces cleaned."""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from functools import cache
from typing import Any

from equipment.domain import bath as baths
from equipment.domain.sealing import PPM_IN_ONE_PER_CENT
from equipment.domain.values import BathState, StrengthTest
from equipment.domain.verbs.cleaned import CLEANINGS
from equipment.domain.verbs.emptied import PLACES
from equipment.domain.words import gettext_noop
from equipment.models import rules
from equipment.models.book import Entry
from equipment.models.registers._dips import WORDS, Bath
from equipment.models.registers._lateness import recorded
from equipment.models.registers._phrases import number, phrase, word
from equipment.models.registers.base import Beside, Cell, Named

MIXED, TESTED, EMPTIED = (
    gettext_noop("Bath mixed"),
    gettext_noop("Strength test"),
    gettext_noop("Bath emptied"),
)
EACH, WHOLE_CREW = gettext_noop("each scanned"), gettext_noop("whole crew")
COUNTS, COUNTS_NOT = gettext_noop("counts"), gettext_noop("does not count")
IN_ORDER, FAILED = gettext_noop("in order"), gettext_noop("failed")
NO_LIMITS = gettext_noop("no limits set")
PPM = gettext_noop("%(ppm)s ppm")
UNKNOWN = Bath(BathState(), "", {})


def of_bath(row: Entry, bath: Bath) -> tuple[Cell, ...]:
    what, product, figures, result = {"mixed": _mixed, "tested": _tested, "emptied": _emptied}[row.verb](
        row, bath.state
    )
    return (
        row.happened_at,
        word(what),
        bath.mixed or None,
        None,
        None,
        product,
        figures,
        (Named("user", row.by_id),),
        recorded(row),
        with_note(row, *result),
    )


def of_pieces(rows: Sequence[Entry], bath: Bath | None, why: str) -> tuple[Cell, ...]:
    """One piece, or those that were done together and of which the same is to be said."""
    row, detail = rows[0], rows[0].detail
    pieces = sorted(str(each.item_id) for each in rows)
    assert row.item is not None  # noqa: S101 the verb's family says so
    verdict = (word(COUNTS_NOT), word(WORDS[why])) if why else (word(COUNTS),)
    return (
        row.happened_at,
        (word(CLEANINGS[detail["method"]]), word(EACH if detail.get("each_scanned", True) else WHOLE_CREW)),
        bath.mixed if bath else None,
        Beside((Named("kind", row.item.kind_id), Named("tags", " ".join(pieces)))),
        len(pieces),
        _recipe(detail.get("recipe", "")),
        _acted(detail, bath is not None),
        (Named("user", row.by_id), Named("crew", row.crew_id or "")),
        recorded(row),
        with_note(row, *verdict),
    )


def with_note(row: Entry, *cells: Cell) -> Cell:
    return (*cells, Named("note", str(row.pk), row.note_digest)) if row.note_digest else cells


def _recipe(code: str) -> tuple[Cell, ...]:
    return (Named("recipe", code),) if code else ()


def _mixed(row: Entry, state: BathState) -> tuple[str, Cell, Cell, tuple[Cell, ...]]:
    detail = row.detail
    product: tuple[Cell, ...] = (*_recipe(detail["recipe"]), Named("agent", detail.get("agent", "")))
    if detail.get("product_lot"):
        product += (phrase(gettext_noop("lot %(lot)s"), lot=detail["product_lot"]),)
    if detail.get("product_expires"):
        product += (
            phrase(
                gettext_noop("good until %(day)s"), day=date.fromisoformat(str(detail["product_expires"]))
            ),
        )
    figures = _amounts(detail)
    for template, name in ((PPM, "ppm"), (gettext_noop("pH %(ph)s"), "ph")):
        if detail.get(name) is not None:
            figures += (phrase(template, **{name: number(detail[name])}),)
    flaws = tuple(word(baths.WORDS[flaw]) for flaw in detail.get("flaws", ()))
    return MIXED, product, figures, flaws or (word(IN_ORDER),)


def _amounts(detail: Mapping[str, Any]) -> tuple[Cell, ...]:
    """How much bath, of how much product; of a liquid also how much water, as far as volumes add up."""
    litres, amount = Decimal(str(detail["litres"])), Decimal(str(detail["product_ml"]))
    powder = detail.get("agent") in _powders()
    product: dict[str, Any] = {"amount": number(amount), "pct": number(detail.get("strength_pct") or "")}
    cells = (
        phrase(gettext_noop("%(litres)s L of bath"), litres=number(litres)),
        phrase((BY_WEIGHT if powder else BY_VOLUME)[product["pct"] is not None], **product),
    )
    water = litres - amount / 1000
    if powder or water < 0:
        return cells
    return (*cells, phrase(gettext_noop("%(water)s L of water"), water=number(water)))


BY_VOLUME = (gettext_noop("%(amount)s mL of product"), gettext_noop("%(amount)s mL of product of %(pct)s %%"))
BY_WEIGHT = (gettext_noop("%(amount)s g of product"), gettext_noop("%(amount)s g of product of %(pct)s %%"))


@cache
def _powders() -> frozenset[str]:
    return frozenset(agent.code for agent in rules.whole().agent if agent.powder)


def _tested(row: Entry, state: BathState) -> tuple[str, Cell, Cell, tuple[Cell, ...]]:
    read, times = number(row.detail["ppm"]) or 0, number(row.detail.get("diluted", 1)) or 1
    figures: tuple[Cell, ...] = (phrase(gettext_noop("read %(ppm)s ppm"), ppm=read),)
    if times != 1:
        figures += (phrase(gettext_noop("diluted %(times)s times"), times=times),)
    figures += (phrase(gettext_noop("is %(ppm)s ppm"), ppm=number(read * times)),)
    limits = (state.low_ppm, state.high_ppm)
    if limits == (None, None):
        return TESTED, _recipe(state.recipe), figures, (word(NO_LIMITS),)
    asked = phrase(gettext_noop("asked %(low)s to %(high)s ppm"), low=limits[0] or 0, high=_top(limits[1]))
    passed = baths.passes(state, StrengthTest(row.pk, row.happened_at, float(read * times)))
    return TESTED, _recipe(state.recipe), (*figures, asked), (word(IN_ORDER if passed else FAILED),)


def _top(high: int | None) -> Any:
    return "…" if high is None else high


def _emptied(row: Entry, state: BathState) -> tuple[str, Cell, Cell, tuple[Cell, ...]]:
    place = row.detail["where"]
    told: Cell = word(PLACES[place]) if place in PLACES else place
    return EMPTIED, _recipe(state.recipe), (), (told,)


def _acted(detail: Mapping[str, Any], in_bath: bool) -> Cell:
    """How long it acted and how long the recipe of its day asks for; its strength, where no bath says that."""
    given, asked = detail.get("seconds"), detail.get("needs_seconds")
    figures: tuple[Cell, ...] = ()
    if asked:
        figures = (phrase(gettext_noop("%(given)s s, asked %(asked)s s"), given=given or 0, asked=asked),)
    elif given:
        figures = (phrase(gettext_noop("%(given)s s"), given=given),)
    return (*figures, _strength(detail["ppm"])) if detail.get("ppm") and not in_bath else figures


def _strength(ppm: Any) -> Cell:
    """In per cent from a tenth on: nobody reads 700 000 ppm."""
    found = Decimal(str(ppm))
    if found < 100_000:
        return phrase(PPM, ppm=number(found))
    return phrase(gettext_noop("%(pct)s %%"), pct=number(found / PPM_IN_ONE_PER_CENT))
