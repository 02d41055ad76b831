"""What an audit found, on its page, on paper and in the list of audits; closing it."""

import re
from hashlib import sha256

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from equipment.actions.audit.answering import Look
from equipment.domain import fault_tags
from equipment.domain.counter_tags import COUNTER_TAGS
from equipment.models import Audit, Entry
from equipment.models.audits import ABSENT, FAULTY, GOOD
from tests.audits import ask, drawn, look, tags, text
from tests.cast import Farm
from tests.documents.reading import reader, sizes, words

ALL_GOOD, UNDO = (
    next(tag.code for tag in COUNTER_TAGS.values() if tag.name == name) for name in ("all_good", "undo")
)
HOLE = fault_tags.code("bag_hole")
ASKED = {"kind": "bag", "where": "store", "limit": "5", "unit": "share", "sure": "95"}


class TestFinding:
    def finish(self, farm: Farm, audit: Audit, faulty: int = 0, absent: int = 0) -> None:
        for place, tag in enumerate(tags(audit)):
            said = Look(FAULTY, "bag_hole") if place < faulty else Look(GOOD)
            look(farm, audit, tag, Look(ABSENT) if faulty <= place < faulty + absent else said)

    def test_before_the_last_answer_it_says_nothing(self, client_of, say, audit: Audit):
        assert "before that nothing can be said" in text(say(tags(audit)[0], said=GOOD))

    @pytest.mark.parametrize(
        ("faulty", "absent", "said"),
        [
            (0, 0, "None faulty in 45 of 100: 95 % sure that fewer than 5 of the 100 are. Acceptable"),
            (
                1,
                0,
                "1 faulty in 45 of 100: 95 % sure that at most 8 of the 100 are. Not shown to be acceptable",
            ),
            (4, 1, "Not there, and counted as faulty: 1. Not acceptable: 5 or more are faulty"),
        ],
    )
    def test_in_words(self, client_of, ruled_farm: Farm, audit: Audit, faulty, absent, said):
        self.finish(ruled_farm, audit, faulty, absent)
        assert said in text(client_of("olga").get(f"/audits/{audit.pk}/"))
        assert "all answered: to be closed" in text(client_of("olga").get("/audits/"))
        client_of("olga").post(f"/audits/{audit.pk}/close/")
        assert said.split(". ")[0] in text(client_of("olga").get("/audits/"))
        page = text(client_of("olga").get(f"/audits/{audit.pk}/"))
        assert "Scan or type a tag" not in page and "Take back" not in page

    def test_closed_unfinished_with_a_why(self, client_of, audit: Audit):
        assert "Write why" in text(client_of("olga").post(f"/audits/{audit.pk}/close/", follow=True))
        page = client_of("olga").post(f"/audits/{audit.pk}/close/", {"why": "Rain."}, follow=True)
        assert "it says nothing of the lot" in text(page) and "Rain." in text(page)
        assert "closed unfinished" in text(client_of("olga").get("/audits/"))

    def test_on_paper(self, client_of, ruled_farm: Farm, audit: Audit, settings):
        settings.FARM_NAME = "Rooikrans Estate"
        self.finish(ruled_farm, audit, faulty=1)
        pdf = client_of("olga").get(f"/audits/{audit.pk}/report.pdf").content
        pages = words(pdf)
        whole = " ".join(pages)
        assert "1 faulty in 45 of 100: 95 % sure that at most 8 of the 100 are." in whole
        for said in (
            f"with the seed {audit.seed}",
            f"random.Random({audit.seed}).sample(tags, 45)",
            sha256("".join(f"{tag}\n" for tag in sorted(audit.lot)).encode()).hexdigest(),
            "A fault is seen when the piece is looked at.",
            "44 good, 1 faulty, 0 not there, 0 not answered",
            "not closed yet",
            "Looked at the pieces",
            "Safety officer",
            "signature",
            f"page 1 of {len(pages)}",
            "Rooikrans Estate",
        ):
            assert said in whole, said
        for tag in tags(audit):
            assert tag in whole
        for entry in Entry.objects.filter(act=audit.act):
            assert f"A {entry.position}" in whole
        assert reader(pdf).metadata.title == f"Sampling audit {audit.pk}"

    def test_on_paper_before_it_is_answered_it_is_a_list_to_walk_by(self, client_of, audit: Audit):
        whole = " ".join(words(client_of("olga").get(f"/audits/{audit.pk}/report.pdf").content))
        assert "45 of 45 are not answered: nothing can be said of the lot." in whole
        assert "in Store A" in whole

    def test_on_the_paper_of_the_farm(self, client_of, audit: Audit, settings):
        settings.PAPER_SIZE = "Letter"
        assert sizes(client_of("olga").get(f"/audits/{audit.pk}/report.pdf").content) == {(215.9, 279.4)}

    def test_ladders_on_paper_with_the_cautions(self, client_of, ruled_farm: Farm):
        ruled_farm.gear("ladder", 3)
        audit = drawn(ruled_farm, ask("ladder"))
        whole = " ".join(words(client_of("olga").get(f"/audits/{audit.pk}/report.pdf").content))
        assert "every one is looked at" in whole and "Nobody climbs a ladder that is set aside" in whole
        assert "nothing was drawn" in whole


class TestLists:
    def test_empty_it_says_what_to_do(self, client_of, farm: Farm):
        assert "No audit has been made yet" in text(client_of("olga").get("/audits/"))

    def test_the_newest_first_and_page_by_page(self, client_of, ruled_farm: Farm):
        ruled_farm.gear("bag", 3)
        numbers = [drawn(ruled_farm, ask(faulty=1)).pk for _ in range(52)]
        first = client_of("olga").get("/audits/").content.decode()
        shown = [int(n) for n in re.findall(r"/audits/(\d+)/", first)]
        assert shown == numbers[:1:-1]
        rest = client_of("olga").get(re.search(r'href="(\?before=\d+)"', first)[1].join(("/audits/", "")))
        assert [int(n) for n in re.findall(r"/audits/(\d+)/", rest.content.decode())] == [
            numbers[1],
            numbers[0],
        ]

    @pytest.mark.parametrize("path", ["/audits/", "/audits/{n}/", "/audits/{n}/report.pdf"])
    def test_queries_do_not_grow_with_the_sample(self, client_of, ruled_farm: Farm, path):
        def queries(pieces: int) -> int:
            ruled_farm.gear("bag", pieces)
            audit = drawn(ruled_farm, ask(share="1", sure=99))
            for tag in tags(audit)[: pieces // 2]:
                look(ruled_farm, audit, tag, Look(GOOD))
            client = client_of("olga")
            client.get("/audits/")
            with CaptureQueriesContext(connection) as caught:
                assert client.get(path.format(n=audit.pk)).status_code == 200
            return len(caught)

        assert queries(30) == queries(4)
