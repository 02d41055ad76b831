"""`serve --https` as a farm runs it: a phone that was told to trust it gets camera and worker, and nobody else does.

Chromium trusts the farm's authority as a person makes it: from a certificate database (NSS), not by a flag that looks
away. It asks for the machine by its own name, which is no localhost: only trust makes that a secure context.
"""

import hashlib
import re
import socket
import ssl
import subprocess
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from subprocess import Popen
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, Page

from equipment.actions.trust import authority, server
from equipment.actions.trust.names import sorted_out
from equipment.domain import codes
from tests import chromium as browser_program
from tests import films, processes
from tests.cast import PASSWORD

pytestmark = pytest.mark.django_db(transaction=True)
TAG = codes.make("CL", 12)
READ = """async () => {
  const { openCamera } = await import('/static/equipment/js/orchard/camera.js');
  const video = document.body.appendChild(document.createElement('video'));
  const opened = {};
  const text = await new Promise((onCode, failed) => {
    openCamera({ video, words: { label: '' }, onCode }).then((camera) => { opened.camera = camera; }, failed);
  });
  opened.camera?.close();
  return text;
}"""


@dataclass
class Shed:
    """A server under way: its process, what it printed, and its two ports."""

    server: Popen[str]
    said: str
    secure: int
    plain: int

    @property
    def fingerprint(self) -> str:
        return re.search(r"SHA-256 of the authority: (\S+)", self.said)[1]

    @property
    def names(self) -> list[str]:
        return re.findall(rf"^  https://(\S+):{self.secure}/$", self.said, re.MULTILINE)


@pytest.fixture
def open_shed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[..., Shed]]:
    """`open_shed(**environment)`: `serve --https` on free ports of this machine alone, with its own data folder."""
    started: list[Popen[str]] = []
    monkeypatch.setenv("SHEDBOOK_DATA", str(tmp_path / "data"))

    def opened(**environment: str) -> Shed:
        for name, value in environment.items():
            monkeypatch.setenv(name, value)
        ports = ("--port", "0", "--trust-port", "0", "--host", "127.0.0.1")
        server = processes.start("serve", "--https", *ports)
        started.append(server)
        said = []
        for line in server.stdout:
            said.append(line)
            if ("https://[::1]" in line and environment) or line.startswith("SHA-256"):
                break
        text = "".join(said)
        secure = re.search(r"open at https://\S+?:(\d+)/ ", text)
        assert secure, text
        plain = re.search(r"http://\S+?:(\d+)/trust/", text)
        return Shed(server, text, int(secure[1]), int(plain[1]) if plain else 0)

    yield opened
    for shed in started:
        shed.kill()
        shed.communicate()


def get(url: str, **options: Any) -> tuple[int, bytes, Any]:
    """Status, body and heads of one request that follows nobody anywhere."""

    class Stay(urllib.request.HTTPRedirectHandler):
        def redirect_request(self, *arguments: Any) -> None:
            return None

    handlers = [urllib.request.HTTPSHandler(context=options["context"])] if "context" in options else []
    request = urllib.request.Request(url, data=options.get("data"), headers=options.get("headers", {}))
    try:
        with urllib.request.build_opener(Stay, *handlers).open(request, timeout=30) as answer:
            return answer.status, answer.read(), answer.headers
    except urllib.error.HTTPError as refused:
        with refused:
            return refused.code, refused.read(), refused.headers


def certificate(shed: Shed) -> bytes:
    """As a phone downloads it: over HTTP, for it trusts nothing yet."""
    return get(f"http://127.0.0.1:{shed.plain}/trust/shedbook.crt")[1]


def trusting(shed: Shed) -> ssl.SSLContext:
    return ssl.create_default_context(cadata=certificate(shed))


@pytest.fixture
def phone(chromium: Browser, tmp_path: Path) -> Iterator[Callable[..., Page]]:
    """`phone(shed, trusts=True)`: a browser with its own certificate database, whose camera sees a printed label."""
    browsers: list[Browser] = []

    def made(shed: Shed, *, trusts: bool) -> Page:
        home = tmp_path / f"home-{len(browsers)}"
        database = home / ".pki" / "nssdb"
        database.mkdir(parents=True)
        certutil = [browser_program.ensure_certutil(), "-d", f"sql:{database}"]
        subprocess.run([*certutil, "-N", "--empty-password"], check=True)
        if trusts:
            (home / "shedbook.crt").write_bytes(certificate(shed))
            add = ["-A", "-t", "C,,", "-n", "Shedbook", "-i", str(home / "shedbook.crt")]
            subprocess.run([*certutil, *add], check=True)
        film = films.film(home / "label.mjpeg", TAG)
        flags = [flag for flag in browser_program.FLAGS if not flag.startswith("--host-resolver-rules")]
        browser = chromium.browser_type.launch(
            executable_path=browser_program.find(),
            env=processes.environment() | {"HOME": str(home), "XDG_DATA_HOME": str(home / ".local/share")},
            args=[
                *flags,
                f"--host-resolver-rules=MAP {socket.gethostname().lower()} 127.0.0.1,MAP * ~NOTFOUND,EXCLUDE 127.0.0.1",
                "--use-fake-device-for-media-stream",
                f"--use-file-for-fake-video-capture={film}",
            ],
        )
        browsers.append(browser)
        # No page of ours has a proxy or a flag to help it: what it trusts is what stands in the database.
        page = browser.new_context(permissions=["camera"]).new_page()
        page.set_default_timeout(30_000)
        return page

    yield made
    for browser in browsers:
        browser.close()


