"""Charts: what they count is counted again, entry by entry; paper and page show the same; no colour has to be seen."""

import random
import re
from collections import Counter
from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any
from xml.etree import ElementTree

import pytest
from django.utils import timezone
from reportlab.graphics.shapes import Drawing, Line, Rect

from equipment.actions.inspect_item import all_good
from equipment.documents.charts import CHARTS, drawing, svg
from equipment.documents.charts.bars import Bar, Bars
from equipment.documents.charts.hatching import PATTERNS, Box, filled
from equipment.documents.charts.paper import Of, charts_pdf
from equipment.domain.verbs.written_off import CIRCUMSTANCES
from equipment.models import Entry
from equipment.models.charts import Window, faults, losses, sterilised
from tests.cast import Farm
from tests.documents import reading
from tests.printing import at, take_back, write

DIPS = (
    {"recipe": "clippers_daily_bleach", "seconds": 600},
    {"recipe": "clippers_daily_bleach", "seconds": 599},
    {"recipe": None, "seconds": 600},
    {"recipe": "clippers_daily_bleach"},
)


@pytest.fixture
def season(ruled_farm: Farm) -> Farm:
    """Forty days of clippers going out, dipped well, badly or not; faults, inspections, write-offs; some taken back."""
    dice = random.Random(19)
    tags = ruled_farm.gear("clippers", 5, days_ago=45) + ruled_farm.gear("bag", 4, days_ago=45)
    for days_ago in range(40, 0, -2):
        for tag in dice.sample(tags, 3):
            _a_day(ruled_farm, dice, tag, days_ago)
    for number, how in enumerate(("lost", "stolen", "lost", "worn_out")):
        tag = ruled_farm.gear("bag", days_ago=45)[0]
        write(
            ruled_farm,
            "written_off",
            at(38 - 12 * number),
            tag,
            detail={"circumstance": how},
            store="AB"[number % 2],
        )
    return ruled_farm


def _a_day(farm: Farm, dice: random.Random, tag: str, days_ago: int) -> None:
    if tag.startswith("CL") and dice.random() < 0.7:
        detail = {"method": "sterilise", **dice.choice(DIPS)}
        dipped = write(farm, "cleaned", at(days_ago, "04:00"), tag, detail=detail)
        if dice.random() < 0.2:
            take_back(farm, dipped)
    out = write(farm, "handed_out", at(days_ago), tag, crew="red", picker="ana", store=dice.choice("AB"))
    if dice.random() < 0.15:
        take_back(farm, out)
    fault = {"BG": "bag_hole", "CL": "clippers_spring_worn"}[tag[:2]]
    if dice.random() < 0.4:
        found = write(
            farm, "fault_found", at(days_ago, "11:00"), tag, detail={"fault": dice.choice([fault, "dirty"])}
        )
        if dice.random() < 0.2:
            take_back(farm, found)
    write(farm, "returned", at(days_ago, "15:00"), tag)
    if tag.startswith("BG"):
        answers = all_good("bag_weekly") | {point: dice.choice(["yes", "no"]) for point in ("seams", "cloth")}
        detail = {"checklist": "bag_weekly", "answers": answers}
        write(farm, "inspected", at(days_ago, "16:00"), tag, detail=detail)


def standing(first: date, last: date, store: str = "") -> Iterator[Entry]:
    """Every entry of the days, one by one, without those that were taken back."""
    undone = {entry.detail["entry"] for entry in Entry.objects.filter(verb="reversed")}
    for entry in Entry.objects.select_related("item").order_by("happened_at"):
        within = first <= timezone.localdate(entry.happened_at) <= last
        if within and str(entry.pk) not in undone and store in ("", entry.store_id):
            yield entry


def days() -> tuple[date, date]:
    today = timezone.localdate()
    return today - timedelta(days=33), today - timedelta(days=3)


def test_it_is_what_counting_by_hand_gives(season: Farm, django_assert_num_queries: Any) -> None:
    for store in ("", "A", "B"):
        _sterilised_by_hand(store, django_assert_num_queries)
        _faults_by_hand(store, django_assert_num_queries)
        _losses_by_hand(store, django_assert_num_queries)


def _sterilised_by_hand(store: str, one_query: Any) -> None:
    first, last = days()
    wanted: dict[date, Counter[str]] = {}
    dipped: dict[Any, bool] = {}
    for entry in standing(date(2000, 1, 1), last):
        if (
            entry.verb == "cleaned"
            and entry.detail["method"] == "sterilise"
            and not entry.detail.get("wrong")
        ):
            long_enough = (entry.detail.get("seconds") or 0) >= (entry.detail.get("needs_seconds") or 0)
            dipped[entry.item_id] = dipped.get(entry.item_id, False) or long_enough
        if entry.verb == "handed_out":
            day = timezone.localdate(entry.happened_at)
            if entry.item.kind_id == "clippers" and day >= first and store in ("", entry.store_id):
                week = wanted.setdefault(day - timedelta(days=day.weekday()), Counter())
                week["out"] += 1
                week["sterile"] += dipped.get(entry.item_id, False)
            dipped[entry.item_id] = False
    with one_query(1):
        found = sterilised(Window(first, last, store), ["clippers"])
    assert {week.monday: (week.out, week.sterile) for week in found if week.out} == {
        monday: (week["out"], week["sterile"]) for monday, week in wanted.items()
    }
    sterile, out = (sum(week[name] for week in wanted.values()) for name in ("sterile", "out"))
    assert store or 0 < sterile < out
    mondays = [week.monday for week in found]
    assert mondays == [mondays[0] + timedelta(weeks=n) for n in range(len(mondays))]


