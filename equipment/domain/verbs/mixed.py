"""A dip bath is mixed."""

from datetime import date
from typing import Annotated, Any

from pydantic import Field

from equipment.domain.replacing import replace
from equipment.domain.values import BathState, Entry
from equipment.domain.verbs._base import Detail, Verb
from equipment.domain.words import gettext_noop

Positive = Annotated[float, Field(gt=0, le=100_000, allow_inf_nan=False)]


class Mixed(Detail):
    """`litres` of bath made with `product_ml` of product (grams, where it is a powder) of `strength_pct` per cent;
    the lot on its label, its expiry, and the pH where the recipe asks for it. The server adds what the recipe of the
    day says: `agent`, the strength that this mixing gives (`ppm`), `life_minutes`, `capacity` in items, `low_ppm`,
    `high_ppm`, `flaws`, and the version of the `rules`."""

    recipe: str
    litres: Positive
    product_ml: Positive
    strength_pct: Annotated[float, Field(gt=0, le=100)] | None = None
    product_lot: str = ""
    product_expires: date | None = None
    ph: Annotated[float, Field(ge=0, le=14)] | None = None
    agent: str = ""
    ppm: float | None = None
    life_minutes: int | None = None
    capacity: int | None = None
    low_ppm: int | None = None
    high_ppm: int | None = None
    flaws: tuple[str, ...] = ()
    rules: int | None = None


def step(state: BathState, entry: Entry) -> BathState:
    if state.mixed_at is not None:
        return state.contradicted("mixed_twice", entry.id)
    detail = entry.detail
    counts: dict[str, Any] = {
        name: detail.get(name) for name in ("life_minutes", "capacity", "low_ppm", "high_ppm")
    }
    return replace(
        state,
        mixed_at=entry.happened_at,
        store=entry.store,
        recipe=detail["recipe"],
        litres=float(detail["litres"]),
        agent=detail.get("agent", ""),
        flaws=tuple(detail.get("flaws", ())),
        ppm=float(detail["ppm"]) if detail.get("ppm") is not None else None,
        **counts,
    )


VERB = Verb(
    name="mixed",
    family="bath",
    detail=Mixed,
    step=step,
    action="mix_bath",
    say=gettext_noop("The bath is mixed."),
    told=gettext_noop("Bath mixed: %(recipe)s, %(litres)s litres with %(product_ml)s mL of product."),
    sealed={
        "agent": "",
        "ppm": None,
        "life_minutes": None,
        "capacity": None,
        "low_ppm": None,
        "high_ppm": None,
        "flaws": (),
        "rules": None,
    },
)
