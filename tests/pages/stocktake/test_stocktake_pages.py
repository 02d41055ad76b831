"""The pages of a stocktake: begin, scan with and without scripts, settle, end, report; who may, and what it costs."""

import json

import pytest
from django.utils import timezone

from equipment.actions.writing import new_id
from equipment.domain import codes
from equipment.models import Entry, Stocktake
from tests.cast import Farm
from tests.stocktaking import (
    SignedIn,
    at,
    begun,
    chosen,
    hand_out,
    page,
    scanned,
    send,
    standing,
    state,
    sums,
    text_of,
    told,
)


def test_begin_one_and_go_on_with_it(farm: Farm, as_: SignedIn) -> None:
    farm.gear("bag", 2, days_ago=1)
    farm.gear("clippers", days_ago=1)
    client = as_("rosa")
    assert "No stocktake has ended yet" in page(client, "/stocktake/")
    answer = client.post("/stocktake/", {"store": "A", "kinds": ["bag"]})
    own = Stocktake.objects.get()
    assert answer.url == at("stocktake", own) and own.kinds == ["bag"] and own.begun_by == farm.users["rosa"]
    assert "0 of 2 seen" in page(as_("mo"), own_page := at("stocktake", own)), own_page
    assert "Go on scanning" in page(as_("olga"), "/stocktake/")
    assert "/goods/count/?store=A" in page(client, at("stocktake", own))
    again = client.post("/stocktake/", {"store": "A"})
    assert again.status_code == 400 and "A stocktake is open in Store A" in again.content.decode()
    assert client.post("/stocktake/", {"store": "Z"}).status_code == 400
    assert client.post("/stocktake/", {"store": "B", "kinds": ["spaceship"]}).status_code == 400


def test_what_a_scan_is_answered(farm: Farm, as_: SignedIn) -> None:
    here, out = farm.gear("bag", 2, days_ago=1)
    hand_out(farm, out, minutes_ago=60)
    own = begun(farm)
    (later,) = farm.gear("bag")
    client = as_("rosa")
    answers = send(
        client, own, here, out, "Rented 7", "BG0001A", farm.badges["ana"], codes.make("ST", 1), later
    )
    told = {answer["tag"]: (answer["outcome"], answer["say"]) for answer in answers}
    assert told[here] == ("yes", "Seen")
    assert told[out] == ("partial", "Seen, but not expected")
    assert "with Ana, Red crew, since" in answers[1]["why"][0]
    assert told["Rented 7"] == ("no", "Not in the book")
    assert told["BG0001A"] == ("no", "Misread")
    assert told[farm.badges["ana"]] == ("no", "Not a piece of gear")
    assert told[codes.make("ST", 1)] == ("no", "The tag of a set")
    assert "came here after" in answers[6]["why"][0]
    (again,) = send(as_("mo"), own, here)
    assert (again["outcome"], again["say"]) == ("note", "Seen already") and "By rosa" in again["why"][0]
    assert "<small>in the store</small>" in page(client, at("stocktake_lines", own))


def test_sent_again_it_is_the_same(farm: Farm, as_: SignedIn) -> None:
    (tag,) = farm.gear("bag", days_ago=1)
    own, client, scan = begun(farm), as_("rosa"), str(new_id())
    first, second = (send(client, own, tag, id=scan) for _ in range(2))
    assert first == second and Entry.objects.filter(act=own.pk).count() == 1
    assert client.post(at("stocktake_unscan", own), {"id": scan}).json() == {"done": True, "tag": tag}
    assert client.post(at("stocktake_unscan", own), {"id": scan}).json()["done"] is False
    assert client.post(at("stocktake_unscan", own), {"id": "nothing"}).json()["done"] is False
    assert standing(own, tag) == "left"


@pytest.mark.parametrize(
    "body",
    [
        b"", b"[]", b"{}", b"\xff", b'{"sent_at": "yesterday", "scans": []}',
        b'{"sent_at": "2026-06-01T06:00:00Z", "scans": [7]}',
        b'{"sent_at": "2026-06-01T06:00:00Z", "scans": [{"id": "x", "text": "BG", "at": "2026-06-01T06:00:00Z"}]}',
        json.dumps({"sent_at": "2026-06-01T06:00:00Z", "scans": [{}] * 501}).encode(), b"[" * 100_000,
    ],
)  # fmt: skip
def test_a_request_that_cannot_be_read(farm: Farm, as_: SignedIn, body: bytes) -> None:
    own = begun(farm)
    answer = as_("rosa").post(at("stocktake_scans", own), body, content_type="application/json")
    assert answer.status_code == 400 and answer.json()["say"]


def test_two_unknown_labels_under_one_number_are_both_written_down(farm: Farm, as_: SignedIn) -> None:
    own, number = begun(farm), str(new_id())
    for texts in (("OLD 17", "OLD 18"), ("OLD 19",)):
        answers = send(as_("rosa"), own, *texts, id=number)
        assert [each["what"] for each in answers] == ["unknown"] * len(texts)
    assert set(own.unknown.values_list("text", flat=True)) == {"OLD 17", "OLD 18", "OLD 19"}


