"""At the very limits the phone decides like the book: drawn from a coarse grid, so that times and sums often meet."""

from collections.abc import Callable
from datetime import timedelta
from random import Random
from typing import Any
from uuid import UUID

from pydantic import TypeAdapter

from equipment.domain import bath, condition, kit, sealing
from equipment.domain.condition import Around
from equipment.domain.values import (
    BathState,
    Cleaning,
    Flag,
    ItemState,
    OpenFault,
    Stint,
    StrengthTest,
    Visit,
)
from tests.days import MONDAY
from tests.orchard_book import STRENGTHS, TRADE
from tests.phone import Phone
from tests.rulebook import RULES

COUNT = 2000
ITEM, BATH = TypeAdapter(ItemState), TypeAdapter(BathState)
VISITS = TypeAdapter(dict[str, list[Visit]])


def hour(number: float) -> Any:
    return MONDAY + timedelta(hours=number)


def stamp(at: Any) -> Any:
    return at.isoformat().replace("+00:00", "Z") if at else None


def compared(
    phone: Phone, body: str, draw: Callable[[Random], tuple[Any, Any]], shared: Any = None
) -> list[Any]:
    """`draw` gives a vector and what is wanted of it. Returns what was wanted."""
    random = Random(body)
    vectors, wanted = zip(*(draw(random) for _ in range(COUNT)), strict=True)
    said = phone(body, vectors, shared)
    differing = [pair for pair in zip(vectors, said, wanted, strict=True) if pair[1] != pair[2]]
    assert not differing, (len(differing), differing[0])
    return list(wanted)


def drawn_bath(random: Random) -> BathState:
    low, high = random.choice(((None, None), (40, 65), (40, None)))
    tests = [
        StrengthTest(
            UUID(int=random.randrange(9)), hour(random.randrange(6)), random.choice((39, 40, 50, 65, 66))
        )
        for _ in range(random.choice((0, 0, 1, 2, 3)))
    ]
    return BathState(
        mixed_at=random.choice((None, hour(0), hour(1), hour(1))),
        life_minutes=random.choice((None, 120, 240)),
        capacity=random.choice((None, 1, 2, 3)),
        flaws=random.choice(((), (), ("too_weak",), ("wrong_ph",), ("too_weak", "product_expired"))),
        low_ppm=low,
        high_ppm=high,
        tests=tuple(tests),
        emptied_at=random.choice((None, None, hour(4))),
    )


def test_which_dips_a_bath_takes(phone: Phone) -> None:
    def draw(random: Random) -> tuple[Any, Any]:
        state = drawn_bath(random)
        dips = [(hour(random.randrange(7)), UUID(int=100 + number)) for number in range(random.randrange(5))]
        before = random.randrange(2)
        wanted = {
            str(entry): bath.against_dip(state, at, before + nth)
            for nth, (at, entry) in enumerate(sorted(dips), start=1)
        }
        told = [{"at": stamp(at), "entry": str(entry)} for at, entry in random.sample(dips, len(dips))]
        return {"state": BATH.dump_python(state, mode="json"), "dips": told, "before": before}, wanted

    body = """({bath, values, time}, {state, dips, before}) => Object.fromEntries(bath.verdicts(
      values.inside(state), dips.map(({at, entry}) => ({at: time.micros(at), entry})), before))"""
    met = [why for wanted in compared(phone, body, draw) for why in wanted.values()]
    assert set(met) == {*bath.WORDS, None}


