"""Pages are typed in whenever there is time: it is the time on the page that counts, not the order of typing."""

from datetime import datetime, timedelta

import pytest
from django.utils import timezone

from equipment.actions.change_crew import join, leave
from equipment.actions.enter_paper import Direction, Entered, Page, PaperLine, enter
from equipment.actions.writing import new_id
from equipment.models import Discrepancy, ItemState, Membership
from tests.cast import Farm

NOW = timezone.now()
MORNING, EVENING = NOW - timedelta(hours=12), NOW - timedelta(hours=2)


def typed_in(farm: Farm, tag: str, direction: Direction, at: datetime) -> Entered:
    page = Page(farm.crews["red"], direction, at, new_id(), [PaperLine(farm.pickers["ana"], (tag,))])
    return enter(farm.users["rosa"], page, timezone.now())


@pytest.mark.parametrize("evening_first", [False, True])
def test_the_evenings_page_may_be_typed_in_before_the_mornings(evening_first: bool, farm: Farm) -> None:
    (tag,) = farm.gear("bag", days_ago=2)
    pages: list[tuple[Direction, datetime]] = [("handed_out", MORNING), ("returned", EVENING)]
    for direction, at in pages[::-1] if evening_first else pages:
        typed_in(farm, tag, direction, at)
    assert ItemState.objects.get(tag=tag).place == "store"
    assert not Discrepancy.objects.exists()


def test_a_move_that_the_office_writes_down_late_stands_where_it_belongs(farm: Farm) -> None:
    cy, red = farm.pickers["cy"], farm.crews["red"]
    join(farm.pen(), [cy], red, at=EVENING)
    leave(farm.pen(), [cy])
    join(farm.pen(), [cy], red, at=MORNING)
    assert not Membership.objects.filter(picker=cy).exists()


def test_what_one_pen_writes_at_one_time_keeps_its_order(farm: Farm) -> None:
    (tag,) = farm.gear("bag", days_ago=2)
    item = ItemState.objects.get(tag=tag).item_id
    pen = farm.pen()
    drafts = [pen.draft(verb, item=item) for verb in ("missed", "found", "missed")]
    assert all(outcome.recorded for outcome in pen.record(drafts).outcomes)
    assert ItemState.objects.get(tag=tag).place == "missing"
    assert [draft.device_seq for draft in drafts] == sorted({draft.device_seq for draft in drafts})
