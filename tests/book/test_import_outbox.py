"""`import_outbox`: a phone that will never connect again hands its outbox in as a file."""

import base64
import hashlib
import json
from collections.abc import Callable, Iterable
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.utils import timezone

from crews.models import Device, User
from equipment.actions.outbox_file import NoOutbox, read
from equipment.actions.verify_book import verify_book
from equipment.models import Entry, KeptEntry, Photo
from tests import pictures
from tests.cast import Farm
from tests.commands import manage
from tests.farm import Post

PHONE = "00000000-0000-7000-8000-0000000000ee"
Write = Callable[..., str]


def line(farm: Farm, entry: dict[str, Any], name: str = "sam", store: str | None = "A") -> dict[str, Any]:
    return {
        "entry": entry,
        "by": {"id": farm.users[name].pk, "initials": f"{name[0].upper()}."},
        "store": store,
    }


def photo(farm: Farm, data: bytes) -> dict[str, Any]:
    digest = hashlib.sha256(data).hexdigest()
    by = {"id": farm.users["sam"].pk, "initials": "S."}
    return {"photo": digest, "type": "image/jpeg", "data": base64.b64encode(data).decode(), "by": by}


def arrivals(farm: Farm, count: int, at: datetime | None = None) -> list[dict[str, Any]]:
    first = at or timezone.now() - timedelta(hours=6)
    crew = farm.crews["red"].pk
    return [
        farm.entry("arrived", crew=crew, block="N4", at=first + timedelta(minutes=turn))
        for turn in range(count)
    ]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    """`write(lines, clock=None, **head)`: the path of a file as the phone makes it."""

    def written(lines: Iterable[dict[str, Any]], clock: float | None = None, **head: Any) -> str:
        lines = list(lines)
        counts = {
            "entries": sum("entry" in each for each in lines),
            "photos": sum("photo" in each for each in lines),
        }
        first = {
            "outbox": 1,
            "device": PHONE,
            "exported_at": "2026-11-25T16:00:00Z",
            "clock": clock,
            **counts,
        }
        file = tmp_path / "outbox.jsonl"
        whole = [first | head, *lines, {"end": counts}]
        file.write_text("".join(f"{json.dumps(each)}\n" for each in whole))
        return str(file)

    return written


def test_each_goes_in_as_its_authors_in_order_and_once(farm: Farm, write: Write) -> None:
    entries = arrivals(farm, 4)
    names = ("sam", "sam", "rosa", "sam")
    lines = [line(farm, entry, name) for entry, name in zip(entries, names, strict=True)]
    out, err, code = manage("import_outbox", write(reversed(lines)))
    assert (err, code) == ("", 0)
    assert "4 entries recorded, 0 in the book already, 0 refused." in out
    assert "By rosa: 1" in out and "By sam: 3" in out
    stored = list(Entry.objects.filter(device=PHONE).order_by("position"))
    assert [str(row.pk) for row in stored] == [entry["id"] for entry in entries]
    assert [row.by.username for row in stored] == list(names)
    assert [row.happened_at.isoformat() for row in stored] == [entry["happened_at"] for entry in entries]
    assert verify_book().clean


def test_again_and_after_part_of_it_came_by_itself_is_harmless(farm: Farm, write: Write, post: Post) -> None:
    entries = arrivals(farm, 3)
    phone = Device.objects.create(id=PHONE, kind=Device.Kind.PHONE, store=farm.stores["A"])
    post(*({**entry, "queued": True} for entry in entries[:2]), name="sam", gate="note", device=str(phone.pk))
    file = write([line(farm, entry) for entry in entries])
    assert "1 entries recorded, 2 in the book already" in manage("import_outbox", file)[0]
    assert "0 entries recorded, 3 in the book already" in manage("import_outbox", file)[0]
    assert Entry.objects.filter(device=PHONE).count() == 3


