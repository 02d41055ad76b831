"""Verify: whether a paper still agrees with the book, which entry is to blame if not, and what came since."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from equipment.actions.print_register import print_register
from equipment.actions.verify_printing import meanwhile, verify
from equipment.domain import chain, codes
from equipment.ledger import columns_of
from equipment.models import ChainHead, Entry, Item, Note, Printing, triggers
from equipment.models.registers import REGISTERS
from equipment.pages.registers import verifying
from tests.cast import ROLES, Farm
from tests.documents import reading
from tests.farm import SignIn
from tests.pages.test_registers import body
from tests.printing import asked, at, take_back, write

Meddle = Callable[..., None]
AGREES, DOES_NOT = "This paper agrees with the book.", "This paper does not agree with the book."
LINES_ONLY = "The lines of this paper are in the book, but the book was changed."


@pytest.fixture
def bags(ruled_farm: Farm) -> list[str]:
    """Three bags that went to the red crew on three days."""
    tags = ruled_farm.gear("bag", 3, days_ago=20)
    for days_ago, tag in enumerate(tags, start=4):
        write(ruled_farm, "handed_out", at(days_ago), tag, crew="red", picker="ana")
    return tags


@pytest.fixture
def meddle(db: None) -> Meddle:
    """SQL past the triggers, by somebody who owns the machine; then the triggers stand again."""

    def meddled(sql: str, *params: Any) -> None:
        triggers.drop(connection)
        with connection.cursor() as cursor:
            cursor.execute(sql, params)
        triggers.install(connection)

    return meddled


def stored(field: str, value: Any) -> Any:
    """A value as this database's driver takes it."""
    return Entry._meta.get_field(field).get_db_prep_value(value, connection)


def printing(farm: Farm, name: str = "handout", **limits: Any) -> Printing:
    return print_register(REGISTERS[name], asked(**limits), "pdf", farm.users["olga"], timezone.now())


def page(client: Client, of: Printing, digest: str | None = None) -> str:
    """What Verify says of the paper, whose digest is read as well."""
    answer = client.get(f"/verify/{of.code}/", {"digest": of.digest if digest is None else digest})
    assert answer.status_code == 200
    return said(body(answer))


def said(html: bytes) -> str:
    return " ".join(html.decode().replace("&#x27;", "'").split())


def handed_out(tag: str) -> Entry:
    return Entry.objects.get(verb="handed_out", item__labels__code=tag)


def test_a_paper_as_it_was_printed_agrees(as_: SignIn, bags: list[str], ruled_farm: Farm) -> None:
    of = printing(ruled_farm)
    answer = page(as_("olga"), of)
    assert AGREES in answer and "Its 3 lines were read again" in answer
    assert "The digest that was read from the paper is the one of these lines." in answer
    assert "Nothing has come to this question" in answer
    head = ChainHead.objects.get(store="A")
    assert f"A {head.position}" in answer and head.digest in answer and of.digest in answer
    only_code = page(as_("rosa"), of, "")
    assert AGREES in only_code and "Only the code was read. Compare the digest" in only_code


def test_what_the_symbol_on_the_paper_holds_is_understood(
    as_: SignIn, bags: list[str], ruled_farm: Farm
) -> None:
    olga = as_("olga")
    answer = olga.post(
        "/registers/handout/", {"first": "2026-01-01", "last": f"{timezone.localdate()}", "form": "pdf"}
    )
    (symbol, *_others) = reading.scanned(body(olga.get(answer["Location"])))
    of = Printing.objects.get()
    for typed in (
        symbol,
        symbol.lower(),
        of.code,
        f"https://shed.example/verify/{of.code}/?digest={of.digest}",
    ):
        found = olga.get("/verify/", {"code": typed})
        assert found.status_code == 302
        assert AGREES in said(body(olga.get(found["Location"])))
    assert "digest=" in olga.get("/verify/", {"code": symbol})["Location"]
    assert olga.get(f"/t/{of.code}")["Location"] == f"/verify/{of.code}/"
    assert b"The office can check it" in as_("sam").get(f"/t/{of.code}").content