def test_what_is_sealed_into_a_cleaning_and_a_mixing(phone: Phone) -> None:
    targets = sorted({recipe.target_ppm for recipe in RULES.recipes.values() if recipe.target_ppm})

    def cleaned(random: Random) -> dict[str, Any]:
        recipe = random.choice([None, *RULES.recipes])
        detail = {
            "method": random.choice(("sterilise", "sterilise", "wash")),
            "seconds": random.choice((0, 1, 9, 10, 600)),
        }
        return {**detail, **({"recipe": recipe} if recipe else {})}

    def mixed(random: Random) -> dict[str, Any]:
        # What makes exactly the target, its 95 per cent, or just less; tenths that lie in the middle.
        ppm = random.choice(targets) * random.choice((1, 0.95, 0.9499, 1.1)) + random.choice(
            (0, 0.25, 0.75, 0.05)
        )
        recipe, litres = random.choice(list(RULES.recipes)), random.choice((1, 0.29, 7.3))
        found = {"recipe": recipe, "litres": litres, "strength_pct": 5}
        return {
            **found,
            "product_ml": ppm * litres / 50,
            "ph": random.choice((6, 7.5, 5.99, 7.51)),
            "product_expires": random.choice(("2026-05-31", "2026-06-01")),
        }

    def draw(random: Random) -> tuple[Any, Any]:
        verb = random.choice(("cleaned", "mixed"))
        detail = cleaned(random) if verb == "cleaned" else mixed(random)
        kind = random.choice(("clippers", "clippers", "bag", "ladder"))
        facts = sealing.Facts(RULES, kind, day=MONDAY.date(), strengths=STRENGTHS)
        wanted = {**detail, **sealing.sealed(verb, detail, facts)}
        return {"verb": verb, "detail": detail, "kind": kind}, wanted

    body = """({sealing}, {verb, detail, kind}, {rules, strengths}) =>
      sealing.sealed(verb, detail, {rules, kind, bath: null, day: '2026-06-01', strengths})"""
    wanted = compared(phone, body, draw, {"rules": TRADE["rules"], "strengths": STRENGTHS})
    assert sum("too_weak" in each.get("flaws", ()) for each in wanted) > 50
    assert sum(bool(each.get("kills")) for each in wanted) > 50


def drawn_item(random: Random) -> ItemState:
    at = sorted(random.randrange(12) for _ in range(9))
    stints = [Stint(random.choice((1, 2)), random.choice(("RED", "BLUE")), hour(at[0]), hour(at[2]))]
    stints.append(Stint(random.choice((1, 2)), "RED", hour(at[3]), random.choice((None, hour(at[5])))))
    cleanings = [
        Cleaning(
            UUID(int=number),
            hour(random.choice(at)),
            random.choice(("sterilise", "wash")),
            None,
            1,
            ends=ends,
        )
        for number, ends in enumerate(
            random.choices(((), (), (("wet", hour(at[6])),), (("flag", hour(at[7])),)), k=3)
        )
    ]
    faults = random.sample(list(RULES.faults), 3)
    return ItemState(
        place=random.choice(("store", "picker", "crew", "missing", "gone")),
        store="A",
        kind=random.choice(("clippers", "clippers", "bag", "ladder", "first_aid_kit")),
        since=hour(random.choice(at)),
        registered_at=hour(-1),
        wet_at=random.choice((None, hour(3))),
        dirty_at=random.choice((None, None, hour(4))),
        faults=tuple(
            OpenFault(name, UUID(int=50), hour(1), random.choice((None, hour(2))), 7, "") for name in faults
        ),
        cleanings=tuple(sorted(cleanings, key=lambda each: each.at)),
        stints=tuple(stints),
        flags=tuple(
            Flag("exocortis", UUID(int=60), hour(1), "", (UUID(int=1),)) for _ in range(random.randrange(2))
        ),
        inspected={
            name: hour(random.choice(at)) for name in random.sample(("ladder_daily", "clippers_daily"), 1)
        },
    )


def drawn_visits(random: Random) -> dict[str, list[Visit]]:
    def of_a_crew() -> list[Visit]:
        at = sorted(random.randrange(12) for _ in range(4))
        last = random.choice((None, hour(at[3])))
        return [
            Visit(UUID(int=70), random.choice(("N4", "S1")), hour(at[0]), hour(at[1]), "left"),
            Visit(UUID(int=71), random.choice(("N4", "S1")), hour(at[2]), last),
        ]

    return {"RED": of_a_crew(), "BLUE": random.choice((of_a_crew(), []))}