def test_a_dry_run_says_the_same_and_writes_nothing(farm: Farm, write: Write) -> None:
    bad = farm.entry("arrived", crew="CW0099X", block="N4")
    file = write([*(line(farm, entry) for entry in [*arrivals(farm, 2), bad]), photo(farm, picture())])
    before = Entry.objects.count()
    said = manage("import_outbox", file, "--dry-run")[0].splitlines()
    assert said[0] == "A dry run, nothing is written:"
    assert (Entry.objects.count(), KeptEntry.objects.count(), Photo.objects.count()) == (before, 0, 0)
    assert not Device.objects.filter(pk=PHONE).exists()
    done = manage("import_outbox", file)[0].splitlines()
    assert done[1:] == said[1:]
    assert "2 entries recorded, 0 in the book already, 1 refused." in done[1]
    assert (Entry.objects.count(), KeptEntry.objects.count(), Photo.objects.count()) == (before + 2, 1, 1)


def picture(colour: Any = pictures.RED) -> bytes:
    return pictures.file(pictures.plain(colour=colour))


def test_photos_are_inside(farm: Farm, write: Write) -> None:
    good, fake = photo(farm, picture()), photo(farm, b"no picture")
    wrong = photo(farm, picture(pictures.BLUE)) | {"photo": "0" * 64}
    out, _err, code = manage("import_outbox", write([good, fake, wrong]))
    assert code == 0 and "1 photos kept, 0 here already, 2 refused." in out
    assert [each.pk for each in Photo.objects.all()] == [good["photo"]]
    assert (
        "0 photos kept, 1 here already, 2 refused." in manage("import_outbox", write([good, fake, wrong]))[0]
    )


def test_of_half_a_file_each_whole_line_counts(farm: Farm, write: Write) -> None:
    """Cut at every line and in the middle of each: what is whole goes in, the command says that it is not all, and the
    whole file later adds the rest."""
    entries = arrivals(farm, 3)
    path = Path(write([*(line(farm, entry) for entry in entries), photo(farm, picture())]))
    whole = path.read_bytes()
    ends = [place for place, letter in enumerate(whole) if letter == ord("\n")]
    for number, end in enumerate(ends[:-1]):
        for cut in (end + 1, end + 20):
            path.write_bytes(whole[:cut])
            _out, err, code = manage("import_outbox", str(path))
            assert code == 1 and "The file is not whole" in err
            assert Entry.objects.filter(device=PHONE).count() == min(number, 3)
    path.write_bytes(whole)
    out, err, code = manage("import_outbox", str(path))
    assert (err, code) == ("", 0)
    assert "0 entries recorded, 3 in the book already" in out and Photo.objects.count() == 1


def test_lines_that_say_nothing_stop_no_other(farm: Farm, write: Write) -> None:
    path = Path(write(line(farm, entry) for entry in arrivals(farm, 2)))
    first, *rest = path.read_text().splitlines()
    odd = [
        "{",
        "[]",
        "null",
        '{"entry": 5, "by": {"id": 1, "name": "x"}}',
        '{"photo": "x", "data": "%%%"}',
        "[" * 9999,
    ]
    path.write_text("\n".join([first, *odd, "", *rest]))
    out, err, code = manage("import_outbox", str(path))
    assert code == 1 and f"0 of what the phone wrote is missing, {len(odd)} lines say nothing" in err
    assert "2 entries recorded" in out


def test_entries_that_cannot_be_read_or_placed_are_kept_and_named(farm: Farm, write: Write) -> None:
    odd = {"id": "no id", "verb": "danced", "device_seq": "one"}
    unknown = farm.entry("fault_found", item="BG7777X", detail={"fault": "bag_hole"})
    out, _err, code = manage("import_outbox", write([line(farm, odd), line(farm, unknown)]))
    assert code == 0 and "0 entries recorded, 0 in the book already, 2 refused." in out
    assert f"  {unknown['id']}: " in out and "  no id: This entry cannot be read" in out
    assert KeptEntry.objects.count() == 2


