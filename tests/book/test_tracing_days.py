"""What the disease trace looks up on single days that go other than planned, and how many questions it asks."""

from datetime import timedelta
from typing import Any
from uuid import UUID

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from equipment import catalogue
from equipment.actions.writing import Pen, new_id
from equipment.domain.disease_trace import Question, Trace, follow
from equipment.models import Item
from equipment.models.tracing import TracedBook
from tests.cast import Farm

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


def carriers(disease: str) -> tuple[str, ...]:
    return next(each.carriers for each in catalogue.load().disease if each.code == disease)


class Told:
    """A day on the small farm, hours ago."""

    def __init__(self, farm: Farm) -> None:
        self.farm, self.now = farm, timezone.now()

    def tell(self, ago: float, verb: str, **fields: Any) -> UUID:
        at = self.now - ago * HOUR
        pen = Pen(self.farm.users["rosa"], "A", self.now)
        drafts = [pen.draft(verb, happened_at=at, **fields)]
        assert pen.record(drafts, "note").outcomes[0].recorded
        return drafts[0].id

    def visit(self, crew: str, block: str, ago: float, left: float | None = None) -> None:
        code = self.farm.crews[crew].pk
        self.tell(ago, "arrived", crew=code, block=block, detail={"block": block})
        if left is not None:
            self.tell(left, "left", crew=code)

    def hand_out(self, ago: float, item: UUID, to: str, crew: str = "red", **fields: Any) -> UUID:
        who = {"picker": self.farm.pickers[to].pk} if to else {}
        return self.tell(ago, "handed_out", item=item, crew=self.farm.crews[crew].pk, **who, **fields)

    def trace(self, block: str, ago: float = 24, disease: str = "exocortis", **more: Any) -> Trace:
        since = self.now - ago * HOUR
        book = TracedBook(disease, carriers(disease), since, self.now)
        return follow(book, Question(block, since, self.now, **more))


@pytest.fixture
def day(farm: Farm) -> Told:
    return Told(farm)


def clippers(farm: Farm, count: int = 1, kind: str = "clippers") -> list[UUID]:
    tags = farm.gear(kind, count, days_ago=60)
    return [Item.objects.get(state__tag=tag).pk for tag in tags]


def reached(trace: Trace) -> set[Any]:
    return {node if isinstance(node, str) else node[0] for node in trace.reached}


def test_a_picker_lent_at_noon_takes_the_clippers_along(farm: Farm, day: Told) -> None:
    hers, other = clippers(farm, 2)
    red, blue, ana = farm.crews["red"].pk, farm.crews["blue"].pk, farm.pickers["ana"].pk
    day.hand_out(9, hers, "ana")
    day.hand_out(9, other, "ben")
    day.visit("red", "N4", 8, 2)
    day.visit("blue", "S2", 8, 2)
    day.tell(5, "parted", crew=red, picker=ana)
    day.tell(5, "joined", crew=blue, picker=ana)
    assert reached(day.trace("S2")) == {"S2", hers}
    trace = day.trace("N4")
    assert reached(trace) == {"N4", "S2", hers, other}
    assert trace.reached["S2"].at == day.now - 5 * HOUR


def test_shared_gear_spares_and_what_stood_in_the_orchard_overnight(farm: Farm, day: Told) -> None:
    ladder, stowed, spare = [*clippers(farm, 2, "ladder"), *clippers(farm)]
    day.hand_out(40, ladder, "")
    day.hand_out(40, stowed, "")
    day.hand_out(40, spare, "")
    red = farm.crews["red"].pk
    day.tell(30, "stowed", item=stowed, crew=red, block="S2", detail={"block": "S2", "counted": 1})
    day.visit("red", "N4", 20, 15)
    assert reached(day.trace("N4", 24, "citrus_canker")) == {"N4", ladder, spare}
    assert reached(day.trace("N4", 24)) == {"N4", spare}  # a ladder does not carry it
    assert reached(day.trace("S2", 24, "citrus_canker")) == {"S2", stowed}