@pytest.mark.parametrize("name", ROLES)
def test_the_office_verifies(name: str, as_: SignIn, bags: list[str], ruled_farm: Farm) -> None:
    of, may = printing(ruled_farm), name in ("rosa", "olga", "frank")
    for path in ("/verify/", f"/verify/{of.code}/"):
        assert as_(name).get(path).status_code == (200 if may else 403)


def test_who_may_not_print_it_does_not_see_its_lines(as_: SignIn, bags: list[str], ruled_farm: Farm) -> None:
    of = printing(ruled_farm, "losses")
    write(ruled_farm, "written_off", at(1), bags[0], detail={"circumstance": "stolen", "case": "CAS 77"})
    answer = page(as_("rosa"), of)
    assert "1 line was added since" in answer and "CAS 77" not in answer
    assert "Your work does not include this register" in answer and "/registers/losses/" not in answer
    assert "CAS 77" in page(as_("olga"), of)


def test_what_came_since_is_named_and_does_not_make_the_paper_wrong(
    as_: SignIn, bags: list[str], ruled_farm: Farm
) -> None:
    write(ruled_farm, "fault_found", at(6), bags[0], detail={"fault": "bag_hole"})
    struck = write(ruled_farm, "fault_found", at(5), bags[1], detail={"fault": "bag_hole"})
    of = printing(ruled_farm, "faults")
    write(
        ruled_farm,
        "mended",
        at(3),
        bags[0],
        by="mo",
        detail={"fault": "bag_hole", "method": "sewn", "minutes": 3},
    )
    take_back(ruled_farm, struck)
    late = write(
        ruled_farm, "fault_found", at(4), bags[2], detail={"fault": "bag_torn_seam"}, recorded=timezone.now()
    )
    answer = page(as_("olga"), of)
    assert AGREES in answer and "This does not make the paper wrong" in answer
    parts = answer[answer.index("Since it was printed") :]
    added, gone, changed = (
        parts.index(f"1 line {what} since") for what in ("was added", "was taken back", "says more")
    )
    assert added < parts.index(f"A {late.position}") < gone
    assert gone < parts.index(f"A {struck.position}") < changed
    for tag, begin, end in ((bags[2], added, gone), (bags[1], gone, changed), (bags[0], changed, len(parts))):
        assert tag in parts[begin:end]


def test_a_line_of_several_entries_says_more_and_is_not_called_new(
    as_: SignIn, bags: list[str], ruled_farm: Farm
) -> None:
    """Handed out together and printed as one line; then one of them comes back, which parts the line in two."""
    fresh = ruled_farm.gear("bag", 2, days_ago=20)
    for tag in fresh:
        write(ruled_farm, "handed_out", at(2, "09:00"), tag, picker="ben", crew="red")
    of = printing(ruled_farm, "handout")
    write(ruled_farm, "returned", at(1, "16:00"), fresh[1])
    answer = page(as_("olga"), of)
    assert AGREES in answer and "2 lines say more since" in answer
    assert "added since" not in answer and "taken back since" not in answer


def test_an_entry_that_was_altered_is_named(
    as_: SignIn, bags: list[str], ruled_farm: Farm, meddle: Meddle
) -> None:
    of, entry = printing(ruled_farm), handed_out(bags[1])
    ben = ruled_farm.pickers["ben"].pk
    meddle("UPDATE equipment_entry SET picker_id = %s WHERE id = %s", ben, stored("id", entry.pk))
    answer = page(as_("olga"), of)
    assert DOES_NOT in answer and AGREES not in answer
    assert f"Entry A {entry.position} ({entry.pk}, handed_out) does not fit its digest" in answer
    assert "The lines of the book, as of then, are not those that were printed." in answer
    assert answer.count("does not fit its digest") == 1
    problem = answer[answer.index("does not fit its digest") :]
    assert f'href="/gear/{bags[1]}/"' in problem and "It has a line on this paper." in problem
    assert "Make the same printing again" not in answer


