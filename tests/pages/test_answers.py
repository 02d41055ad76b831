"""What every answer says of itself and to whom; nothing beside the program is served.

Of OWASP ASVS 5.0.0: V3.4.2 (other origins), V4.1.1 (content types, with the charset of text), V13.4.1 (no sources).
"""

from pathlib import Path
from typing import Any

import pytest
from django.conf import settings

from tests.cast import Farm

UTF_8 = "; charset=utf-8"
PAGES = {
    "/": "text/html" + UTF_8,
    "/sign-in/": "text/html" + UTF_8,
    "/nowhere/": "text/html" + UTF_8,
    "/import/samples/crews.csv": None,
    "/api/board/": "application/json",
    "/api/nowhere/": None,
    "/static/equipment/css/paper.css": 'text/css; charset="utf-8"',
    "/static/equipment/js/main.js": 'text/javascript; charset="utf-8"',
    "/healthz": None,
}


def heads(answer: Any) -> Any:
    """Of an answer that is read to its end, so that a file is closed."""
    assert b"".join(answer) is not None
    answer.close()
    return answer.headers


@pytest.mark.parametrize("address", PAGES)
def test_each_answer_says_what_it_is_in_which_signs(farm: Farm, client_of: Any, address: str) -> None:
    said = heads(client_of("frank").get(address))["Content-Type"]
    assert not said.startswith("text/") or "charset=" in said, said
    assert PAGES[address] in (None, said)


@pytest.mark.parametrize("method", ["GET", "OPTIONS"])
@pytest.mark.parametrize(
    "address", ["/", "/api/board/", "/api/pickers/", "/sign-in/", "/static/equipment/js/main.js"]
)
def test_no_other_origin_may_read(farm: Farm, client_of: Any, address: str, method: str) -> None:
    asked = {"Origin": "https://elsewhere.example", "Access-Control-Request-Method": "GET"}
    told = heads(client_of("olga").generic(method, address, headers=asked))
    assert not [name for name in told if name.lower().startswith("access-control-")]


@pytest.mark.parametrize(
    "address",
    [
        "/.git/config",
        "/.git/HEAD",
        "/static/../config/settings.py",
        "/static/%2e%2e/%2e%2e/config/settings.py",
        "/static/equipment/../../../.git/config",
        "/.data/secret_key",
        "/manage.py",
        "/pyproject.toml",
        "/static/equipment/",
    ],
)
def test_nothing_beside_the_program_is_served(farm: Farm, client_of: Any, address: str) -> None:
    answer = client_of("frank").get(address)
    assert answer.status_code == 404
    assert (Path(settings.BASE_DIR) / "pyproject.toml").exists(), "what is asked for is there"
