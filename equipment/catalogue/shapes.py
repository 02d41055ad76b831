"""What each table of the catalogue holds, and what makes it whole. The files explain their own words."""

from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, PositiveFloat, PositiveInt, model_validator

from equipment.domain.kit import Holder

Code = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$", max_length=40)]
Prefix = Annotated[str, Field(pattern=r"^[A-Z]{2}$")]
Text = Annotated[str, Field(min_length=1)]


class Shape(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Sourced(Shape):
    """A table that must say where its numbers come from, or that they are common practice."""

    source: str = ""

    @model_validator(mode="after")
    def numbers_have_a_source(self) -> Self:
        numbers = [name for name in sorted(self.model_fields_set) if _is_number(getattr(self, name))]
        if numbers and not self.source.strip():
            raise ValueError(f"{', '.join(numbers)} need a source, or 'common practice'")
        return self


class Kind(Sourced):
    """A kind of gear. `sizes` is empty where size does not matter; `hands` where left differs from right;
    `never_sampled` says why an audit looks at every piece, empty where a sample will do."""

    code: Code
    name: Text
    name_plural: Text
    prefix: Prefix
    issued_to: Holder
    comes_back: Literal["tonight", "season", "never"]
    unit: Literal["piece", "pair"]
    sizes: tuple[Text, ...]
    hands: bool
    stays_in_orchard: bool
    never_sampled: str = ""
    icon: Code
    source: Text


class FaultType(Sourced):
    """Something that can be wrong. `kinds` is empty for every kind; `within_days` belongs to mend_by."""

    code: Code
    kinds: tuple[Code, ...]
    name: Text
    severity: Literal["stop_use", "mend_by", "note"]
    look_for: Text
    mend: Text
    never: Text
    within_days: PositiveInt | None = None
    minutes: PositiveInt | None = None
    where: Literal["shed", "orchard", "either"] = "either"
    structural: bool = False
    released_by: Literal["mender", "second", "officer"] = "mender"
    overridable: bool = True
    makes_due: Literal["", "wash", "dry"] = ""

    @model_validator(mode="after")
    def mend_by_has_a_day(self) -> Self:
        if (self.severity == "mend_by") != (self.within_days is not None):
            raise ValueError("within_days goes with severity mend_by, and with no other")
        return self

    @model_validator(mode="after")
    def structure_is_never_let_out(self) -> Self:
        if self.structural and (self.overridable or self.released_by == "mender"):
            raise ValueError("a structural fault is never overridden, and not released by its mender")
        return self

    def can_be_on(self, kind: str) -> bool:
        return not self.kinds or kind in self.kinds


class Point(Sourced):
    """One question. A number passes from `low` to `high`, both included, or where it is what the kit asks."""

    code: Code
    ask: Text
    answer: Literal["yes_no", "number", "choice"]
    good: tuple[Text, ...] = ()
    choices: tuple[Text, ...] = ()
    low: float | None = None
    high: float | None = None
    unit: str = ""
    per_kit: Code | None = None
    crops: tuple[Text, ...] = ()
    fault: Code | None = None

    @model_validator(mode="after")
    def has_a_passing_answer(self) -> Self:
        offered = {"yes_no": ("yes", "no"), "choice": self.choices, "number": ()}[self.answer]
        if self.answer == "number":
            whole = not self.good and (self.low, self.high, self.per_kit) != (None, None, None)
        else:
            whole = bool(self.good) and set(self.good) <= set(offered)
        if not whole:
            raise ValueError("a number needs low, high or per_kit, other answers a good one of those offered")
        return self


class Checklist(Sourced):
    """An inspection of a `kind`, of the crew where `kind` is None. `every_days` 0: before the first use; `gate`: what
    becomes of an item while it is due."""

    code: Code
    name: Text
    kind: Code | None = None
    every_days: Annotated[int, Field(ge=0)]
    recorded: bool
    gate: Literal["holds", "warns"] | None = None
    point: Annotated[tuple[Point, ...], Field(min_length=1)]

    @model_validator(mode="after")
    def gear_has_a_gate(self) -> Self:
        if (self.kind is None) != (self.gate is None):
            raise ValueError("gate goes with a kind, and only with one")
        return self


class ContentsItem(Shape):
    name: Text
    quantity: PositiveInt


class Contents(Sourced):
    """What belongs in a piece of `kind` and `size`."""

    kind: Code
    size: Text
    items: Annotated[tuple[ContentsItem, ...], Field(min_length=1)]
    source: Text


class CleaningRule(Sourced):
    """When a cleaning of a `kind` no longer holds; hours are hours, None where they do not matter."""

    kind: Code
    method: Literal["sterilise", "wash", "dry"]
    hours_in_use: PositiveFloat | None = None
    other_block: bool
    other_picker: bool
    shelf_hours: PositiveFloat | None = None
    gate: Literal["holds", "warns"]
    minutes: PositiveInt
    why: Text


class Agent(Sourced):
    """What does the killing. `strength_pct` is the product's, in per cent; None where it has no strength. A `powder`
    is weighed."""

    code: Code
    name: Text
    measured_as: Text
    strength_pct: Annotated[float, Field(gt=0, le=100)] | None = None
    powder: bool = False
    cautions: Annotated[tuple[Text, ...], Field(min_length=1)]


class Recipe(Sourced):
    """A dip bath or a wash. Strengths in ppm (mg/L); `contact_seconds` and `life_minutes` as they say."""

    code: Code
    name: Text
    agent: Code
    method: Literal["sterilise", "wash"]
    kinds: Annotated[tuple[Code, ...], Field(min_length=1)]
    target_ppm: PositiveInt | None = None
    contact_seconds: PositiveInt | None = None
    life_minutes: PositiveInt | None = None
    items_per_litre: PositiveInt | None = None
    test_low_ppm: PositiveInt | None = None
    test_high_ppm: PositiveInt | None = None
    ready_to_use: bool = False
    product_ph: bool = False
    ph_low: float | None = None
    ph_high: float | None = None
    before: tuple[Text, ...] = ()
    after: tuple[Text, ...] = ()
    cautions: tuple[Text, ...] = ()

    @model_validator(mode="after")
    def sterilising_has_a_strength_and_a_time(self) -> Self:
        needed = (self.target_ppm, self.contact_seconds, self.life_minutes, self.items_per_litre)
        if self.method == "sterilise" and None in needed:
            raise ValueError("sterilising needs target_ppm, contact_seconds, life_minutes, items_per_litre")
        return self


class Clears(Sourced):
    """What ends a flag: `agent` at a strength in ppm for a time in seconds, or the `method` wash."""

    agent: Code | None = None
    method: Literal["wash"] | None = None
    at_least_ppm: PositiveInt | None = None
    at_least_seconds: PositiveInt | None = None
    source: Text

    @model_validator(mode="after")
    def says_what_with(self) -> Self:
        whole = None not in (self.agent, self.at_least_ppm, self.at_least_seconds)
        if whole == (self.method is not None):
            raise ValueError("either agent, at_least_ppm and at_least_seconds, or method")
        return self


class DoesNotClear(Sourced):
    """What was tried in vain; `below_ppm` where only weaker strengths of `agent` fail."""

    what: Text
    agent: Code | None = None
    below_ppm: PositiveInt | None = None
    source: Text


class Disease(Sourced):
    """A disease, the kinds that can carry it (none where gear does not), those that a farm may add, and what clears the
    flag."""

    code: Code
    name: Text
    cause: Text
    carriers: tuple[Code, ...]
    may_carry: tuple[Code, ...] = ()
    note: Text
    clears: tuple[Clears, ...] = ()
    does_not: tuple[DoesNotClear, ...] = ()
    source: Text


class Foresight(Sourced):
    """What figures are reckoned with: of a `kind` its costs, of the whole farm (`kind` None) all else."""

    code: Code
    name: Text
    kind: Code | None = None
    planned_cost: Annotated[int, Field(ge=0)] | None = None
    failure_cost: Annotated[int, Field(ge=0)] | None = None
    level_pct: Annotated[int, Field(ge=50, le=99)] | None = None
    weeks: PositiveInt | None = None
    hour_cost: Annotated[int, Field(ge=0)] | None = None


class Goods(Sourced):
    """Counted goods. `low` in their unit; `agent` and `strength_pct` of a disinfectant that baths are mixed of."""

    code: Code
    name: Annotated[str, Field(min_length=1, max_length=60)]
    unit: Literal["piece", "pair", "roll", "metre", "litre", "kilogram"]
    used_for: Literal["first_aid", "mend", "bath", "hands", "other"]
    low: PositiveFloat | None = None
    agent: Code | None = None
    strength_pct: Annotated[float, Field(gt=0, le=100)] | None = None


class Work(Sourced):
    """Minutes of work that no other table has: for one piece, of `mix` for one bath. `name` is a checklist or a recipe,
    "" for all others of that `what`."""

    what: Literal["pass", "inspect", "restock", "wash", "sterilise", "dry", "mix"]
    name: str = ""
    minutes: PositiveInt


class Caution(Shape):
    """What can hurt whoever handles a piece of these kinds: one sentence."""

    kinds: Annotated[tuple[Code, ...], Field(min_length=1)]
    text: Text
    source: Text


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)