@pytest.mark.parametrize("field", ["author", "store"])
def test_what_names_nobody_here_is_left_out_and_said(field: str, farm: Farm, write: Write) -> None:
    good, bad = (line(farm, entry) for entry in arrivals(farm, 2))
    bad = bad | ({"by": {"id": 10**9, "name": "gone"}} if field == "author" else {"store": "Q"})
    out, _err, code = manage("import_outbox", write([bad, good]))
    assert code == 0 and "1 entries recorded, 0 in the book already, 1 refused." in out
    assert f"  {bad['entry']['id']}: Its {field} is unknown here." in out


@pytest.mark.parametrize("whose", ["phone", "author"])
def test_where_the_phone_was_told_no_store_it_is_the_one_that_the_api_takes(
    whose: str, farm: Farm, write: Write
) -> None:
    if whose == "phone":
        Device.objects.create(id=PHONE, kind=Device.Kind.PHONE, store=farm.stores["A"])
    if whose == "author":
        User.objects.filter(username="sam").update(store=farm.stores["A"])
    lines = [line(farm, entry, store=None) for entry in arrivals(farm, 1)]
    assert "1 entries recorded" in manage("import_outbox", write(lines))[0]
    assert Entry.objects.get(device=PHONE).store_id == "A"


def test_of_two_stores_none_is_guessed(farm: Farm, write: Write) -> None:
    (entry,) = arrivals(farm, 1)
    out = manage("import_outbox", write([line(farm, entry, store=None)]))[0]
    assert (
        f"  {entry['id']}: Its store is unknown here." in out
        and not Entry.objects.filter(pk=entry["id"]).exists()
    )


def test_the_clock_that_the_phone_last_measured_counts_not_the_days_since(farm: Farm, write: Write) -> None:
    """An hour slow when it last spoke to the server: its times are put right by that, whenever the file comes."""
    at = timezone.now() - timedelta(hours=30)
    (entry,) = arrivals(farm, 1, at)
    manage("import_outbox", write([line(farm, entry)], clock=3_600_000.0))
    stored = Entry.objects.get(pk=entry["id"])
    assert abs(stored.happened_at - (at + timedelta(hours=1))) < timedelta(seconds=1)
    assert stored.claimed_at == at
    (other,) = arrivals(farm, 1, at)
    manage("import_outbox", write([line(farm, other)]))
    assert Entry.objects.get(pk=other["id"]).happened_at == at


def test_rights_are_those_of_the_author(farm: Farm, write: Write) -> None:
    blue = farm.entry("arrived", crew=farm.crews["blue"].pk, block="S2")
    out, _err, _code = manage("import_outbox", write([line(farm, blue)]))
    assert "1 refused" in out and KeptEntry.objects.get().code == "no_right"


def test_more_than_the_book_takes_at_once(farm: Farm, write: Write) -> None:
    file = write(line(farm, entry) for entry in arrivals(farm, 501))
    assert "501 entries recorded" in manage("import_outbox", file)[0]
    assert verify_book().clean


@pytest.mark.parametrize(
    "text", ["", "\n", "{}", "tag,kind\n", '{"outbox": 2}', '{"outbox": 1, "device": "x"}', "\0" * 9]
)
def test_what_is_no_outbox_is_turned_away(text: str, farm: Farm, tmp_path: Path) -> None:
    file = tmp_path / "list.csv"
    file.write_text(text)
    with pytest.raises(NoOutbox):
        read(text.encode())
    out, err, code = manage("import_outbox", str(file))
    assert (out, err, code) == ("", f"{file} is no outbox of a phone. Nothing was taken in.", 1)


def test_a_file_that_is_not_there(farm: Farm, tmp_path: Path) -> None:
    _out, err, code = manage("import_outbox", str(tmp_path / "none"))
    assert code == 1 and "cannot be read: No such file" in err
