"""What browsers are told over real HTTPS with every kind of answer; Django's own deploy check has nothing to say.

The heads and their values are those of the OWASP Secure Headers Project's list and of the Fetch, CSP and Permissions
Policy standards, as far as they serve here (from memory); the cookies' prefix is RFC 6265bis, section 4.1.3.
"""

import re
import ssl
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256
from http.client import HTTPSConnection
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest
from django.conf import settings
from django.test import Client

from equipment.pages.shell.limits import MOST_BYTES
from tests import processes
from tests.cast import PASSWORD, Farm
from tests.pictures import file, plain

HARD = {
    "X-Content-Type-Options": r"nosniff",
    "Referrer-Policy": r"same-origin",
    "Cross-Origin-Opener-Policy": r"same-origin",
    "Cross-Origin-Resource-Policy": r"same-origin",
    "Permissions-Policy": r"camera=\(self\),.*\bmicrophone=\(\)",
    "Strict-Transport-Security": r"max-age=3600",
}
OURS = HARD | {
    "X-Frame-Options": r"DENY",
    "Content-Security-Policy": r"(?=.*default-src 'none')(?=.*frame-ancestors 'none')(?!.*unsafe-inline)",
}
NAMES = OURS | {"Cache-Control": r".*\bno-store\b"}


@dataclass
class Door:
    """A server over HTTPS and a person's browser before it: its cookies, and the whole `Set-Cookie` lines."""

    port: int
    trusted: ssl.SSLContext
    cookies: dict[str, str]
    set: dict[str, str]

    def ask(self, method: str, path: str, body: Any = None, **heads: str) -> tuple[int, Any, bytes]:
        line = HTTPSConnection("localhost", self.port, context=self.trusted, timeout=30)
        known = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        origin = f"https://localhost:{self.port}"
        line.request(method, path, body, {"Cookie": known, "Referer": origin + "/"} | heads)
        answer = line.getresponse()
        read = answer.read()
        line.close()
        for said in answer.headers.get_all("Set-Cookie") or ():
            name, value = said.partition(";")[0].split("=", 1)
            self.cookies[name], self.set[name] = value, said
        return answer.status, answer.headers, read

    def sign_in(self, who: str) -> None:
        page = self.ask("GET", "/sign-in/")[2].decode()
        token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', page)
        assert token
        form = urlencode({"username": who, "password": PASSWORD, "csrfmiddlewaretoken": token[1]})
        kind = {"Content-Type": "application/x-www-form-urlencoded"}
        assert self.ask("POST", "/sign-in/", form, **kind)[0] == 302


@pytest.fixture
def door(transactional_db: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Door]:
    monkeypatch.setenv("SHEDBOOK_DATA", str(tmp_path))
    monkeypatch.setenv("SHEDBOOK_HSTS_SECONDS", "3600")
    server = processes.start("serve", "--https", "--port", "0", "--trust-port", "0", "--host", "127.0.0.1")
    said = ""
    for line in server.stdout:
        said += line
        if line.startswith("SHA-256"):
            break
    secure, plain = (
        re.search(r"open at https://\S+?:(\d+)/", said),
        re.search(r"http://\S+?:(\d+)/trust/", said),
    )
    assert secure and plain, said
    with urllib.request.urlopen(f"http://127.0.0.1:{plain[1]}/trust/shedbook.crt", timeout=30) as answer:
        trusted = ssl.create_default_context(cadata=answer.read())
        # A page without HTTPS may not tell a browser to insist on it (RFC 6797, 7.2).
        assert "Strict-Transport-Security" not in answer.headers
    yield Door(int(secure[1]), trusted, {}, {})
    server.kill()
    server.communicate()


def lacking(heads: Any, wanted: dict[str, str]) -> list[str]:
    return [
        f"{name}: {heads[name]}" for name, form in wanted.items() if not re.match(form, heads[name] or "")
    ]


