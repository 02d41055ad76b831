"""The page to calibrate a scanner by, and the paper that is scanned for it. What it finds: tests/browser."""

import json
import re
from pathlib import Path

import pytest

import equipment
from crews import policy
from equipment.documents.alphabet import ALPHABET, CODE, alphabet_page, probes
from equipment.domain import codes
from equipment.models import Kind
from equipment.pages.calibrate.words import FINDINGS, KEYBOARDS
from tests.cast import Farm
from tests.documents.reading import scanned, words

SCRIPTS = Path(equipment.__file__).parent / "static/equipment/js/calibrate"


@pytest.mark.parametrize("base", ["", "https://shed.example/"])
def test_the_paper_holds_every_character_of_a_code(base: str) -> None:
    pdf = alphabet_page("Rooikrans Estate", base)
    holds = [probe.holds for probe in probes(base)]
    assert scanned(pdf) == dict.fromkeys(holds, 1)
    assert holds[:2] == [ALPHABET, CODE] and (not base or holds[2] == f"https://shed.example/t/{CODE}")
    assert sorted(ALPHABET) == sorted("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    (page,) = words(pdf)
    assert CODE in page and "To calibrate a scanner" in page and "…" not in page


def test_nothing_can_wear_its_tag(farm: Farm) -> None:
    prefix = codes.parse(CODE).prefix
    assert prefix not in codes.NOT_ON_ITEMS and not Kind.objects.filter(prefix=prefix).exists()


@pytest.mark.parametrize("name", ["rosa", "olga"])
def test_the_page_gives_the_script_all_its_words(farm: Farm, client_of, name: str) -> None:
    answer = client_of(name).get("/counter/calibrate/")
    (given,) = re.findall(r'<script id="calibrate-script"[^>]*>(.*?)</script>', answer.content.decode(), re.S)
    script = json.loads(given)
    assert script["sheet"]["code"] == CODE
    assert all(each["say"] and each["how"] for each in script["words"]["findings"].values())
    assert client_of(name).get("/counter/calibrate/alphabet.pdf").content.startswith(b"%PDF")


def test_every_finding_and_keyboard_has_its_words() -> None:
    source = "".join(file.read_text() for file in SCRIPTS.glob("*.js"))
    found = set(re.findall(r"code: '(\w+)'", source)) | {"aim", "prefix", "lower", "upper"}
    assert found == set(FINDINGS)
    assert set(re.findall(r"^  (\w+): \['", source, re.M)) == set(KEYBOARDS)


def test_the_ways_to_it(farm: Farm, client_of) -> None:
    link = 'href="/counter/calibrate/"'
    assert link in client_of("rosa").get("/labels/").content.decode()
    for name in ("mo", "frank"):
        assert not policy.may_open(farm.users[name], "calibrate", "GET")
        assert link not in client_of(name).get("/labels/").content.decode()
    rosa = client_of("rosa")
    rosa.post("/counter/here/", {"counter": farm.device.pk})
    assert link in rosa.get("/counter/").content.decode()