def test_an_entry_that_was_taken_out_is_named(
    as_: SignIn, bags: list[str], ruled_farm: Farm, meddle: Meddle
) -> None:
    of, entry = printing(ruled_farm), handed_out(bags[0])
    meddle("DELETE FROM equipment_entry WHERE id = %s", stored("id", entry.pk))
    answer = page(as_("olga"), of)
    assert DOES_NOT in answer and f"Position A {entry.position} is missing." in answer
    assert "3 lines were printed; as of then the book now has 2." in answer


def test_the_last_entries_cut_off_are_missed(
    as_: SignIn, bags: list[str], ruled_farm: Farm, meddle: Meddle
) -> None:
    of, last = printing(ruled_farm), ChainHead.objects.get(store="A").position
    meddle("DELETE FROM equipment_entry WHERE position > %s AND store_id = 'A'", last - 2)
    ChainHead.objects.filter(store="A").update(position=last - 2)
    assert f"The last 2 entries of the store's book, up to A {last}, are gone." in page(as_("olga"), of)


def test_an_entry_altered_elsewhere_is_said_of_the_book_not_of_the_paper(
    as_: SignIn, bags: list[str], ruled_farm: Farm, meddle: Meddle
) -> None:
    of = printing(ruled_farm)
    other = Entry.objects.filter(verb="registered").first()
    meddle("UPDATE equipment_entry SET act = id WHERE id = %s", stored("id", other.pk))
    answer = page(as_("olga"), of)
    assert LINES_ONLY in answer and AGREES not in answer
    assert f"Entry A {other.position} ({other.pk}, registered) does not fit" in answer
    assert "It has a line on this paper." not in answer


def test_what_is_altered_after_the_heads_is_no_matter_of_this_paper(
    as_: SignIn, bags: list[str], ruled_farm: Farm, meddle: Meddle
) -> None:
    of = printing(ruled_farm)
    later = write(ruled_farm, "returned", at(1), bags[0])
    write(ruled_farm, "returned", at(1), bags[1])
    meddle("UPDATE equipment_entry SET act = id WHERE id = %s", stored("id", later.pk))
    assert AGREES in page(as_("olga"), of)
    assert LINES_ONLY in page(as_("olga"), printing(ruled_farm))


def test_a_last_entry_and_a_digest_that_were_altered_are_told_apart(
    as_: SignIn, bags: list[str], ruled_farm: Farm, meddle: Meddle
) -> None:
    of, last = printing(ruled_farm), Entry.objects.filter(store="A").order_by("-position").first()
    meddle("UPDATE equipment_entry SET digest = %s WHERE id = %s", "f" * 64, stored("id", last.pk))
    answer = page(as_("olga"), of)
    assert (
        f"Entry A {last.position} ({last.pk}, {last.verb}) is as it was sealed, but its digest was changed."
        in answer
    )
    assert "written anew" not in answer
    meddle(
        "UPDATE equipment_entry SET digest = %s, act = id WHERE id = %s", last.digest, stored("id", last.pk)
    )
    assert f"Entry A {last.position} ({last.pk}, {last.verb}) does not fit its digest" in page(
        as_("olga"), of
    )


def rewrite(meddle: Meddle, entry: Entry, **changes: Any) -> None:
    """Change the entry and seal it and all that follow anew, as a patient forger would."""
    sql = ", ".join(f"{column} = %s" for column in changes)
    meddle(f"UPDATE equipment_entry SET {sql} WHERE id = %s", *changes.values(), stored("id", entry.pk))
    digest = (
        Entry.objects.filter(store="A", position=entry.position - 1).values_list("digest", flat=True).first()
    )
    for row in Entry.objects.filter(store="A", position__gte=entry.position).order_by("position"):
        digest = chain.seal(digest or chain.START, columns_of(row))
        meddle("UPDATE equipment_entry SET digest = %s WHERE id = %s", digest, stored("id", row.pk))
    ChainHead.objects.filter(store="A").update(digest=digest)


