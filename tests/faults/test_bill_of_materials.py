"""The bill of materials is CycloneDX, by the standard's own schema, and says what is really here.

The schema (1.6) is the one that the CycloneDX project publishes, as its library carries it; what is installed is held
against pip's own list of a package's requirements (`pip show`), the decoder's digests against npm's lock.
"""

import base64
import hashlib
import json
import re
import subprocess
import sys
from importlib.metadata import distribution
from pathlib import Path
from typing import Any

import pytest
from cyclonedx.schema import SchemaVersion
from cyclonedx.validation.json import JsonStrictValidator

from equipment.management import decoder
from equipment.management.materials import bill
from tests.commands import manage


@pytest.fixture(scope="module")
def text() -> str:
    return bill.written(bill.bill())


@pytest.fixture(scope="module")
def parts(text: str) -> dict[str, dict[str, Any]]:
    """Components by purl without the version."""
    return {part["purl"].rpartition("@")[0]: part for part in json.loads(text)["components"]}


def test_it_is_what_the_standard_asks_for(text: str) -> None:
    validator = JsonStrictValidator(SchemaVersion.V1_6)
    assert validator.validate_str(text) is None
    broken = json.loads(text)
    broken["components"][0]["type"] = "bucket"
    assert validator.validate_str(json.dumps(broken)) is not None


def test_each_package_is_there_as_pip_knows_it(parts: dict[str, dict[str, Any]]) -> None:
    for name in ("django", "drf-spectacular", "argon2-cffi-bindings", "psycopg-binary"):
        assert parts[f"pkg:pypi/{name}"]["version"] == distribution(name).version
    assert "pkg:pypi/pytest" not in parts, "what the tests need is no part of the farm's"


def test_what_depends_on_what_is_what_pip_says(text: str) -> None:
    said = {each["ref"]: each.get("dependsOn", []) for each in json.loads(text)["dependencies"]}
    shown = subprocess.run(
        [sys.executable, "-m", "pip", "show", "django", "jsonschema", "reportlab"],
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    for block in shown.split("---\n"):
        fields = dict(re.findall(r"^([\w-]+): ?(.*)$", block, re.MULTILINE))
        wanted = {re.sub(r"[._]", "-", name).lower() for name in fields["Requires"].split(", ")}
        (ref,) = [ref for ref in said if ref.startswith(f"pkg:pypi/{fields['Name'].lower()}@")]
        assert {n.removeprefix("pkg:pypi/").partition("@")[0] for n in said[ref] if "pypi" in n} == wanted


def test_each_has_a_licence(parts: dict[str, dict[str, Any]]) -> None:
    assert [purl for purl, part in parts.items() if not part.get("licenses")] == []
    assert parts["pkg:pypi/django"]["licenses"] == [{"license": {"id": "BSD-3-Clause"}}]
    assert parts["pkg:pypi/cryptography"]["licenses"] == [{"expression": "Apache-2.0 OR BSD-3-Clause"}]


def test_what_is_as_locked_has_the_digests_of_the_lock(tmp_path: Path) -> None:
    """One release as locked, one at another version: only the first may claim the digests."""
    lock = tmp_path / "run.txt"
    lines = [
        f"{name}=={version} \\\n    --hash=sha256:{letter * 64}\n"
        for name, version, letter in (("django", distribution("django").version, "a"), ("pillow", "0.1", "b"))
    ]
    lock.write_text("".join(lines))
    found = {part.name: part for part in bill.bill(lock).components}
    (reference,) = found["django"].external_references
    assert [digest.content for digest in reference.hashes] == ["a" * 64]
    assert not found["pillow"].external_references
    assert [each.value for name in ("django", "pillow") for each in found[name].properties] == [
        "true",
        "false",
    ]
    others = bill.other_than_locked(lock)
    assert f"pillow {distribution('pillow').version}" in others and not any("django 5" in o for o in others)


def test_the_decoder_is_there_with_npms_digest_and_that_of_each_file(
    parts: dict[str, dict[str, Any]],
) -> None:
    listed = json.loads((decoder.SOURCES / "package-lock.json").read_text())["packages"]
    about = listed["node_modules/zxing-wasm"]
    part = parts["pkg:npm/zxing-wasm"]
    assert (part["version"], part["scope"]) == (about["version"], "required")
    (digest,) = part["hashes"]
    assert digest["alg"] == "SHA-512" and len(digest["content"]) == 128
    assert base64.b64encode(bytes.fromhex(digest["content"])).decode() == about["integrity"].partition("-")[2]
    sums = {each["name"]: each["hashes"][0]["content"] for each in part["components"]}
    assert sums == {file.source: file.sha256 for file in decoder.files()}
    assert parts["pkg:npm/%40types/emscripten"]["scope"] == "excluded", "fetched beside it, never served"


def test_what_is_served_of_the_decoder_has_the_digests_that_are_told(
    parts: dict[str, dict[str, Any]],
) -> None:
    """Where it was fetched, as it is before the suite: the files themselves, hashed here."""
    sums = {
        each["bom-ref"]: each["hashes"][0]["content"] for each in parts["pkg:npm/zxing-wasm"]["components"]
    }
    for file in decoder.files():
        assert (
            hashlib.sha256((decoder.PLACE / file.name).read_bytes()).hexdigest()
            == sums[f"decoder/{file.name}"]
        )


def test_the_command_prints_it_or_writes_it(tmp_path: Path) -> None:
    out, _, code = manage("bill_of_materials")
    assert code == 0 and json.loads(out)["metadata"]["component"]["name"] == "shedbook"
    path = tmp_path / "materials.json"
    assert manage("bill_of_materials", "--output", str(path))[0] == ""
    assert len(json.loads(path.read_text())["components"]) == len(json.loads(out)["components"])


def test_the_command_says_what_is_not_as_locked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        "equipment.management.commands.bill_of_materials.other_than_locked", lambda: ["pillow 99.0"]
    )
    assert "pillow 99.0" in manage("bill_of_materials")[1]


def test_a_place_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    _, complaint, code = manage("bill_of_materials", "--output", str(tmp_path / "none" / "here.json"))
    assert code == 1 and "none/here.json" in complaint
