"""Devices whose clocks are wrong: put right by what they say when they send, once, and never later than the receipt."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.utils import timezone

from equipment.models import Entry, KeptEntry
from tests.cast import Farm
from tests.farm import Post

OFF = {
    "an hour slow": timedelta(hours=-1),
    "an hour fast": timedelta(hours=1),
    "a day slow": timedelta(days=-1),
    "a day fast": timedelta(days=1),
    "ten years slow": timedelta(days=-3650),
    "ten years fast": timedelta(days=3650),
}
ALMOST = timedelta(seconds=20)


def missed(farm: Farm, at: datetime, days_ago: int = 0) -> dict[str, Any]:
    (tag,) = farm.gear("bag", days_ago=days_ago)
    return farm.entry("missed", item=tag, at=at)


@pytest.mark.parametrize("off", OFF)
@pytest.mark.parametrize("ago", [timedelta(0), timedelta(hours=6)])
def test_a_wrong_clock_is_put_right(off: str, ago: timedelta, farm: Farm, post: Post) -> None:
    now = timezone.now()
    entry = missed(farm, now - ago + OFF[off])
    post(entry, gate="note", sent_at=(now + OFF[off]).isoformat())
    stored = Entry.objects.get(pk=entry["id"])
    assert abs(stored.happened_at - (now - ago)) < ALMOST
    assert stored.claimed_at == now - ago + OFF[off]
    assert stored.happened_at <= stored.recorded_at


@pytest.mark.parametrize("seconds", [-119, -60, 60, 119])
def test_less_than_two_minutes_are_left_alone(seconds: int, farm: Farm, post: Post) -> None:
    now = timezone.now()
    claimed = now - timedelta(hours=1)
    entry = missed(farm, claimed)
    post(entry, gate="note", sent_at=(now + timedelta(seconds=seconds)).isoformat())
    assert Entry.objects.get(pk=entry["id"]).happened_at == claimed


def test_nothing_happens_after_it_was_received(farm: Farm, post: Post) -> None:
    entry = missed(farm, timezone.now() + timedelta(days=400))
    post(entry)
    stored = Entry.objects.get(pk=entry["id"])
    assert stored.happened_at <= stored.recorded_at <= timezone.now()
    assert stored.claimed_at == datetime.fromisoformat(entry["happened_at"])


def test_it_is_put_right_once(farm: Farm, post: Post) -> None:
    now = timezone.now()
    entry = missed(farm, now - timedelta(hours=5))
    post(entry, gate="note", sent_at=(now - timedelta(hours=4)).isoformat())
    first = Entry.objects.get(pk=entry["id"])
    (again,) = post(entry, gate="note", sent_at=(now + timedelta(hours=9)).isoformat())
    second = Entry.objects.get(pk=entry["id"])
    assert (again["outcome"], second.happened_at, second.digest) == ("known", first.happened_at, first.digest)


@pytest.mark.parametrize(
    ("claimed", "outcome"),
    [
        ("1969-12-31T23:59:59Z", "refused"),
        ("1970-01-01T00:00:00Z", "recorded"),
        ("2199-12-31T23:59:59Z", "recorded"),
        ("2200-01-01T00:00:00Z", "refused"),
        ("0001-01-01T00:00:00+14:00", "refused"),
        ("9999-12-31T23:59:59-14:00", "refused"),
        ("2026-06-01T05:30:00", "refused"),  # whose time?
        ("2026-06-01", "refused"),
        ("05:30", "refused"),
    ],
)
def test_times_beyond_all_calendars(claimed: str, outcome: str, farm: Farm, post: Post) -> None:
    entry = missed(farm, timezone.now(), days_ago=1) | {"happened_at": claimed}
    assert post(entry, gate="note")[0]["outcome"] == outcome


@pytest.mark.parametrize("sent_at", ["0001-01-01T00:00:00Z", "9999-12-30T23:59:59Z", "1970-01-01T00:00:00Z"])
@pytest.mark.parametrize("claimed", ["1970-01-01T00:00:00Z", "2199-12-31T23:59:59Z"])
def test_the_wildest_clock_never_fails(sent_at: str, claimed: str, farm: Farm, post: Post) -> None:
    entry = missed(farm, timezone.now()) | {"happened_at": claimed}
    (answer,) = post(entry, gate="note", sent_at=sent_at)
    assert answer["outcome"] == "recorded"
    stored = Entry.objects.get(pk=entry["id"])
    assert stored.happened_at <= stored.recorded_at


def test_two_counters_a_minute_apart_do_not_get_in_each_others_way(farm: Farm, post: Post) -> None:
    """The clock of the second is behind: by its own time it gives the bag out before the first took it back."""
    (tag,) = farm.gear("bag", days_ago=1)
    now = timezone.now()
    post(farm.entry("handed_out", item=tag, picker=farm.badges["ana"], at=now - timedelta(hours=10)))
    post(farm.entry("returned", item=tag, at=now))
    other = "00000000-0000-7000-8000-0000000000aa"
    out = farm.entry("handed_out", item=tag, picker=farm.badges["ben"], at=now - timedelta(seconds=90))
    (answer,) = post(out, device=other)
    assert (answer["outcome"], answer["state"]["picker"]) == ("recorded", farm.badges["ben"])


def test_what_was_kept_is_put_right_as_of_its_own_receipt(
    farm: Farm,
    post: Post,
    django_capture_on_commit_callbacks: Any,
) -> None:
    from equipment.domain import codes

    now = timezone.now()
    tag, off = codes.make("BG", 8003), timedelta(hours=3)
    entry = farm.entry("missed", item=tag, at=now - timedelta(days=2, minutes=10) + off)
    assert post(entry, gate="note", sent_at=(now + off).isoformat())[0]["code"] == "unknown_item"
    KeptEntry.objects.update(received_at=now - timedelta(days=2))
    post(farm.entry("registered", item=tag, detail={"kind": "bag", "store": "A"}))
    stored = Entry.objects.get(pk=entry["id"])
    assert abs(stored.happened_at - (now - timedelta(days=2, minutes=10))) < ALMOST
    assert stored.recorded_at >= now.astimezone(UTC)
