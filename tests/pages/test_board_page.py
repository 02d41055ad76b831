"""The board: today by crew, for those whose crews they are."""

from datetime import timedelta

import pytest
from django.utils import timezone

from crews.models import Crew, Picker
from equipment.actions.change_crew import join
from equipment.actions.lend_badge import lend_new
from equipment.actions.writing import Pen
from equipment.models import ItemState, KeptEntry
from tests.cast import Farm
from tests.farm import Post


def line_of(html: str, crew: str) -> str:
    """The text of a crew's row, blanks made single."""
    row = next(row for row in html.split("<tr>") if crew in row and "row" in row)
    return " ".join(row.split("</tr>")[0].replace("<", " <").split())


@pytest.mark.parametrize("name", ["rosa", "olga", "mo", "frank"])
def test_each_role_sees_every_crew(farm: Farm, client_of, name):
    html = client_of(name).get("/").content.decode()
    assert "Red crew" in html and "Blue crew" in html


def test_a_supervisor_sees_their_own(farm: Farm, client_of):
    html = client_of("sam").get("/").content.decode()
    assert "Red crew" in html and "Blue crew" not in html


def test_a_stranger_is_asked_to_sign_in(client, db):
    assert client.get("/").headers["Location"].startswith("/sign-in/?next=/")
    assert client.get("/board/lines/").status_code == 302


def test_a_line_counts_who_is_served_and_what_is_out(farm: Farm, client_of, post: Post):
    farm.plan("red", "N4")
    (bag,) = farm.gear("bag")
    post(farm.entry("handed_out", item=bag, picker=farm.badges["ana"]))
    line = line_of(client_of("rosa").get("/").content.decode(), "Red crew")
    assert "N4 lemon, clipped, tall trees" in line
    assert "<b>1 </b> of 2" in line
    assert f"/still-out/?crew={farm.crews['red'].pk}" in line


def test_what_is_out_since_an_earlier_day_is_named_with_its_holder_and_age(farm: Farm, client_of, post: Post):
    (bag,) = farm.gear("bag", days_ago=9)
    post(
        farm.entry("handed_out", item=bag, picker=farm.badges["ana"], at=timezone.now() - timedelta(days=3)),
        gate="note",
    )
    html = client_of("rosa").get("/").content.decode()
    late = " ".join(html.split("Out from earlier days")[1].split())
    assert bag in late and "Ana" in late and "3 nights" in late


def test_nothing_late_says_so(farm: Farm, client_of):
    assert "everything that should have come back is back" in client_of("rosa").get("/").content.decode()


def test_no_plans_today_says_what_that_means(farm: Farm, client_of):
    assert "Nothing is planned for today" in client_of("rosa").get("/").content.decode()
    farm.plan("red", "N4")
    assert "Nothing is planned for today" not in client_of("rosa").get("/").content.decode()


def test_no_crews_says_what_to_do_next(farm: Farm, client_of):
    Crew.objects.update(active=False)
    assert "There are no crews yet." in client_of("rosa").get("/").content.decode()
    assert "You lead no crew yet." in client_of("sam").get("/").content.decode()


def test_what_waits_is_counted_for_those_whose_it_is(farm: Farm, client_of, post: Post):
    (bag,) = farm.gear("bag")
    post(farm.entry("handed_out", item=bag, picker=farm.badges["ana"]))
    post(farm.entry("handed_out", item=bag, picker=farm.badges["cy"]), gate="note")
    post(farm.entry("returned", item="CL9999X", at=timezone.now()), gate="note")
    assert "1 discrepancy waits to be settled." in client_of("rosa").get("/").content.decode()
    assert KeptEntry.objects.count() == 1
    assert "1 entry is kept" in client_of("rosa").get("/").content.decode()
    assert ItemState.objects.get(tag=bag).crew == farm.crews["blue"]
    html = client_of("sam").get("/").content.decode()
    assert "to be settled" not in html and "is kept" not in html


def test_it_refreshes_itself_with_what_it_showed(farm: Farm, client_of):
    client = client_of("rosa")
    page, lines = client.get("/").content.decode(), client.get("/board/lines/").content.decode()
    assert 'data-refresh-url="/board/lines/"' in page
    assert lines.strip() in page and "<html" not in lines


def test_its_cost_does_not_grow_with_the_farm(farm: Farm, client_of, django_assert_max_num_queries):
    crew_it(farm, 40)
    client = client_of("rosa")
    with django_assert_max_num_queries(16):
        html = client.get("/").content.decode()
    assert "of 42" in html and "and 35 more" in html


def crew_it(farm: Farm, count: int) -> None:
    """`count` more pickers in the red crew, each with a bag since yesterday."""
    yesterday = timezone.now() - timedelta(days=1)
    pickers = Picker.objects.bulk_create(Picker(number=f"9{n:03}", name=f"Picker {n}") for n in range(count))
    lend_new(pickers, yesterday.date())
    join(farm.pen(), pickers, farm.crews["red"], at=yesterday - timedelta(days=1))
    pen = Pen(farm.users["rosa"], "A", yesterday)
    items = dict(
        ItemState.objects.filter(tag__in=farm.gear("bag", count, days_ago=9)).values_list("tag", "item")
    )
    pen.record(
        [
            pen.draft("handed_out", item=item, picker=picker.pk, crew=farm.crews["red"].pk)
            for item, picker in zip(items.values(), pickers, strict=True)
        ],
        "note",
    )