def test_each_kind_of_answer_has_the_heads_over_https(farm: Farm, door: Door) -> None:
    door.sign_in("olga")
    csrf = {"X-CSRFToken": door.cookies["csrftoken"]}
    body = file(plain())
    photo = f"/api/photos/{sha256(body).hexdigest()}/"
    asked = {
        "a page": ("GET", "/crews/", None, {}, 200, NAMES),
        "an API answer": ("GET", "/api/pickers/", None, {}, 200, NAMES),
        "a photo taken in": ("PUT", photo, body, {"Content-Type": "image/jpeg", **csrf}, 201, NAMES),
        "a photo": ("GET", photo, None, {}, 200, OURS),
        "a PDF": ("GET", "/cards/day.pdf?first=1&last=1", None, {}, None, NAMES),
        "a script": ("GET", "/static/equipment/js/codes.js", None, {}, 200, HARD),
        "the worker": ("GET", "/sw.js", None, {}, 200, OURS),
        "not there": ("GET", "/nowhere/", None, {}, 404, NAMES),
        "not there in the API": ("GET", "/api/items/CL00010/", None, {}, 404, NAMES),
        "no right": ("GET", "/users/", None, {}, 403, NAMES),
        "forged": (
            "POST",
            "/sign-out/",
            "",
            {"Content-Type": "application/x-www-form-urlencoded"},
            403,
            NAMES,
        ),
        "another host": ("GET", "/", None, {"Host": "evil.example"}, 400, NAMES),
        "too long": ("POST", "/import/", b"", {"Content-Length": str(MOST_BYTES + 1)}, 413, HARD),
        "to the door": ("GET", "/users/", None, {"Cookie": ""}, 302, NAMES),
    }
    for what, (method, path, sent, heads, status, wanted) in asked.items():
        answer = door.ask(method, path, sent, **heads)
        assert answer[0] == status or status is None, (what, answer)
        assert lacking(answer[1], wanted) == [], what


def test_cookies_are_for_this_host_over_https_and_no_script_reads_the_session(farm: Farm, door: Door) -> None:
    door.sign_in("rosa")
    session, csrf = door.set["__Host-sessionid"], door.set["csrftoken"]
    for word in ("Secure", "Path=/", "SameSite=Lax", "HttpOnly"):
        assert word in session
    assert "Domain" not in session
    assert "Secure" in csrf and "SameSite=Lax" in csrf


def test_the_deploy_check_has_nothing_to_say(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, db: Any
) -> None:
    # HSTS and the way from HTTP; where there is HSTS, the rest of the domain and preloading.
    for seconds, silenced in (("0", 2), ("31536000", 3)):
        with monkeypatch.context() as env:
            env.setenv("SHEDBOOK_DATA", str(tmp_path))
            env.setenv("SHEDBOOK_HTTPS", "1")
            env.setenv("SHEDBOOK_TESTING", "0")
            # The tests' own browser needs it, until the last of this test's database is put away; no farm does.
            env.delenv("DJANGO_ALLOW_ASYNC_UNSAFE", raising=False)
            env.setenv("SHEDBOOK_HSTS_SECONDS", seconds)
            code, out, err = processes.run("check", "--deploy", "--fail-level", "INFO")
        assert (code, err) == (0, ""), err
        assert out == f"System check identified no issues ({silenced} silenced).\n"


def test_the_deploy_check_would_say_it(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, db: Any) -> None:
    """Without HTTPS it names both cookies: the test above can fail."""
    monkeypatch.setenv("SHEDBOOK_DATA", str(tmp_path))
    code, _out, err = processes.run("check", "--deploy", "--fail-level", "WARNING")
    assert code == 1 and "security.W012" in err and "security.W016" in err


def test_serving_over_https_sets_what_the_deploy_check_asks_for() -> None:
    """`serve --https` sets while it runs what SHEDBOOK_HTTPS=1 sets from the start, and no less."""
    text = (Path(settings.BASE_DIR) / "config/settings.py").read_text()
    at_once = (Path(settings.BASE_DIR) / "equipment/management/https.py").read_text()
    by_https = set(re.findall(r"([A-Z_]+)(?= =[^=\n]*\bHTTPS\b)", text)) - {"HTTPS"}
    assert len(by_https) >= 3
    assert [name for name in by_https if f"settings.{name}" not in at_once] == []


@pytest.mark.parametrize("length", [str(MOST_BYTES + 1), "9" * 40, "-1", "٣"])
def test_a_request_that_is_too_long_is_refused_unread(length: str) -> None:
    page = Client().post("/sign-in/", {}, CONTENT_LENGTH=length)
    assert page.status_code == 413 and page["Content-Type"].startswith("text/plain")
    told = Client().post("/api/entries/", {}, CONTENT_LENGTH=length)
    assert (told.status_code, told.json()["code"]) == (413, "too_large")


def test_a_request_that_does_not_say_its_length_is_refused() -> None:
    told = Client(headers={"Transfer-Encoding": "chunked"}).post("/api/entries/", {})
    assert (told.status_code, told.json()["code"]) == (411, "length_needed")
