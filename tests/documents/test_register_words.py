"""What a register's cells say: names looked up in bulk, in the language of the reader, on the farm's clock."""

from datetime import UTC, date, datetime
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone, translation

from crews.models import Block, Picker
from equipment.documents.registers.words import Words, read_by
from equipment.models import Entry, Item, Note
from equipment.models.registers import Named
from tests.documents.a_register import line


def say(*cells):
    words = Words()
    words.learn([line(1, *cells)])
    return [words.say(cell) for cell in cells]


def test_what_needs_no_name_is_said_on_the_farms_clock():
    at = datetime(2026, 11, 16, 22, 30, 59, tzinfo=UTC)
    cells = (at, date(2026, 11, 16), "Ana", 12, Decimal("12.50"), True, False, None)
    assert say(*cells) == ["17 Nov 2026 00:30", "16 Nov 2026", "Ana", "12", "12.50", "yes", "no", ""]
    with timezone.override("Asia/Ho_Chi_Minh"):
        assert say(at) == ["17 Nov 2026 05:30"]


def test_days_and_numbers_are_said_in_the_language_of_the_reader(settings):
    settings.LANGUAGES = [("en", "English"), ("pt", "Português")]
    cells = (date(2026, 2, 16), datetime(2026, 2, 16, 10, tzinfo=UTC), Decimal("0.5"))
    assert say(*cells) == ["16 Feb 2026", "16 Feb 2026 12:00", "0.5"]
    with translation.override("pt"):
        assert say(*cells) == ["16 Fev 2026", "16 Fev 2026 12:00", "0,5"]


def test_a_tuple_is_said_as_several_lines_without_empty_ones():
    assert say(("one", None, Named("word", "two"), ("three", ""), 4)) == ["one\ntwo\nthree\n4"]
    assert say(()) == [""]


def test_codes_and_numbers_are_said_by_name(farm):
    tag = farm.gear("bag")[0]
    item = Item.objects.get(labels__code=tag)
    farm.users["rosa"].first_name, farm.users["rosa"].last_name = "Rosa", "Olivier"
    farm.users["rosa"].save()
    Block.objects.filter(pk="N4").update(name="Voorhuis")
    ana = farm.pickers["ana"]
    said = {
        Named("picker", ana.pk): "Ana (1)",
        Named("user", farm.users["rosa"].pk): "Rosa Olivier",
        Named("user", farm.users["sam"].pk): "sam",
        Named("device", str(farm.device.pk)): "A1",
        Named("kind", "bag"): "Picking bag",
        Named("crew", farm.crews["red"].pk): "Red crew",
        Named("block", "N4"): "N4 Voorhuis",
        Named("block", "S2"): "S2",
        Named("store", "A"): "Store A",
        Named("tag", str(item.pk)): tag,
        Named("fault", "tag_unreadable"): "Tag unreadable",
        Named("agent", "bleach"): "Household bleach (sodium hypochlorite)",
        Named("recipe", "clippers_daily_bleach"): "Clippers, every day: bleach 0.5 %",
        Named("word", "Signature"): "Signature",
        Named("picker", 0): "",
        Named("crew", ""): "",
    }
    assert say(*said) == [*said.values()]


def test_a_piece_is_said_by_the_label_that_it_wears(farm, post):
    old = farm.gear("bag")[0]
    item = Item.objects.get(labels__code=old)
    post(farm.entry("retagged", item=old, detail={"tag": "BG9999B"}))
    from equipment.models import ItemState

    assert say(Named("tag", str(item.pk))) == [ItemState.objects.get(pk=item.pk).tag]


def test_what_is_not_known_any_more_says_what_it_is(db):
    unknown = str(uuid4())
    cells = [
        Named("picker", 77), Named("user", 77), Named("tag", unknown), Named("kind", "sledge"),
        Named("crew", "CW9"), Named("block", "Z9"), Named("store", "Z"), Named("device", unknown),
        Named("goods", "nails"), Named("fault", "bent_moon"),
    ]  # fmt: skip
    assert say(*cells) == [
        "unknown picker 77", "unknown user 77", f"unknown piece {unknown}", "unknown kind sledge",
        "unknown crew CW9", "unknown block Z9", "unknown store Z", f"unknown device {unknown}",
        "unknown goods nails", "bent_moon",
    ]  # fmt: skip


def test_a_note_is_said_and_an_erased_one_says_erased(farm, post):
    bag = farm.gear("bag")[0]
    post(farm.entry("fault_found", item=bag, detail={"fault": "hurt_someone"}, note="It fell."))
    entry = Entry.objects.get(verb="fault_found")
    note = Named("note", str(entry.pk), entry.note_digest)
    assert say(note, Named("note", str(uuid4()))) == ["It fell.", ""]
    Note.objects.filter(pk=entry.pk).update(text="", salt="", erased_at=timezone.now())
    assert say(note) == ["erased"]


def test_a_picker_whose_name_was_erased_says_erased(farm):
    Picker.objects.filter(pk=farm.pickers["ana"].pk).update(name="")
    assert say(Named("picker", farm.pickers["ana"].pk)) == ["erased"]


@pytest.mark.parametrize("count", [1, 400])
def test_queries_do_not_grow_with_the_lines(farm, count):
    tags = farm.gear("bag", 2)
    items = list(Item.objects.filter(labels__code__in=tags).values_list("pk", flat=True))
    pickers = [person.pk for person in farm.pickers.values()]
    what = [
        line(n, Named("picker", pickers[n % 3]), Named("tag", str(items[n % 2])), Named("note", str(uuid4())))
        for n in range(count)
    ]
    words = Words()
    with CaptureQueriesContext(connection) as queries:
        assert len([words.say(cell) for each in read_by(words, what) for cell in each.cells]) == 3 * count
    assert len(queries) == 4
