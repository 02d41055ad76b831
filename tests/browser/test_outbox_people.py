"""The outbox belongs to its author: nobody else sends it, signing out keeps it, and a file carries it to the store."""

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from equipment.models import Entry, Photo
from tests import pictures
from tests.cast import Farm
from tests.commands import manage
from tests.outboxes import DEVICE, Phone, dead

pytestmark = pytest.mark.django_db(transaction=True)

Expect = Callable[[str], None]
REFUSED = "ERR_CONNECTION_REFUSED"


@pytest.fixture
def phone(farm: Farm, page: Page, sign_in: Any, expect_problem: Expect) -> Phone:
    """Sam's, with three entries that wait, as the server was gone."""
    expect_problem(REFUSED)
    sign_in(page, farm.users["sam"])
    phone = Phone(farm, page).open()
    phone.answers(dead)
    phone.arrived(3)
    phone.until(unsent=3, line="unreachable")
    return phone


@pytest.fixture
def next_one(phone: Phone, sign_in: Any) -> Phone:
    """The same phone with Rosa signed in on it."""
    sign_in(phone.page, phone.farm.users["rosa"])
    phone.answers(None)
    other = Phone(phone.farm, phone.page.context.new_page(), "rosa")
    return other.open()


def in_book(**of: Any) -> int:
    return Entry.objects.filter(device=DEVICE, **of).count()


def test_another_person_sends_nothing_of_the_firsts_and_is_shown_it(phone: Phone, next_one: Phone) -> None:
    next_one.arrived(1)
    status = next_one.until(unsent=0, others=3)
    assert next_one.headers[-1]["x-unsent"] == "3"  # the store is told what is on the phone, whoever's it is
    assert (status["oldest"], in_book(by=next_one.user), in_book(by=phone.user)) == (None, 1, 0)
    (left,) = next_one.page.evaluate("() => box.ofOthers()")
    assert left["user"] == {"id": phone.user.pk, "initials": "S."} and left["count"] == 3
    assert left["oldest"] == min(row["at"] for row in phone.rows())
    assert [row["own"] for row in next_one.rows()] == [False] * 3 + [True]
    # For what shows on a sheet it does not matter whose it is.
    assert len(next_one.page.evaluate("() => box.since(0)")) == 4


def test_a_page_left_open_does_not_send_as_who_signed_in_meanwhile(
    phone: Phone, next_one: Phone, expect_problem: Expect, sign_in: Any
) -> None:
    """The browser's cookie is Rosa's now; Sam's page, still open, says for whom it speaks and is refused."""
    expect_problem("403")
    phone.flush()
    assert phone.until(line="signed_out")["unsent"] == 3 and in_book() == 0
    sign_in(phone.page, phone.user)
    phone.flush()
    assert phone.until(line="on")["unsent"] == 0 and in_book(by=phone.user) == 3


def test_signing_out_with_something_unsent_asks_and_keeps_it(phone: Phone, sign_in: Any) -> None:
    page = phone.page
    page.get_by_role("button", name="Sign out").click()
    question = page.get_by_role("dialog")
    expect(question).to_contain_text("Not sent to the book yet from this phone: 3.")
    question.get_by_role("button", name="No, go back").click()
    expect(question).to_be_hidden()
    assert page.evaluate("() => location.pathname") == "/me/"
    page.get_by_role("button", name="Sign out").click()
    question.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-in/**")
    sign_in(page, phone.user)
    phone.answers(None)
    phone.open().until(unsent=0)
    assert in_book(by=phone.user) == 3


def test_signing_out_with_nothing_unsent_asks_nothing(phone: Phone, next_one: Phone) -> None:
    """Sam's three are none of Rosa's."""
    next_one.page.get_by_role("button", name="Sign out").click()
    next_one.page.wait_for_url("**/sign-in/**")
    assert in_book() == 0


PHOTO = """async ([draft, bytes]) => {
  const photo = await preparePhoto(new Blob([new Uint8Array(bytes)], { type: 'image/jpeg' }));
  await box.record([{ ...draft, detail: { ...draft.detail, photo: photo.sha256 } }], { photos: [photo] });
  return photo.sha256;
}"""


def test_a_file_carries_it_all_to_the_store(phone: Phone, tmp_path: Path) -> None:
    (bag,) = phone.farm.gear("bag", days_ago=1)
    phone.farm.users["sam"].groups.set(phone.farm.users["rosa"].groups.all())
    draft = {"verb": "fault_found", "item": bag, "detail": {"fault": "bag_hole"}}
    digest = phone.page.evaluate(PHOTO, [draft, list(pictures.file(pictures.plain()))])
    file = tmp_path / "outbox.jsonl"
    file.write_text(phone.export())
    out, err, code = manage("import_outbox", str(file))
    assert (err, code) == ("", 0)
    assert "4 entries recorded, 0 in the book already, 0 refused." in out
    assert "1 photos kept, 0 here already, 0 refused." in out and "By sam: 4" in out
    rows = phone.rows()
    assert [
        str(pk)
        for pk in Entry.objects.filter(device=DEVICE).order_by("position").values_list("pk", flat=True)
    ] == [row["id"] for row in rows]
    assert Photo.objects.get().pk == digest
    # The phone lives after all: all of it is known, and leaves it.
    phone.answers(None)
    phone.flush()
    status = phone.until(unsent=0, photos=0)
    assert status["parked"] == 0 and in_book() == 4
    assert {row["answer"]["outcome"] for row in phone.rows()} == {"known"}


def test_the_file_names_nobody(phone: Phone, next_one: Phone) -> None:
    next_one.answers(dead)
    next_one.record(next_one.arrival(picker=phone.farm.badges["ana"]))
    lines = [json.loads(line) for line in next_one.export().splitlines()]
    sam, rosa = (
        {"id": each.user.pk, "initials": letter} for each, letter in ((phone, "S."), (next_one, "R."))
    )
    assert [line["by"] for line in lines[1:-1]] == [sam] * 3 + [rosa]
    assert lines[0]["entries"] == 4 == lines[-1]["end"]["entries"]
    assert not {"ana", "sam", "rosa"} & set(re.findall(r"\w+", next_one.export().lower()))