def _faults_by_hand(store: str, one_query: Any) -> None:
    first, last = days()
    wanted: Counter[tuple[str, str]] = Counter()
    for entry in standing(first, last, store):
        named = [entry.detail["fault"]] if entry.verb == "fault_found" else []
        named += entry.detail.get("failed", {}).values() if entry.verb == "inspected" else []
        wanted.update((entry.item.kind_id, fault) for fault in set(named) - {"dirty", ""})
    with one_query(1):
        found = faults(Window(first, last, store), {"dirty"})
    assert {(row.kind, row.fault): row.count for row in found} == wanted
    assert [row.count for row in found] == sorted((row.count for row in found), reverse=True)
    assert store or any(entry.detail.get("failed") for entry in standing(first, last))


def _losses_by_hand(store: str, one_query: Any) -> None:
    first, last = timezone.localdate() - timedelta(days=60), timezone.localdate()
    wanted: Counter[tuple[date, str]] = Counter()
    for entry in standing(first, last, store):
        if entry.verb == "written_off":
            month = timezone.localdate(entry.happened_at).replace(day=1)
            wanted[month, entry.detail["circumstance"]] += 1
    with one_query(1):
        found = losses(Window(first, last, store))
    assert {(row.month, row.circumstance): row.count for row in found} == wanted
    assert len(wanted) > 1


def test_page_and_paper_show_the_same_words_and_figures(
    season: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, last = days()
    now = timezone.now()
    made = [(chart, chart.figures(Window(first, last), now)) for chart in CHARTS.values()]
    pages = reading.words(charts_pdf(Of("Farm", "some days", now, "Letter"), made))
    paper = " ".join(pages)
    for chart, figures in made:
        picture = svg(figures.bars, chart.title, chart.about)
        said = [
            text.text for text in ElementTree.fromstring(picture).iter("{http://www.w3.org/2000/svg}text")
        ]
        assert said
        for words in [chart.title, *said, *map(str, figures.rows[0]), *figures.head]:
            assert words in paper
        assert chart.about in paper
        assert chart.title in picture and "…" not in "".join(said)
    assert reading.sizes(charts_pdf(Of("Farm", "some days", now, "Letter"), made)) == {(215.9, 279.4)}
    monkeypatch.setattr("equipment.documents.charts.sterilised.MOST_BARS", 2)
    figures = CHARTS["sterilised"].figures(Window(first, last), now)
    assert len(figures.bars.rows) == 2 and figures.left_out == len(figures.rows) - 2 > 0


@pytest.mark.parametrize("name", CHARTS)
def test_days_without_anything_say_so(ruled_farm: Farm, name: str) -> None:
    chart, now = CHARTS[name], timezone.now()
    figures = chart.figures(Window(date(2001, 1, 1), date(2001, 2, 1)), now)
    assert figures.bars is None and not figures.rows
    assert chart.empty in reading.words(charts_pdf(Of("Farm", "", now), [(chart, figures)]))[0]


def test_a_share_is_never_called_whole_that_is_not() -> None:
    from equipment.documents.charts.sterilised import share
    from equipment.models.charts import Week

    said = [
        share(Week(date(2026, 6, 1), out, sterile)) for out, sterile in ((1000, 999), (3, 3), (3, 2), (0, 0))
    ]
    assert said == ["99 %", "100 %", "66 %", "–"]


def test_no_two_patterns_look_alike_without_colour() -> None:
    assert len(PATTERNS) >= len(CIRCUMSTANCES)
    made = [repr(_marks(pattern)) for pattern in range(len(PATTERNS))]
    assert len(set(made)) == len(PATTERNS)
    for pattern in range(len(PATTERNS)):
        for shape in filled(Box(10, 5, 30, 12), pattern).contents:
            if isinstance(shape, Line):
                assert all(9.99 <= x <= 40.01 for x in (shape.x1, shape.x2))
                assert all(4.99 <= y <= 17.01 for y in (shape.y1, shape.y2))


def _marks(pattern: int) -> Any:
    """What is drawn, colours left out but for filled or not."""
    return [
        (
            type(s).__name__,
            *sorted((k, v) for k, v in vars(s).items() if isinstance(v, int | float)),
            _filled(s),
        )
        for s in filled(Box(0, 0, 40, 12), pattern).contents
    ]


def _filled(shape: Any) -> bool:
    return isinstance(shape, Rect) and shape.fillColor is not None


def test_words_are_safe_and_fit() -> None:
    long = "Ladder & <script>alert(1)</script> " * 10
    bars = Bars([Bar(long, ((0.5, 0),), "7")], before=0, behind=44)
    assert isinstance(drawing(bars), Drawing)
    picture = svg(bars, "a < b", "& more")
    assert not re.search(r"<script", picture)
    (words, figure) = [
        each.text for each in ElementTree.fromstring(picture).iter("{http://www.w3.org/2000/svg}text")
    ]
    assert words.startswith("Ladder & <script>") and words.endswith("…") and figure == "7"
