"""A stocktake ends, its report, who may what, long lists."""

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from equipment.actions.stocktake import begin
from equipment.actions.writing import new_id
from equipment.models import Stocktake
from tests.cast import Farm
from tests.documents import reading
from tests.stocktaking import SignedIn, at, begun, chosen, page, scanned, standing, state, text_of


def test_what_stays_open_needs_a_why(farm: Farm, as_: SignedIn) -> None:
    farm.gear("bag", 2, days_ago=1)
    own, client = begun(farm), as_("rosa")
    assert "still open" in client.post(at("stocktake_end", own), follow=True).content.decode()
    assert Stocktake.objects.get().ended_at is None
    client.post(at("stocktake_end", own), {"why_open": "the lamp went out"})
    paper = text_of(client.get(at("stocktake_pdf", own)).content)
    assert "the lamp went out" in paper and paper.count("open") >= 2
    assert "something stays open" in page(client, "/stocktake/")


def test_a_report_before_the_end_says_so_and_an_arrival_after_it_is_named(farm: Farm, as_: SignedIn) -> None:
    (tag,) = farm.gear("bag", days_ago=1)
    own, client, before = begun(farm), as_("rosa"), timezone.now()
    assert "Not ended" in text_of(client.get(at("stocktake_pdf", own)).content)
    begin.end(own, farm.users["rosa"], timezone.now(), "cut off")
    printed = text_of(client.get(at("stocktake_pdf", own)).content)
    scanned(own, farm, tag, at=before)
    after = text_of(client.get(at("stocktake_pdf", own)).content)
    assert "arrived after it" in after and "arrived after it" not in printed


def test_the_report_is_on_the_paper_of_the_farm(farm: Farm, as_: SignedIn, settings: Any) -> None:
    farm.gear("bag", 45, days_ago=1)
    own, client = begun(farm), as_("rosa")
    for paper, size in {"A4": (210, 297), "Letter": (215.9, 279.4)}.items():
        settings.PAPER_SIZE = paper
        (found,) = reading.sizes(client.get(at("stocktake_pdf", own)).content)
        assert found == pytest.approx(size, abs=0.2)


def test_who_may(farm: Farm, as_: SignedIn) -> None:
    (tag,) = farm.gear("bag", days_ago=1)
    own = begun(farm)
    scanned(own, farm, "Rented 1")
    for name, may in {"rosa": True, "mo": True, "olga": True, "frank": True, "sam": False}.items():
        client = as_(name)
        for address in (
            "/stocktake/",
            at("stocktake", own),
            at("stocktake_settle", own),
            at("stocktake_pdf", own),
        ):
            assert client.get(address).status_code == (200 if may else 403), (name, address)
        assert (client.post(at("stocktake_scan", own), {"text": "x"}).status_code == 302) is may
    mender = page(as_("mo"), at("stocktake_settle", own) + "?list=left")
    assert "Write it off" in mender and "Mark it missing" not in mender
    as_("mo").post(at("stocktake_piece", own, state(tag).pk), {"choice": "missed"})
    assert standing(own, tag) == "left"


def test_addresses_that_lead_nowhere(farm: Farm, as_: SignedIn) -> None:
    own, client = begun(farm), as_("rosa")
    nothing = Stocktake(pk=new_id())
    for name in ("stocktake", "stocktake_lines", "stocktake_settle", "stocktake_pdf"):
        assert client.get(at(name, nothing)).status_code == 404
    for name in ("stocktake_scan", "stocktake_scans", "stocktake_end"):
        assert client.get(at(name, own)).status_code in (403, 405)
    assert client.get(at("stocktake_settle", own) + "?list=x&kind=y&after=%00&q=%25").status_code == 200
    answer = client.post(at("stocktake_piece", own, new_id()), {"choice": "missed"}, follow=True)
    assert "settled meanwhile" in answer.content.decode()


def test_many_are_shown_page_by_page_and_found_by_their_tag(farm: Farm, as_: SignedIn) -> None:
    tags = farm.gear("bag", 60, days_ago=1)
    own, client = begun(farm), as_("rosa")
    address = at("stocktake_settle", own) + "?list=left"
    first = page(client, address)
    assert tags[0] in first and tags[24] in first and tags[25] not in first and "60 pieces" in first
    second = client.get(f"{address}&after=bag+{tags[24]}").content.decode()
    assert tags[25] in second and tags[0] not in second
    found = page(client, f"{address}&q={tags[50].lower()}")
    assert tags[50] in found and tags[0] not in found
    with CaptureQueriesContext(connection) as many:
        page(client, address)
    chosen(own, farm, tags[0], "missed")
    for tag in tags[1:]:
        scanned(own, farm, tag)
    with CaptureQueriesContext(connection) as none:
        page(client, address)
    assert len(many) <= len(none) + 3, [query["sql"] for query in many]


def test_the_list_of_past_ones_turns_its_pages(farm: Farm, as_: SignedIn) -> None:
    for _ in range(22):
        begin.end(begun(farm), farm.users["rosa"], timezone.now())
    client = as_("olga")
    first = page(client, "/stocktake/")
    assert first.count("report.pdf") == 20 and "Turn the page" in first
    address = first.split('rel="next"')[0].rsplit('href="', 1)[1].split('"')[0].replace("&amp;", "&")
    assert page(client, f"/stocktake/{address}").count("report.pdf") == 2