def test_a_phone_that_trusts_the_farm_gets_worker_and_camera(farm, open_shed, phone):
    shed = open_shed()
    name = socket.gethostname().lower()
    assert name in shed.names and name not in {"localhost", "127.0.0.1"}
    page = phone(shed, trusts=True)
    page.goto(f"https://{name}:{shed.secure}/sign-in/?next=/orchard/")
    page.fill("[name=username]", "sam")
    page.fill("[name=password]", PASSWORD)
    page.keyboard.press("Enter")
    page.wait_for_selector('.orchard[data-ready="true"]')
    assert page.evaluate("window.isSecureContext") is True
    page.wait_for_function("() => navigator.serviceWorker.controller")
    assert page.evaluate(READ) == TAG
    assert all(cookie["secure"] for cookie in page.context.cookies())


def test_a_phone_that_does_not_trust_it_is_warned(open_shed, phone):
    shed = open_shed()
    page = phone(shed, trusts=False)
    with pytest.raises(Exception, match="ERR_CERT_AUTHORITY_INVALID"):
        page.goto(f"https://{socket.gethostname().lower()}:{shed.secure}/orchard/")


def test_over_plain_http_there_is_the_page_on_trust_and_no_camera(open_shed, phone):
    shed = open_shed()
    page = phone(shed, trusts=False)
    page.goto(f"http://{socket.gethostname().lower()}:{shed.plain}/trust/")
    assert shed.fingerprint in page.locator("main").inner_text()
    assert page.evaluate("window.isSecureContext") is False
    why = page.evaluate(
        """async () => {
          const { openCamera } = await import('/static/equipment/js/orchard/camera.js');
          return openCamera({ video: null, words: {}, onCode() {} }).catch((error) => error.why);
        }"""
    )
    assert why == "insecure"


def test_what_is_printed_is_what_is_downloaded_and_served(open_shed):
    shed = open_shed()
    der = certificate(shed)
    assert hashlib.sha256(der).hexdigest().upper() == shed.fingerprint.replace(":", "")
    for name in ("127.0.0.1", "localhost"):
        assert get(f"https://{name}:{shed.secure}/trust/", context=trusting(shed))[0] == 200
    assert "█" in shed.said and "each phone must be told once" in shed.said


def test_the_next_start_keeps_the_authority_that_phones_trust(open_shed):
    first = open_shed()
    trusted = trusting(first)
    first.server.terminate()
    first.server.communicate(timeout=15)
    again = open_shed()
    assert again.fingerprint == first.fingerprint and "each phone" not in again.said
    assert get(f"https://127.0.0.1:{again.secure}/trust/", context=trusted)[0] == 200


def test_over_http_everything_else_leads_to_https(open_shed):
    shed = open_shed()
    status, _, heads = get(f"http://127.0.0.1:{shed.plain}/counter/?a=%20b&c")
    assert (status, heads["Location"]) == (307, f"https://127.0.0.1:{shed.secure}/counter/?a=%20b&c")
    # A password sent in the clear is not sent a second time.
    assert get(f"http://127.0.0.1:{shed.plain}/sign-in/", data=b"password=x")[0] == 405
    status, _, heads = get(f"http://127.0.0.1:{shed.plain}/x", headers={"Host": "[bad"})
    assert (status, heads["Location"]) == (307, f"https://127.0.0.1:{shed.secure}/x")


def test_cookies_are_for_https_only(open_shed):
    shed = open_shed()
    heads = get(f"https://localhost:{shed.secure}/sign-in/", context=trusting(shed))[2]
    assert "Secure" in heads["Set-Cookie"]


def test_who_speaks_plainly_to_the_https_port_harms_nobody(open_shed):
    shed = open_shed()
    context = trusting(shed)
    for rubbish in (b"GET / HTTP/1.0\r\n\r\n", b"\x16\x03\x01", b""):
        with socket.create_connection(("127.0.0.1", shed.secure), timeout=10) as line:
            line.sendall(rubbish)
    assert get(f"https://127.0.0.1:{shed.secure}/trust/", context=context)[0] == 200


def test_a_real_certificate_is_served_where_there_is_one(open_shed, tmp_path):
    # Somebody else's authority stands for a public one.
    known = sorted_out(["book.farm.example"])
    public, _ = authority.open_authority(tmp_path / "public", "public", known, timezone.now())
    file = server.renew(tmp_path / "public", public, known, timezone.now())
    shed = open_shed(
        SHEDBOOK_CERTIFICATE=str(file), SHEDBOOK_CERTIFICATE_KEY=str(file), SHEDBOOK_HOSTS="book.farm.example"
    )
    assert "authority" not in shed.said and "https://book.farm.example" in shed.said
    context = ssl.create_default_context(cadata=authority.certificate_pem(public.certificate).decode())
    with (
        socket.create_connection(("127.0.0.1", shed.secure), timeout=10) as line,
        context.wrap_socket(line, server_hostname="book.farm.example") as safe,
    ):
        safe.sendall(b"GET /trust/ HTTP/1.0\r\nHost: book.farm.example\r\n\r\n")
        answer = b"".join(iter(lambda: safe.recv(65536), b""))
    assert b"nothing to do here" in answer
    assert not (tmp_path / "data" / "https").exists()


def test_a_certificate_that_is_none_is_refused_in_one_sentence(tmp_path, monkeypatch):
    monkeypatch.setenv("SHEDBOOK_CERTIFICATE", str(tmp_path / "nothing.pem"))
    code, out, err = processes.run(
        "serve", "--https", "--port", "0", "--trust-port", "0", "--host", "127.0.0.1"
    )
    assert (code, out) == (1, "")
    assert err.startswith("CommandError: SHEDBOOK_CERTIFICATE and SHEDBOOK_CERTIFICATE_KEY do not name")