def test_what_falls_due_when_moments_meet(phone: Phone) -> None:
    def draw(random: Random) -> tuple[Any, Any]:
        state, visits = drawn_item(random), drawn_visits(random)
        void = {UUID(int=number): "too_old" for number in range(3) if random.random() < 0.2}
        found = condition.condition(state, RULES, Around(visits, void))
        wanted = {
            "cleanings": [
                [each.method, stamp(each.at), each.cause, stamp(each.since)] for each in found.cleanings
            ],
            "inspections": [[each.checklist, stamp(each.at)] for each in found.inspections],
            "stopping": [each.fault for each in found.stopping],
            "mending": [[each.fault, stamp(until)] for each, until in found.mending],
            "flags": list(found.flags),
        }
        vector = {
            "state": ITEM.dump_python(state, mode="json"),
            "visits": VISITS.dump_python(visits, mode="json"),
            "gone": {str(entry): why for entry, why in void.items()},
        }
        return vector, wanted

    body = """({condition, values, time}, {state, visits, gone}, rules) => {
      const spans = Object.fromEntries(Object.entries(visits).map(([crew, all]) => [crew, values.inside(all)]));
      const found = condition.condition(values.inside(state), rules, {visits: spans, void: gone});
      return {
        cleanings: found.cleanings.map((each) => [each.method, time.iso(each.at), each.cause, time.iso(each.since)]),
        inspections: found.inspections.map((each) => [each.checklist, time.iso(each.at)]),
        stopping: found.stopping.map((each) => each.fault),
        mending: found.mending.map(([fault, until]) => [fault.fault, time.iso(until)]),
        flags: found.flags,
      };
    }"""
    wanted = compared(phone, body, draw, TRADE["rules"])
    causes = {cause for each in wanted for _, _, cause, _ in each["cleanings"]}
    assert {"never", "void", "wet", "dirty", "flag", "block", "hours", "rest", None} <= causes


def test_kits_of_any_rules(phone: Phone) -> None:
    kinds = ("bag", "gloves", "glove", "ladder")

    def rule(random: Random, number: int) -> kit.Rule:
        return kit.Rule(
            f"rule_{number}",
            random.choice(kinds),
            random.choice(("picker", "crew")),
            random.choice(("required", "advised")),
            f"why {number}",
            "drawn",
            quantity=random.randint(1, 3),
            per=random.choice((None, None, 2, 3)),
            clipped=random.choice((None, True, False)),
            tall_trees=random.choice((None, None, True)),
            crops=random.choice(((), (), ("lemon",))),
            at_least=random.choice((0, 2)),
            at_most=random.choice((None, 4)),
        )

    def draw(random: Random) -> tuple[Any, Any]:
        rules = [rule(random, number) for number in range(5)]
        plan = kit.PlanFacts(
            random.random() < 0.5,
            random.choice(("Lemon", "orange")),
            random.random() < 0.5,
            random.randrange(6),
        )
        held = {kind: random.randrange(4) for kind in random.sample(kinds, 2)}
        waived, holder = random.sample(kinds, random.randrange(2)), random.choice(("picker", "crew"))
        lines = (kit.picker_kit if holder == "picker" else kit.crew_kit)(rules, plan)
        short = kit.missing(lines, held, waived)
        vector = {
            "rules": TypeAdapter(list[kit.Rule]).dump_python(rules, mode="json"),
            "plan": TypeAdapter(kit.PlanFacts).dump_python(plan, mode="json"),
            "held": held,
            "waived": waived,
            "holder": holder,
        }
        return vector, [
            [[line.kind, line.quantity, line.need, line.why] for line in all_of] for all_of in (lines, short)
        ]

    body = """({kit}, {rules, plan, held, waived, holder}) => {
      const lines = kit.together(rules, [plan], holder);
      const told = (all) => all.map(({kind, quantity, need, why}) => [kind, quantity, need, why]);
      return [told(lines), told(kit.missing(lines, held, waived))];
    }"""
    assert sum(bool(short) for _, short in compared(phone, body, draw)) > COUNT / 3