def test_a_book_written_anew_fits_together_and_is_betrayed_by_the_paper(
    as_: SignIn, bags: list[str], ruled_farm: Farm, meddle: Meddle
) -> None:
    earlier = printing(ruled_farm)
    entry = write(ruled_farm, "handed_out", at(2), bags[0], crew="red", picker="ben")
    write(ruled_farm, "returned", at(1), bags[0])
    of = printing(ruled_farm)
    rewrite(meddle, entry, picker_id=ruled_farm.pickers["ana"].pk)
    position, printed = of.at_heads["A"]
    answer = page(as_("olga"), of)
    assert DOES_NOT in answer and "does not fit its digest" not in answer
    now = ChainHead.objects.get(store="A").digest
    assert f"line A {position} was printed with the digest {printed} and bears {now} now." in answer
    assert f"Up to line A {earlier.at_heads['A'][0]} it still is as printing {earlier.code} has it." in answer
    assert AGREES in page(as_("olga"), earlier)


def test_a_record_of_the_printing_that_was_changed_is_told_by_the_paper(
    as_: SignIn, bags: list[str], ruled_farm: Farm
) -> None:
    of, olga = printing(ruled_farm), as_("olga")
    kept = Printing.objects.filter(pk=of.pk)
    kept.update(digest="0" * 64)
    answer = page(olga, of)
    assert DOES_NOT in answer and "What was kept of this printing was changed" in answer
    assert "The lines of the book still are those of the paper." in answer
    kept.update(digest=of.digest, asked=of.asked | {"kind": "ladder"})
    assert "3 lines were printed; as of then the book now has 0." in page(olga, of)
    kept.update(asked=of.asked | {"last": of.asked["last"][:-2] + "28"}, lines=3)
    assert DOES_NOT in page(olga, of) and "Every entry fits its digest all the same" in page(olga, of)
    kept.update(asked=of.asked)
    assert AGREES in page(olga, of)
    other = page(olga, of, "ab" * 32)
    assert DOES_NOT in other and "this paper is not the one that was printed" in other
    assert AGREES in page(olga, of, of.digest[:8].upper())


def test_a_register_that_is_made_otherwise_now_says_so(
    as_: SignIn, bags: list[str], ruled_farm: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    paper = printing(ruled_farm)
    register = REGISTERS["handout"]
    monkeypatch.setitem(REGISTERS, "handout", replace(register, version=register.version + 1))
    told = page(as_("olga"), paper)
    assert "makes the lines of this register otherwise" in told
    assert "what was kept of the printing was changed" not in told


def test_heads_that_were_changed_are_noticed(as_: SignIn, bags: list[str], ruled_farm: Farm) -> None:
    of = printing(ruled_farm)
    position, digest = of.heads["A"]
    for heads in (
        {"A": [position - 1, digest]},
        {"A": [position, "0" * 64]},
        {},
        {"A": [position + 7, digest]},
    ):
        Printing.objects.filter(pk=of.pk).update(heads=heads)
        assert DOES_NOT in page(as_("olga"), of), heads


def test_what_a_piece_is_cannot_be_changed_behind_the_paper(
    as_: SignIn, bags: list[str], ruled_farm: Farm
) -> None:
    of, entry = printing(ruled_farm), handed_out(bags[0])
    Item.objects.filter(pk=entry.item_id).update(kind="glove")
    answer = page(as_("olga"), of)
    assert DOES_NOT in answer and f"What {bags[0]} ({entry.item_id}) is differs from its entry" in answer


def test_notes_may_be_erased_but_not_changed(as_: SignIn, bags: list[str], ruled_farm: Farm) -> None:
    fault = {"detail": {"fault": "bag_hole"}, "note": "by the left strap"}
    entry = write(ruled_farm, "fault_found", at(2), bags[0], **fault)
    of = printing(ruled_farm, "faults")
    Note.objects.filter(entry=entry).update(text="by the right strap")
    answer = page(as_("olga"), of)
    assert (
        LINES_ONLY in answer
        and f"The note of entry A {entry.position} ({entry.pk}, fault_found) is not" in answer
    )
    Note.objects.filter(entry=entry).update(text="", salt="", erased_at=timezone.now())
    assert AGREES in page(as_("olga"), of)


def test_a_printing_that_never_was_says_what_to_do(as_: SignIn) -> None:
    answer = as_("olga").get(f"/verify/{codes.make('PR', 4711)}/")
    assert answer.status_code == 404
    text = said(answer.content)
    assert "Nothing was ever printed under PR4711" in text and "show it to the safety officer" in text


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("PR0001Q", "PR0001Q was misread"),
        ("", "Scan the symbol at the foot, or type the code beside it."),
        ("BG0001X", "was misread"),
        ("<b>hello", "“&lt;b&gt;hello” is not from a printed register."),
        ("9" * 3000, "at most 2000 characters"),
    ],
)
def test_what_is_no_code_says_what_to_do(typed: str, says: str, as_: SignIn) -> None:
    answer = as_("olga").get("/verify/", {"code": typed})
    assert answer.status_code == 400 and says in said(answer.content)
    if typed and "<" not in typed and len(typed) < 99:
        assert says in said(as_("olga").get(f"/verify/{typed}/").content)