def test_a_visit_never_closed_a_reversed_handout_and_gear_that_is_still_out(farm: Farm, day: Told) -> None:
    kept, undone, later = clippers(farm, 3)
    day.hand_out(24 * 50, kept, "ana")  # longer ago than is looked back: it is there still
    wrong = day.hand_out(9, undone, "ben")
    day.tell(8.9, "reversed", item=undone, detail={"entry": str(wrong)})
    day.visit("red", "N4", 8)
    day.tell(1, "returned", item=kept, crew=farm.crews["red"].pk)
    day.hand_out(0.5, later, "ben")
    assert reached(day.trace("N4")) == {"N4", kept, later}


def test_a_block_that_nobody_visited_and_kinds_that_carry_nothing(farm: Farm, day: Told) -> None:
    (hers,) = clippers(farm)
    day.hand_out(9, hers, "ana")
    day.visit("red", "N4", 8, 2)
    assert reached(day.trace("S2")) == {"S2"}
    assert reached(day.trace("N4", disease="huanglongbing")) == {"N4"}


def test_a_dip_in_a_bath_that_fails_its_test_does_not_cut_the_path(ruled_farm: Farm) -> None:
    day = Told(ruled_farm)
    (hers,) = clippers(ruled_farm)
    day.hand_out(12, hers, "ana")
    day.visit("red", "N4", 11, 9)
    bath = new_id()
    mixing = {"recipe": "clippers_viroid_bleach", "litres": 10, "product_ml": 2000, "strength_pct": 5}
    day.tell(8.5, "mixed", bath=bath, detail=mixing)
    dip = {"method": "sterilise", "seconds": 700}
    day.tell(8, "cleaned", item=hers, bath=bath, detail=dip)
    day.visit("red", "S2", 7, 5)
    assert reached(day.trace("N4")) == {"N4", hers}
    day.tell(4, "tested", bath=bath, detail={"ppm": 100, "diluted": 10})
    assert reached(day.trace("N4")) == {"N4", "S2", hers}


def test_questions_grow_with_steps_and_not_with_gear(farm: Farm, day: Told) -> None:
    def asked(count: int) -> int:
        for piece in clippers(farm, count):
            day.hand_out(9, piece, "ana")
        with CaptureQueriesContext(connection) as captured:
            assert len(reached(day.trace("N4"))) >= count
        return len(captured)

    day.visit("red", "N4", 8, 6)
    day.visit("red", "S2", 5, 3)
    few = asked(2)
    assert asked(20) == few <= 20


@pytest.mark.only_on("sqlite")
def test_no_question_reads_all_that_a_verb_ever_did(farm: Farm, day: Told) -> None:
    """SQLite goes by the subject and the time, never by the verb, nor through a whole life, whatever it has counted."""
    ladder, spare = clippers(farm, 1, "ladder") + clippers(farm)
    day.hand_out(20, ladder, "")
    day.hand_out(20, spare, "ana")
    day.visit("red", "N4", 18, 15)
    day.tell(14, "cleaned", item=ladder, bath=new_id(), detail={"method": "wash"})
    plans: list[str] = []

    def explained(execute: Any, text: str, values: Any, many: bool, context: Any) -> Any:
        with connection.cursor() as cursor:
            plan = cursor.cursor.execute(f"EXPLAIN QUERY PLAN {text}".replace("%s", "?"), values)
            plans.extend(row[3] for row in plan.fetchall())
        return execute(text, values, many, context)

    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    with connection.execute_wrapper(explained):
        day.trace("N4", disease="citrus_canker")
    steps = [step for step in plans if "SEARCH" in step or "SCAN" in step]
    lines_of_the_book = {"had", "came", "told", "before", "stood", "equipment_entry"}
    for step in steps:
        what, table = step.split()[:2]
        assert what == "SEARCH" or table not in lines_of_the_book, step
        assert "(verb=?)" not in step, step
    told = [step for step in steps if step.split()[1] == "told"]
    assert told and all("(item_id=? AND happened_at>?)" in step for step in told)
