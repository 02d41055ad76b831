"""Lists go in whole or not at all, and the same list again changes nothing."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from django.utils import timezone

from crews.models import Badge, BadgeLoan, Block, Crew, DayPlan, Picker, Store
from equipment.actions.importing import KINDS, Result, import_list, stores
from equipment.actions.importing.kinds import Given
from equipment.actions.importing.results import Findings
from equipment.domain import codes
from equipment.models import Entry, Item, ItemState, Membership
from tests.cast import Farm, user
from tests.farm import Post

DEMO = Path(__file__).parents[2] / "fixtures_demo"
Import = Callable[..., Result]


@pytest.fixture
def bring(farm: Farm) -> Import:
    """Import lines of a list as Frank."""

    def importing(kind: str, *lines: str, dry_run: bool = False) -> Result:
        data = "\n".join(lines).encode()
        return import_list(kind, data, farm.users["frank"], timezone.now(), dry_run=dry_run)

    return importing


def bad(result: Result) -> list[tuple[int, str, str]]:
    return [(cell.line, cell.column, cell.value) for cell in result.bad]


def everything() -> list[int]:
    return [
        model.objects.count()
        for model in (Store, Crew, Block, Picker, DayPlan, Badge, BadgeLoan, Item, Entry)
    ]


def test_the_whole_demo_farm_goes_in(farm: Farm) -> None:
    for name in ("supervisor", *(f"supervisor{number}" for number in range(2, 9))):
        user(name, "supervisor")
    before = everything()
    wanted = {"stores": 2, "crews": 8, "blocks": 12, "pickers": 240, "plans": 9, "gear": 82}
    for kind, count in wanted.items():
        data = (DEMO / f"{kind}.csv").read_bytes()
        looked = import_list(kind, data, farm.users["frank"], timezone.now(), dry_run=True)
        done = import_list(kind, data, farm.users["frank"], timezone.now())
        assert (looked.bad, len(looked.added), len(done.added)) == ((), count, count)
        assert looked.new_pieces == done.new_pieces
    stores, crews, blocks, pickers, plans, badges, loans, items, entries = (
        after - was for after, was in zip(everything(), before, strict=True)
    )
    assert (stores, crews, blocks, pickers, plans) == (2, 8, 12, 240, 9)
    assert (badges, loans) == (240, 240)
    assert items == 1259
    assert entries == 240 + 1259
    assert Membership.objects.filter(crew__name="Hoopoe").count() == 31
    assert set(Entry.objects.filter(crew__name="Sunbird").values_list("store", flat=True)) == {"RIVER"}


@pytest.mark.parametrize("kind", sorted(set(KINDS) - {"gear"}))
def test_the_same_list_again_changes_nothing(kind: str, farm: Farm) -> None:
    farm.users["supervisor"] = user("supervisor", "supervisor")
    for number in range(2, 9):
        user(f"supervisor{number}", "supervisor")
    data = {name: (DEMO / f"{name}.csv").read_bytes() for name in KINDS}
    for name in ("stores", "crews", "blocks", kind):
        assert import_list(name, data[name], farm.users["frank"], timezone.now()).good
    before = everything()
    again = import_list(kind, data[kind], farm.users["frank"], timezone.now())
    assert (again.added, again.changed, again.unchanged) == ((), (), again.rows)
    assert (everything(), again.new_cards) == (before, 0)


def test_one_bad_row_in_five_thousand_leaves_nothing_changed(bring: Import) -> None:
    rows = [f"{number},Picker {number},Red crew,right" for number in range(1000, 6000)]
    rows[4321] = "5321,Picker 5321,Green crew,right"
    before = everything()
    result = bring("pickers", "number,name,crew,hand", *rows)
    assert bad(result) == [(4323, "crew", "Green crew")]
    assert "no such crew" in result.bad[0].reason
    assert everything() == before


def test_thousands_of_rows_take_few_queries(bring: Import, django_assert_max_num_queries) -> None:  # type: ignore[no-untyped-def]
    """Reading is a fixed number of queries; writing is in bulk, where SQLite takes some 1,000 values at a time."""
    rows = [f"{n},Picker {n},{'Red' if n % 2 else 'Blue'} crew" for n in range(1000, 6000)]
    with django_assert_max_num_queries(10):
        assert bring("pickers", "number,name,crew", *rows, dry_run=True).new_cards == 5000
    with django_assert_max_num_queries(120):
        assert len(bring("pickers", "number,name,crew", *rows[:1000]).added) == 1000
    assert Membership.objects.count() == 1003


def test_bad_cells_are_all_named_and_shown_up_to_a_number(bring: Import) -> None:
    result = bring("pickers", "number,name,crew,hand", *(f"{n},,Nowhere,up" for n in range(150)))
    assert (len(result.bad), result.bad_count, result.bad_left_out) == (200, 300, 100)
    result = bring("pickers", "number,name,crew,hand", "7,Dan,Nowhere,up")
    assert bad(result) == [(2, "crew", "Nowhere"), (2, "hand", "up")]


@pytest.mark.parametrize(
    ("kind", "lines", "place"),
    [
        ("stores", ["code,name", "C,One", "c,Two"], (3, "code", "C")),
        ("stores", ["code,name", "a/b,One"], (2, "code", "a/b")),
        ("crews", ["name,store", "New,Z"], (2, "store", "Z")),
        ("crews", ["name,store,supervisor", "New,A,nobody"], (2, "supervisor", "nobody")),
        ("crews", ["name,store", "New,A", "NEW,A"], (3, "name", "NEW")),
        ("crews", ["name,store,code", "New,A,BG0001E"], (2, "code", "BG0001E")),
        ("blocks", ["code,crop,hectares", "N5,lemon,x"], (2, "hectares", "x")),
        ("pickers", ["number,name", "9,Dan", "9,Eve"], (3, "number", "9")),
        ("plans", ["date,crew,block", "2026-03-25,Red crew,N9"], (2, "block", "N9")),
        ("plans", ["date,crew,block", "2026-03-25,Green,N4"], (2, "crew", "Green")),
        ("gear", ["kind,store", "spade,A"], (2, "kind", "spade")),
        ("gear", ["kind,store", "bag,Z"], (2, "store", "Z")),
        ("gear", ["kind,store,hand", "bag,A,left"], (2, "hand", "left")),
    ],
)
def test_what_stands_in_the_way(
    kind: str, lines: list[str], place: tuple[int, str, str], bring: Import
) -> None:
    before = everything()
    assert bad(bring(kind, *lines)) == [place]
    assert everything() == before


def test_a_column_left_out_leaves_and_an_empty_cell_empties(bring: Import) -> None:
    bring("blocks", "code,crop,variety,tall_trees", "N4,lemon,Eureka,yes")
    assert bring("blocks", "code,crop", "n4,lemon").unchanged == 1
    (changed,) = bring("blocks", "code,crop,variety", "N4,lemon,").changed
    assert [(d.column, d.before, d.after) for d in changed.differences] == [("variety", "Eureka", "–")]
    block = Block.objects.get(pk="N4")
    assert (block.variety, block.tall_trees) == ("", True)


def test_a_dry_run_writes_nothing(bring: Import) -> None:
    before = everything()
    assert (
        bring("pickers", "number,name,crew", "1,Ana,Blue crew", "9,Dan,Red crew", dry_run=True).new_cards == 1
    )
    assert everything() == before


def test_pickers_join_and_leave_by_entries_of_the_book(farm: Farm, bring: Import) -> None:
    result = bring(
        "pickers", "number,name,crew", "1,Ana,Blue crew", "2,Ben,", "3,Cy,Blue crew", "9,Dan,red CREW"
    )
    assert (len(result.added), len(result.changed), result.unchanged, result.missing) == (1, 2, 1, ())
    in_crew = dict(Membership.objects.values_list("picker__name", "crew__name"))
    assert in_crew == {"Ana": "Blue crew", "Cy": "Blue crew", "Dan": "Red crew"}
    last = Entry.objects.filter(crew__isnull=False, item=None).order_by("recorded_at", "device_seq")
    lines = [(e.verb, e.crew.name, e.store_id) for e in last.select_related("crew")][-4:]
    assert lines == [
        ("parted", "Red crew", "A"),
        ("joined", "Blue crew", "B"),
        ("parted", "Red crew", "A"),
        ("joined", "Red crew", "A"),
    ]


def test_who_is_missing_and_what_they_still_hold(farm: Farm, bring: Import, post: Post) -> None:
    bag, clippers = farm.gear("bag")[0], farm.gear("clippers")[0]
    post(*(farm.entry("handed_out", item=tag, picker=farm.badges["ben"]) for tag in (bag, clippers)))
    result = bring("pickers", "number,name,crew", "1,Ana,Red crew", "9,Dan,Red crew")
    assert [(m.name, m.crew, m.tags) for m in result.missing] == [
        ("Ben", "Red crew", (bag, clippers)),
        ("Cy", "Blue crew", ()),
    ]
    assert Membership.objects.filter(picker=farm.pickers["ben"]).exists()


class TestCards:
    def test_a_new_picker_gets_one_and_a_returning_one_without_too(self, farm: Farm, bring: Import) -> None:
        BadgeLoan.objects.filter(picker=farm.pickers["ana"]).update(
            to_day=timezone.localdate() - timedelta(days=1)
        )
        result = bring("pickers", "number,name,crew", "1,Ana,Red crew", "2,Ben,Red crew", "9,Dan,Red crew")
        assert result.new_cards == 2
        assert BadgeLoan.objects.on(timezone.localdate()).filter(picker__number__in=("1", "9")).count() == 2

    def test_a_card_of_the_list_is_lent_and_the_old_one_given_back_alive(
        self, farm: Farm, bring: Import
    ) -> None:
        code = codes.make(codes.BADGE, 4711)
        result = bring("pickers", "number,name,badge", f"1,Ana,{code.lower()}", "2,Ben,")
        assert (len(result.changed), result.unchanged, result.new_cards) == (1, 1, 0)
        today = BadgeLoan.objects.on(timezone.localdate()).filter(picker=farm.pickers["ana"])
        assert [loan.badge_id for loan in today] == [code]
        assert Badge.objects.get(pk=farm.badges["ana"]).died_on is None
        assert bring("pickers", "number,name,badge", f"1,Ana,{code}").unchanged == 1

    @pytest.mark.parametrize("why", ["lent", "dead", "day card", "no card", "misread", "twice"])
    def test_a_card_that_cannot_be_theirs_is_named(self, why: str, farm: Farm, bring: Import) -> None:
        dead, day = (codes.make(codes.BADGE, number) for number in (801, 802))
        Badge.objects.create(code=dead, died_on=timezone.localdate(), why="lost")
        Badge.objects.create(code=day, day_card=True)
        code = {"lent": farm.badges["ben"], "dead": dead, "day card": day, "no card": "BG0001E"}.get(
            why, "PK4711A"
        )
        lines = [f"1,Ana,{code}"]
        if why == "twice":
            code = codes.make(codes.BADGE, 803)
            lines = [f"1,Ana,{code}", f"9,Dan,{code}"]
        result = bring("pickers", "number,name,badge", *lines)
        assert [(cell.line, cell.column) for cell in result.bad] == [(len(lines) + 1, "badge")]


class TestGear:
    def test_rows_become_pieces_with_numbers_of_their_own(self, bring: Import) -> None:
        result = bring(
            "gear", "kind;store;count;make;price", "Picking bag;a;3;Draagsel;385,00", "clippers;B;;Snawel;"
        )
        assert (result.new_pieces, len(result.added)) == (4, 2)
        assert list(Item.objects.filter(kind="bag").values_list("make", flat=True)) == ["Draagsel"] * 3
        assert Item.objects.filter(price=385).count() == 3
        assert Entry.objects.filter(act=result.act).count() == 4

    def test_a_tag_is_kept_and_known_again(self, bring: Import) -> None:
        given, next_one = codes.make("BG", 2), codes.make("BG", 1)
        lines = ("kind,store,make,tag", f"bag,A,Draagsel,{given}", "bag,A,Draagsel,", "bag,A,Skouersak,")
        assert bring("gear", *lines).new_pieces == 3
        worn = set(ItemState.objects.values_list("tag", flat=True))
        assert worn == {next_one, given, codes.make("BG", 3)}
        again = bring("gear", lines[0], f"bag,A,Other,{given}")
        assert (again.new_pieces, again.unchanged) == (0, 1)
        assert given in again.warnings[0]
        assert bad(bring("gear", lines[0], f"clippers,A,,{given}")) == [(2, "tag", given)]

    def test_a_delivery_that_is_there_already_is_told(self, bring: Import) -> None:
        lines = ("kind,store,count,delivery", "bag,A,5,GFS 1")
        assert bring("gear", *lines).warnings == ()
        assert "imported before" in bring("gear", *lines, dry_run=True).warnings[0]

    def test_too_many_pieces_are_refused(self, bring: Import) -> None:
        result = bring("gear", "kind,store,count,make", *(f"bag,A,5000,{make}" for make in "abcde"))
        assert bad(result) == [(0, "count", "25000")]
        assert not Item.objects.exists()

    @pytest.mark.parametrize("prefix", ["PK", "CW", "ST", "CT"])
    def test_a_card_is_no_piece_of_gear(self, prefix: str, bring: Import) -> None:
        tag = codes.make(prefix, 5)
        assert bad(bring("gear", "kind,store,tag", f"bag,A,{tag}")) == [(2, "tag", tag)]


class TestPlans:
    def test_a_plan_that_differs_is_changed_with_a_why(self, farm: Farm, bring: Import) -> None:
        plan = farm.plan("red", "N4")
        lines = ("date,part,crew,block,clipped", f"{plan.date},day,Red crew,S2,no")
        (changed,) = bring("plans", *lines).changed
        assert {d.column for d in changed.differences} == {"block", "clipped"}
        plan.refresh_from_db()
        assert (plan.block_id, plan.clipped, plan.state) == ("S2", False, "changed")
        assert [(change.by, bool(change.why)) for change in plan.changes.all()] == [
            (farm.users["frank"], True)
        ]
        assert bring("plans", *lines).unchanged == 1

    def test_a_crew_by_name_and_by_code_is_one_crew(self, farm: Farm, bring: Import) -> None:
        code = farm.crews["red"].pk
        lines = ("date,crew,block", "2026-03-25,Red crew,N4", f"2026-03-25,{code},S2")
        assert bad(bring("plans", *lines)) == [(3, "crew", code)]

    def test_two_plans_for_the_same_hours_are_told(self, bring: Import) -> None:
        lines = ("date,part,crew,block", "2026-03-25,day,Red crew,N4", "2026-03-25,morning,Red crew,S2")
        assert "Red crew" in bring("plans", *lines).warnings[0]


def test_what_another_wrote_meanwhile_is_no_fault(bring: Import, monkeypatch: pytest.MonkeyPatch) -> None:
    def overtaken(given: Given) -> Findings:
        findings = stores.compare(given)
        Store.objects.create(code="C", name="Another's")
        return findings

    monkeypatch.setitem(KINDS, "stores", replace(KINDS["stores"], compare=overtaken))
    result = bring("stores", "code,name", "C,Third")
    assert bad(result) == [(0, "", "")]
    assert "same moment" in result.bad[0].reason


def test_a_crew_keeps_its_code_and_takes_a_new_supervisor(farm: Farm, bring: Import) -> None:
    code = farm.crews["red"].pk
    (changed,) = bring("crews", "name,store,supervisor", "RED crew,B,Olga").changed
    assert {d.column for d in changed.differences} == {"name", "store", "supervisor"}
    crew = Crew.objects.get(pk=code)
    assert (crew.name, crew.store_id, crew.supervisor) == ("RED crew", "B", farm.users["olga"])
    result = bring("crews", "name,store,code", f"RED crew,B,{farm.crews['blue'].pk}")
    assert [cell.column for cell in result.bad] == ["code"]
