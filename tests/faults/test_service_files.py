"""The files that the README gives to whoever runs the server name what is there."""

import re
from configparser import ConfigParser
from pathlib import Path

import pytest

from equipment.api.parsing import MOST_BYTES
from equipment.management.commands.serve import GRACE, Command

README = (Path(__file__).resolve().parents[2] / "README.md").read_text()


def block(language: str) -> str:
    found = re.search(rf"```{language}\n(.*?)```", README, re.S)
    assert found, f"no {language} in the README"
    return found[1]


@pytest.fixture(scope="module")
def unit() -> ConfigParser:
    parsed = ConfigParser(interpolation=None)
    parsed.optionxform = str  # type: ignore[assignment,method-assign]
    parsed.read_string(block("ini"))
    return parsed


def test_the_unit_starts_a_command_that_there_is(unit: ConfigParser) -> None:
    words = unit["Service"]["ExecStart"].split()
    assert words[0].startswith(unit["Service"]["WorkingDirectory"])
    assert words[1:3] == ["manage.py", "serve"]
    assert Command().create_parser(*words[1:3]).parse_args(words[3:]).port == 8000
    assert "proxy_pass http://127.0.0.1:8000;" in block("nginx")


def test_the_unit_may_write_to_the_data_folder_and_nowhere_else(unit: ConfigParser) -> None:
    service = unit["Service"]
    assert service["Environment"] == f"SHEDBOOK_DATA=/var/lib/{service['StateDirectory']}"
    assert (service["ProtectSystem"], service["UMask"], service["StateDirectoryMode"]) == (
        "strict",
        "0077",
        "0700",
    )


def test_it_is_given_longer_to_stop_than_a_request_is_given_to_end(unit: ConfigParser) -> None:
    assert int(unit["Service"]["TimeoutStopSec"]) > GRACE


def test_the_proxy_lets_through_what_shedbook_takes() -> None:
    megabytes = int(re.search(r"client_max_body_size (\d+)m;", block("nginx"))[1])  # type: ignore[index]
    assert megabytes * 2**20 >= MOST_BYTES
