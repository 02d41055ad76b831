"""The page that says how a phone comes to trust this machine: open to strangers, and never a key on it."""

import re

import numpy
import pytest
import zxingcpp
from cryptography import x509
from django.test import Client
from django.utils import timezone

from equipment.actions.trust import authority
from equipment.actions.trust.names import sorted_out
from equipment.pages import trust as pages_trust

pytestmark = pytest.mark.django_db
SHED = sorted_out(["shed-pc", "192.168.7.20"])


@pytest.fixture
def farms(settings, tmp_path):
    """The farm has an authority, and serves over both HTTPS and HTTP."""
    settings.TRUST_DIR, settings.SECURE_PORT, settings.PLAIN_PORT = tmp_path, 8443, 8000
    settings.ALLOWED_HOSTS = ["192.168.7.20", "testserver"]
    return authority.open_authority(tmp_path, "Quillberg", SHED, timezone.now())[0]


def at(path: str) -> str:
    return Client().get(path, headers={"Host": "192.168.7.20:8000"}).content.decode()


def test_it_says_where_how_and_what_is_trusted(farms):
    page = at("/trust/")
    assert farms.fingerprint() in page
    assert "http://192.168.7.20:8000/trust/" in page and "https://192.168.7.20:8443/orchard/" in page
    assert "bank" in page and "take it off" in page
    assert "PRIVATE" not in page


def test_the_certificate_is_the_farms_and_comes_without_its_key(farms):
    answer = Client().get("/trust/shedbook.crt")
    assert answer["Content-Type"] == "application/x-x509-ca-cert"
    assert x509.load_der_x509_certificate(answer.content) == farms.certificate


@pytest.mark.parametrize(
    ("name", "address"),
    [("trust", "http://192.168.7.20:8000/trust/"), ("orchard", "https://192.168.7.20:8443/orchard/")],
)
def test_the_codes_lead_there(farms, name, address):
    """Drawn by other people's hands: the SVG's path is read back module by module, and the symbol by zxing."""
    assert read(at(f"/trust/{name}.svg")) == address


def read(svg: str) -> str:
    side = int(re.search(r'viewBox="0 0 (\d+)', svg)[1])
    picture = numpy.full((side * 8, side * 8), 255, dtype=numpy.uint8)
    for x, y in re.findall(r"M(\d+),(\d+)H\d+V\d+H\d+z", svg):
        picture[int(y) * 8 : int(y) * 8 + 8, int(x) * 8 : int(x) * 8 + 8] = 0
    return zxingcpp.read_barcode(picture).text


def test_on_the_machine_itself_it_names_the_address_that_phones_reach(farms, settings, monkeypatch):
    monkeypatch.setattr(pages_trust, "of_this_machine", lambda own: SHED)
    settings.ALLOWED_HOSTS = ["localhost"]
    page = Client().get("/trust/", headers={"Host": "localhost:8000"}).content.decode()
    assert "http://192.168.7.20:8000/trust/" in page and "localhost" not in page


def test_without_https_it_says_how_to_start_it(settings, tmp_path):
    settings.TRUST_DIR = tmp_path
    page = Client().get("/trust/").content.decode()
    assert "serve --https" in page and "Download" not in page
    assert Client().get("/trust/shedbook.crt").status_code == 404
    assert Client().get("/trust/orchard.svg").status_code == 404


def test_with_a_real_certificate_there_is_nothing_to_do(farms, settings):
    settings.CERTIFICATE = "/somewhere/real.pem"
    page = at("/trust/")
    assert "nothing to do here" in page and "https://192.168.7.20:8443/orchard/" in page
    assert Client().get("/trust/shedbook.crt").status_code == 404