def test_a_clock_that_is_wrong_is_put_right(farm: Farm, as_: SignedIn) -> None:
    (tag,) = farm.gear("bag", days_ago=1)
    own = begun(farm)
    wrong = "2031-01-01T00:00:00+00:00"
    body = {"sent_at": wrong, "scans": [{"id": str(new_id()), "text": tag, "at": wrong}]}
    as_("rosa").post(at("stocktake_scans", own), json.dumps(body), content_type="application/json")
    assert own.begun_at <= Entry.objects.get(act=own.pk).happened_at <= timezone.now()


def test_without_scripts(farm: Farm, as_: SignedIn) -> None:
    (tag,) = farm.gear("bag", days_ago=1)
    own, client, scan = begun(farm), as_("rosa"), str(new_id())
    for _ in range(2):
        answer = client.post(at("stocktake_scan", own), {"id": scan, "text": tag}, follow=True)
    assert f"{tag}: Seen." in answer.content.decode() and standing(own, tag) == "seen"
    answer = client.post(at("stocktake_scan", own), {"id": "x", "text": "<b>Rented</b>"}, follow=True)
    assert "&lt;b&gt;Rented&lt;/b&gt;: Not in the book." in answer.content.decode()
    assert Entry.objects.filter(act=own.pk).count() == 1


def test_all_four_surprises_settled_ended_and_printed(farm: Farm, as_: SignedIn) -> None:
    out, gone, left, fine, away = farm.gear("bag", 5, days_ago=1)
    (other,) = farm.gear("bag", store="B", days_ago=1)
    hand_out(farm, out, minutes_ago=60)
    told(farm, gone, "written_off", circumstance="lost")
    own, client = begun(farm), as_("rosa")
    send(client, own, out, other, gone, fine, "Rented 14")
    hand_out(farm, away, "cy")
    text = page(client, at("stocktake_settle", own))
    assert (
        "Surprises (4)" in text
        and "Take it back into Store A." in text
        and "Send it back to Store B." in text
    )
    for tag, choice in ((out, "taken_back"), (other, "sent_back"), (gone, "stays_gone"), (left, "missed")):
        answer = client.post(at("stocktake_piece", own, state(tag).pk), {"choice": choice}, follow=True)
        assert "Settled, and written in the book." in answer.content.decode()
    client.post(at("stocktake_label", own, own.unknown.get().pk), {"choice": "not_ours"})
    assert not sums(own)["open"]
    settled = page(client, at("stocktake_settle", own) + "?list=settled")
    for words in ("taken back", "sent back to its store", "stays written off", "marked missing", "not ours"):
        assert words in settled
    assert "Nothing is to be done" in page(client, at("stocktake_settle", own) + "?list=elsewhere")
    assert "Settled: stays written off (stocktake)." in page(client, f"/gear/{gone}/")
    client.post(at("stocktake_end", own))
    assert Stocktake.objects.get().ended_by == farm.users["rosa"]
    assert client.get(at("stocktake", own)).url == at("stocktake_settle", own)
    ended = page(client, at("stocktake_settle", own))
    assert "End the stocktake" not in ended and "Go on scanning" not in ended
    paper = text_of(client.get(at("stocktake_pdf", own)).content)
    head = Entry.objects.filter(store="A").order_by("-position").first()
    for words in (
        out,
        gone,
        left,
        other,
        away,
        fine,
        "Rented 14",
        "marked missing",
        "seen, but written off",
        f"A {Entry.objects.get(act=own.pk, verb='missed').position}",
        "with Cy",
        "Signature",
        head.digest,
    ):
        assert words in paper, words
    assert "Scanned by (pieces): rosa (4)" in paper


def test_all_of_a_page_is_marked_missing_but_for_what_was_seen_meanwhile(farm: Farm, as_: SignedIn) -> None:
    one, two, three = farm.gear("bag", 3, days_ago=1)
    own, client = begun(farm), as_("rosa")
    shown = page(client, at("stocktake_settle", own) + "?list=left")
    assert "Nobody can find these 3" in shown
    assert "Nobody can find these" not in page(as_("mo"), at("stocktake_settle", own) + "?list=left")
    scanned(own, farm, two)
    sent = {"item": [*(str(state(tag).pk) for tag in (one, two, three)), "x"]}
    as_("mo").post(at("stocktake_missing", own), sent)
    assert sums(own)["left"] == 2
    client.post(at("stocktake_missing", own), sent)
    assert [standing(own, tag) for tag in (one, two, three)] == ["settled", "seen", "settled"]
    assert state(one).place == "missing" and not sums(own)["open"]


def test_undo_in_the_page(farm: Farm, as_: SignedIn) -> None:
    (tag,) = farm.gear("bag", days_ago=1)
    own, client = begun(farm), as_("rosa")
    scanned(own, farm, "Rented 14")
    label = own.unknown.get().pk
    chosen(own, farm, tag, "missed")
    client.post(at("stocktake_label", own, label), {"choice": "not_ours"})
    back = at("stocktake_settle", own) + "?list=settled"
    assert page(client, back).count("Open it again") == 2
    answer = client.post(at("stocktake_again", own, state(tag).pk), {"back": back})
    assert answer.url == back and standing(own, tag) == "left"
    assert client.post(
        at("stocktake_label_again", own, label), {"back": "https://elsewhere.example/"}
    ).url.startswith("/stocktake/")
    assert sums(own)["open"] == 2
