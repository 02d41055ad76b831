"""A mend uses up goods, and a bath is mixed of a lot: in the same act, and only where somebody says so."""

from typing import Any

import pytest
from django.utils import timezone

from equipment.actions.goods import Using
from equipment.actions.mend import Mend, mend
from equipment.actions.writing import new_id
from equipment.models import BathState, Entry, ItemState
from tests.cast import Farm
from tests.farm import Post
from tests.lots import came_in, left
from tests.pages.test_goods import text

MENDED = {"fault": "bag_hole", "method": "sewn", "minutes": "10", "where": "shed"}


@pytest.fixture
def torn(farm: Farm, post: Post) -> str:
    (bag,) = farm.gear("bag", days_ago=1)
    post(farm.entry("fault_found", item=bag, detail={"fault": "bag_hole"}))
    return str(bag)


def act_of(verb: str) -> list[str]:
    """The verbs of the act in which this one was written, in order."""
    entry = Entry.objects.get(verb=verb)
    same = Entry.objects.filter(act=entry.act) if entry.act else Entry.objects.filter(pk=entry.pk)
    return list(same.order_by("position").values_list("verb", flat=True))


def test_a_mend_uses_up_thread(farm: Farm, client_of, torn: str) -> None:
    lot, other = came_in(farm, "thread", 100, lot_number="T-1"), came_in(farm)
    client = client_of("mo")
    form = text(client.get(f"/bench/?piece={torn}"))
    assert "Waxed thread, lot T-1, 100 metres left" in form and str(other) not in form
    sent = {**MENDED, "lot": str(lot), "used": "2.5"}
    assert client.post(f"/bench/{torn}/mend/", sent).status_code == 302
    assert left(lot) == 97.5
    assert act_of("mended") == ["mended", "used"]
    assert Entry.objects.get(verb="used").detail["purpose"] == "mend"


def test_a_mend_needs_nothing_of_the_shelf(farm: Farm, client_of, torn: str) -> None:
    lot = came_in(farm, "thread", 100)
    assert client_of("mo").post(f"/bench/{torn}/mend/", MENDED).status_code == 302
    assert (left(lot), act_of("mended")) == (100, ["mended"])


@pytest.mark.parametrize(
    ("used", "says"),
    [("", "above zero"), ("0", "above zero"), ("101", "only 100 metres is left")],
)
def test_how_much_a_mend_cannot_use(farm: Farm, client_of, torn: str, used: str, says: str) -> None:
    lot = came_in(farm, "thread", 100)
    response = client_of("mo").post(f"/bench/{torn}/mend/", {**MENDED, "lot": str(lot), "used": used})
    assert response.status_code != 302 and says in text(response)
    assert not Entry.objects.filter(verb__in=("mended", "used")).exists()


def test_what_was_used_is_said_of_a_lot(farm: Farm, client_of, torn: str) -> None:
    came_in(farm, "thread", 100)
    response = client_of("mo").post(f"/bench/{torn}/mend/", {**MENDED, "used": "3"})
    assert response.status_code != 302 and "Say of what that much was used" in text(response)


def test_thread_past_its_date_is_not_offered(farm: Farm, client_of, torn: str) -> None:
    came_in(farm, "thread", 100, days=-1)
    assert "Used up, from the shelf" not in text(client_of("mo").get(f"/bench/?piece={torn}"))


def mixing(**more: Any) -> dict[str, Any]:
    return {"recipe": "clippers_daily_bleach", "litres": "10", "strength": "5", **more}


def test_a_bath_is_mixed_of_a_lot_whose_number_and_date_it_bears(ruled_farm: Farm, client_of) -> None:
    lot = came_in(ruled_farm, "bleach", 20, days=100, lot_number="BL-9")
    came_in(ruled_farm, "quat", 5)
    client = client_of("rosa")
    asked = text(client.get("/wash/mix/", mixing(store="A")))
    assert "Household bleach, lot BL-9" in asked and "Quaternary ammonium, no lot" not in asked
    response = client.post("/wash/mix/?store=A", mixing(lot_of=str(lot)))
    assert response.status_code == 302, text(response)
    mixed = Entry.objects.get(verb="mixed")
    day = timezone.localdate() + timezone.timedelta(days=100)
    assert (mixed.detail["product_lot"], mixed.detail["product_expires"]) == ("BL-9", day.isoformat())
    assert act_of("mixed") == ["mixed", "used"]
    assert left(lot) == pytest.approx(20 - float(mixed.detail["product_ml"]) / 1000)


def test_a_bath_needs_no_lot_of_ours_and_takes_no_more_than_is_left(ruled_farm: Farm, client_of) -> None:
    lot = came_in(ruled_farm, "bleach", 0.5)
    client = client_of("rosa")
    response = client.post("/wash/mix/?store=A", mixing(lot_of=str(lot)))
    assert response.status_code == 400 and "only 0.5 litres is left" in text(response)
    assert not BathState.objects.exists()
    assert client.post("/wash/mix/?store=A", mixing(lot="by hand")).status_code == 302
    assert (left(lot), act_of("mixed")) == (0.5, ["mixed"])


def test_a_lot_that_was_emptied_meanwhile_refuses_the_whole_mend(farm: Farm, torn: str) -> None:
    lot = came_in(farm, "thread", 1)
    state = ItemState.objects.select_related("item").get(tag=torn)
    outcome = mend(farm.pen(), state, Mend("bag_hole", "sewn", 10), using=Using(lot, 2, "mend"))
    assert (outcome.recorded, outcome.codes) == (False, ("more_than_left",))
    assert not Entry.objects.filter(verb="mended").exists()


def test_a_mixing_that_is_sent_twice_is_one_bath(ruled_farm: Farm, client_of) -> None:
    lot, client = came_in(ruled_farm, "bleach", 2), client_of("rosa")
    sent = mixing(lot_of=str(lot), own=str(new_id()))
    for _turn in range(2):
        answer = client.post("/wash/mix/?store=A", sent)
        assert answer.status_code == 302 and answer["Location"] == f"/wash/baths/{sent['own']}/"
    assert BathState.objects.count() == Entry.objects.filter(verb="used").count() == 1
