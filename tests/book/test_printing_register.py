"""A register is printed as of heads: the same printing gives the same lines, byte for byte, whatever came later."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from equipment.actions.print_register import canonical, count, digest, lines_of, print_register
from equipment.models import Entry, Printing
from equipment.models.registers import REGISTERS, Asked, heads_now

HANDOUT = REGISTERS["handout"]


def asked(**limits):
    today = timezone.localdate()
    return Asked(today - timedelta(days=1), today, **limits)


def test_a_printing_keeps_what_was_asked_the_heads_and_the_digest(farm, post):
    bag = farm.gear("bag")[0]
    post(farm.entry("handed_out", item=bag, picker=farm.badges["ana"]))
    at = timezone.now()
    made = print_register(HANDOUT, asked(store="A"), "pdf", farm.users["olga"], at)
    made = Printing.objects.get(pk=made.pk)
    assert (made.lines, made.by, made.at, made.form) == (1, farm.users["olga"], at, "pdf")
    assert made.what == asked(store="A") and made.at_heads == heads_now()
    assert digest(HANDOUT, made.what, made.at_heads) == (1, made.digest)
    assert made.code.startswith("PR") and str(made) == made.code


def test_the_same_printing_is_made_again_byte_for_byte_after_later_entries(farm, post):
    bags = farm.gear("bag", 3)
    post(*(farm.entry("handed_out", item=bag, picker=farm.badges["ana"]) for bag in bags[:2]))
    made = print_register(HANDOUT, asked(), "pdf", None, timezone.now())
    before = list(canonical(HANDOUT, made.what, made.at_heads))
    post(farm.entry("handed_out", item=bags[2], picker=farm.badges["ben"]))
    late = timezone.now() - timedelta(hours=3)
    post(
        farm.entry("returned", item=bags[0]),
        farm.entry("fault_found", item=bags[1], at=late, detail={"fault": "strap_torn"}),
    )
    assert count(HANDOUT, asked(), heads_now()) == 3  # one bag is back, one is not, and Ben's
    assert list(canonical(HANDOUT, made.what, made.at_heads, lines_of(made))) == before
    assert digest(HANDOUT, made.what, made.at_heads) == (1, made.digest)
    again = print_register(HANDOUT, asked(), "csv", None, timezone.now())
    assert again.digest != made.digest and again.lines == 3


def test_what_is_taken_back_later_still_stands_in_what_was_printed_before(farm, post):
    bag = farm.gear("bag")[0]
    post(farm.entry("handed_out", item=bag, picker=farm.badges["ana"]))
    made = print_register(HANDOUT, asked(), "pdf", None, timezone.now())
    entry = Entry.objects.get(verb="handed_out")
    post(farm.entry("reversed", item=bag, detail={"entry": str(entry.pk)}))
    assert digest(HANDOUT, made.what, made.at_heads) == (1, made.digest)
    assert count(HANDOUT, asked(), heads_now()) == 0


def test_an_empty_book_prints_an_empty_register(farm):
    nothing = print_register(
        HANDOUT, asked(crew=farm.crews["blue"].pk), "pdf", None, timezone.now(), heads={}
    )
    assert nothing.lines == 0 and len(nothing.digest) == 64


def test_different_questions_have_different_digests_even_where_nothing_is_found(farm):
    heads = heads_now()
    assert digest(HANDOUT, asked(), heads) != digest(HANDOUT, asked(store="A"), heads)
    assert digest(HANDOUT, asked(), heads) != digest(HANDOUT, asked(), {})


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [
        (date(2026, 11, 22), date(2026, 11, 16), "before the first"),
        (date(202, 11, 16), date(2026, 11, 22), "Check the year"),
        (date(2026, 11, 16), date(9999, 12, 31), "Check the year"),
    ],
)
def test_days_that_make_no_period_are_said(first, last, said):
    with pytest.raises(ValueError, match=said):
        Asked(first, last)