def test_whoever_waits_sees_how_far_it_is(
    as_: SignIn, bags: list[str], ruled_farm: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(verifying, "QUICK", 3)
    monkeypatch.setattr("equipment.actions.verify_book.chains.STRETCH", 3)
    of = printing(ruled_farm)
    total = of.at_heads["A"][0] + of.lines + of.at_heads.get("B", (0, ""))[0]
    answer = page(as_("olga"), of)
    assert f"3 of {total} lines of the book are looked at" in answer and AGREES in answer
    assert answer.index("lines of the book are looked at") < answer.index(AGREES)


def test_a_check_that_breaks_off_says_so(
    as_: SignIn, bags: list[str], ruled_farm: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    def breaks(*_given: Any) -> Any:
        raise RuntimeError("no more disk")
        yield

    monkeypatch.setattr(verifying, "verifying", breaks)
    answer = page(as_("olga"), printing(ruled_farm))
    assert "The check broke off. Try it again" in answer and answer.endswith("</html>")


def test_slices_of_the_chain_find_the_same_as_the_whole(
    bags: list[str], ruled_farm: Farm, meddle: Meddle, monkeypatch: pytest.MonkeyPatch
) -> None:
    of = printing(ruled_farm)
    rows = list(Entry.objects.filter(store="A").order_by("position"))
    for row in rows[1::3]:
        meddle("UPDATE equipment_entry SET act = id WHERE id = %s", stored("id", row.pk))
    whole = [str(finding) for finding in verify(of).problems.findings]
    assert len(whole) == len(rows[1::3])
    for at_once in (1, 2, 3, 4):
        monkeypatch.setattr("equipment.actions.verify_book.chains.AT_ONCE", at_once)
        assert [str(finding) for finding in verify(of).problems.findings] == whole


def test_a_register_too_long_to_compare_says_so(
    as_: SignIn, bags: list[str], ruled_farm: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    of = printing(ruled_farm)
    write(ruled_farm, "returned", at(1), bags[0])
    monkeypatch.setattr(meanwhile, "MOST_COMPARED", 2)
    answer = page(as_("olga"), of)
    assert AGREES in answer and "too long to be compared" in answer


def test_queries_do_not_grow_with_lines_or_findings(
    as_: SignIn, bags: list[str], ruled_farm: Farm, meddle: Meddle
) -> None:
    client = as_("olga")

    def asked_for() -> int:
        """How many queries one look takes, after something was added and something was altered."""
        of = printing(ruled_farm)
        _hand_out(ruled_farm, 2)
        meddle("UPDATE equipment_entry SET act = id WHERE verb = 'handed_out'")
        with CaptureQueriesContext(connection) as asked_:
            assert DOES_NOT in page(client, of, "ab" * 32)
        return len(asked_)

    asked_for()
    few = asked_for()
    _hand_out(ruled_farm, 10)
    assert asked_for() <= few


def _hand_out(farm: Farm, count: int) -> None:
    for number, tag in enumerate(farm.gear("bag", count, days_ago=20)):
        write(farm, "handed_out", at(2, f"06:{number:02}"), tag, crew="red", picker="ana")
