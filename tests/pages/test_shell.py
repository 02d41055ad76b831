"""What the phone keeps of the orchard page, as the server offers it: worker, manifest, icons; to strangers too."""

import base64
import hashlib
import json
import re
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from django.contrib.staticfiles import finders
from django.test import Client
from django.urls import reverse
from PIL import Image

from equipment.pages.shell import files, icons

pytestmark = pytest.mark.django_db


@pytest.fixture
def stranger() -> Client:
    return Client()


def told(stranger: Client) -> dict[str, Any]:
    """What the worker is told to keep."""
    first = stranger.get("/sw.js").content.decode().splitlines()[0]
    return json.loads(re.fullmatch(r"const SHELL = (.*);", first)[1])


def test_the_worker_is_asked_for_each_time_and_may_look_after_all_of_it(stranger):
    answer = stranger.get("/sw.js")
    assert answer.status_code == 200
    assert answer["Content-Type"].startswith("text/javascript")
    assert answer["Cache-Control"] == "no-cache"
    assert answer["Service-Worker-Allowed"] == "/"


def test_everything_that_it_keeps_is_open_to_strangers_and_is_what_was_promised(stranger):
    shell = told(stranger)
    for address in shell["made"]:
        assert stranger.get(address).status_code == 200, address
    for address, integrity in (shell["files"] | shell["decoder"]).items():
        body = Path(finders.find(address.removeprefix("/static/"))).read_bytes()
        # W3C Subresource Integrity, 3.3.1.
        assert integrity == f"sha256-{base64.b64encode(hashlib.sha256(body).digest()).decode()}", address


def test_nothing_of_it_is_an_answer_about_people(stranger):
    shell = told(stranger)
    kept = [*shell["made"], *shell["files"], *shell["decoder"]]
    assert not [address for address in kept if "/api/" in address or address.endswith("/here/")]


def test_the_page_is_the_same_for_everybody(stranger, farm):
    someone = Client()
    someone.force_login(farm.users["sam"], backend="crews.signing_in.RoleBackend")
    assert stranger.get("/orchard/").content == someone.get("/orchard/").content


def test_the_page_and_the_worker_name_the_same_build_and_the_same_modules(stranger):
    page, shell = stranger.get("/orchard/").content.decode(), told(stranger)
    assert re.search(r'data-build="(\w+)"', page)[1] == shell["build"] == files.build()
    ahead = set(re.findall(r'<link rel="modulepreload" href="([^"]+)">', page))
    assert ahead < {address for address in shell["files"] if address.endswith(".js")}


@pytest.mark.parametrize(
    ("name", "comes_at_once"),
    [
        ("main.js", True),
        ("orchard.js", True),
        ("orchard/opening.js", True),
        ("orchard/screens/crew.js", True),
        ("domain/clock.js", True),
        ("orchard/working.js", False),
        ("orchard/outbox.js", False),
        ("orchard/screens/rest.js", False),
        ("orchard/screens/dip.js", False),
        ("orchard/camera.js", False),
        ("sign-out.js", False),
    ],
)
def test_what_opens_it_comes_at_once_and_the_rest_is_kept_for_later(stranger, name, comes_at_once):
    page, shell = stranger.get("/orchard/").content.decode(), told(stranger)
    address = f"/static/equipment/js/{name}"
    assert address in shell["files"]
    assert (f'<link rel="modulepreload" href="{address}">' in page) == comes_at_once


@pytest.mark.parametrize("name", ["orchard.js", "orchard/upgrade.js", "counter/uuid7.js", "codes.js"])
def test_modules_are_found_however_deep(stranger, name):
    assert f"/static/equipment/js/{name}" in told(stranger)["files"]


@pytest.mark.parametrize("name", ["counter.js", "bench.js", "wash.js"])
def test_modules_of_other_pages_are_not(stranger, name):
    assert f"/static/equipment/js/{name}" not in told(stranger)["files"]


def test_the_camera_is_kept_though_it_is_loaded_late(stranger):
    kept = told(stranger)
    assert {"/static/equipment/js/orchard/camera.js", "/static/equipment/js/orchard/decoder.js"} <= set(
        kept["files"]
    )
    assert "/static/equipment/decoder/zxing_reader.wasm" in kept["decoder"]


def test_another_page_is_another_build(stranger, settings, monkeypatch):
    before = told(stranger)["build"]
    assert told(stranger)["build"] == before
    monkeypatch.setattr(icons, "ORANGE", "#ff8800")
    monkeypatch.setattr(icons, "drawn_as", lambda: "drawn otherwise")
    assert told(stranger)["build"] != before


def test_only_the_orchard_page_may_run_the_decoder(stranger, farm):
    assert "'wasm-unsafe-eval'" in stranger.get("/orchard/")["Content-Security-Policy"]
    assert "unsafe" not in stranger.get("/sign-in/")["Content-Security-Policy"]


def test_the_manifest_is_enough_to_install_it(stranger):
    """What Chromium asks of an installable page: name, start, display, icons of 192 and 512 pixels that are there."""
    answer = stranger.get("/orchard.webmanifest")
    assert answer["Content-Type"] == "application/manifest+json"
    manifest = answer.json()
    assert manifest["short_name"] and manifest["display"] == "standalone"
    assert manifest["start_url"] == manifest["id"] == reverse("orchard")
    assert {icon["purpose"] for icon in manifest["icons"]} == {"any", "maskable"}
    drawn = [icon for icon in manifest["icons"] if icon["type"] == "image/png"]
    assert {"192x192", "512x512"} <= {icon["sizes"] for icon in drawn}
    for icon in drawn:
        with Image.open(BytesIO(stranger.get(icon["src"]).content)) as picture:
            assert f"{picture.width}x{picture.height}" == icon["sizes"]
    assert '<link rel="manifest" href="/orchard.webmanifest">' in stranger.get("/orchard/").content.decode()


def test_a_phone_may_cut_the_maskable_icon_to_a_circle():
    """W3C Web Application Manifest: what matters lies within a circle of 40 % of the width."""
    side, share, purpose = icons.PNGS["maskable-512"]
    assert purpose == "maskable"
    picture = Image.open(BytesIO(icons.png(side, share))).convert("RGB")
    ground = picture.getpixel((0, 0))
    outside = [
        picture.getpixel((x, y))
        for x in range(0, side, 4)
        for y in range(0, side, 4)
        if (x - side / 2) ** 2 + (y - side / 2) ** 2 > (0.4 * side) ** 2
    ]
    assert set(outside) == {ground}
    assert picture.getpixel((side // 2, side // 2)) != ground


def test_an_icon_that_nobody_drew_is_not_there(stranger):
    assert stranger.get("/orchard-icon/640.png").status_code == 404
    assert stranger.get("/orchard-icon.svg").content.startswith(b"<svg ")


@pytest.mark.parametrize(
    ("address", "is_compressed"), [("/orchard/", True), ("/sw.js", True), ("/sign-in/", False)]
)
def test_what_phones_fetch_is_compressed_and_pages_with_secrets_are_not(stranger, address, is_compressed):
    answer = stranger.get(address, headers={"Accept-Encoding": "gzip"})
    assert (answer.get("Content-Encoding") == "gzip") is is_compressed
