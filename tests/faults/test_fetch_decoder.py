"""`fetch_decoder`: whole and as asked for, or not at all; the demo goes on without."""

import json
import shutil
import zipfile
from pathlib import Path

import pytest

from equipment.management import decoder
from tests.commands import manage

FAILS = "#!/bin/sh\necho 'no road to the registry' >&2\nexit 1\n"


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty static folder in place of the real one."""
    monkeypatch.setattr(decoder, "PLACE", tmp_path / "decoder")
    monkeypatch.setattr(decoder.fetch, "__defaults__", (tmp_path / "decoder",))
    monkeypatch.setattr(decoder.is_whole, "__defaults__", (tmp_path / "decoder",))
    return tmp_path / "decoder"


@pytest.fixture
def npm(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """`npm(script)`: a machine whose npm is that script, and whose pip finds nothing."""

    def is_now(script: str) -> None:
        file = tmp_path / "npm"
        file.write_text(script)
        file.chmod(0o755)
        monkeypatch.setenv("PATH", f"{tmp_path}:/usr/bin:/bin")
        monkeypatch.setenv("PIP_NO_INDEX", "1")
        for name in ("PIP_FIND_LINKS", "PIP_EXTRA_INDEX_URL"):
            monkeypatch.delenv(name, raising=False)
        monkeypatch.setenv("PIP_CONFIG_FILE", "/dev/null")

    return is_now


def test_the_decoder_of_this_checkout_is_whole():
    assert decoder.is_whole(), "run `manage.py fetch_decoder`, or `python -m tests`, which does"


def test_one_that_is_whole_is_not_fetched_again(npm):
    npm(FAILS)
    out, err, code = manage("fetch_decoder")
    assert (err, code) == ("", 0) and "here already" in out


def test_what_npm_brings_is_laid_only_if_each_file_is_the_one_asked_for(place, npm, tmp_path):
    store = tmp_path / "store"
    for file in decoder.files():
        (store / file.source).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(Path(decoder.EQUIPMENT, "static/equipment/decoder", file.name), store / file.source)
    npm(f"#!/bin/sh\ncp -r {store} node_modules\n")
    assert manage("fetch_decoder")[2] == 0
    assert decoder.is_whole(place)

    shutil.rmtree(place)
    altered = store / decoder.files()[0].source
    altered.write_text(altered.read_text() + "// altered")
    _, err, code = manage("fetch_decoder")
    assert code == 1 and "not the ones that were asked for: es/share.js" in err
    assert not place.exists()


def test_a_file_altered_afterwards_is_noticed(place, tmp_path):
    shutil.copytree(decoder.EQUIPMENT / "static/equipment/decoder", place)
    assert decoder.is_whole(place)
    with (place / "zxing_reader.wasm").open("ab") as wasm:
        wasm.write(b"\0")
    assert not decoder.is_whole(place)


def test_where_it_cannot_be_had_the_command_fails_and_the_demo_goes_on(place, npm, db):
    npm(FAILS)
    _, err, code = manage("fetch_decoder")
    assert code == 1 and err.startswith("The decoder could not be fetched: ")
    out, err, code = manage("demo", "--no-serve", "--days", "1")
    assert (err, code) == ("", 0)
    assert "Reading tags by camera may not work" in out and "password" in out


def test_the_lock_names_no_host_and_holds_a_digest_for_each_package():
    lock = (decoder.SOURCES / "package-lock.json").read_text()
    assert "://" not in lock
    packages = json.loads(lock)["packages"]
    assert all("integrity" in package for name, package in packages.items() if name)


def test_the_npm_that_is_brought_is_the_one_of_the_digests(tmp_path, monkeypatch):
    """pip is asked as Shedbook asks it, of a folder with a wheel of that name and another content."""
    name, version = decoder.NPM.read_text().split("\n")[1].split()[0].split("==")
    wheel = f"{name.replace('-', '_')}-{version}-py3-none-any.whl"
    with zipfile.ZipFile(tmp_path / wheel, "w") as archive:
        archive.writestr(
            f"{wheel.split('-py3')[0]}.dist-info/METADATA", f"Name: {name}\nVersion: {version}\n"
        )
    monkeypatch.setenv("PATH", str(tmp_path))
    for key, value in (("NO_INDEX", "1"), ("FIND_LINKS", str(tmp_path)), ("CONFIG_FILE", "/dev/null")):
        monkeypatch.setenv(f"PIP_{key}", value)
    monkeypatch.delenv("PIP_EXTRA_INDEX_URL", raising=False)
    with pytest.raises(decoder.NotFetched, match=r"Expected .*sha256|Expected +or"):
        decoder.install(tmp_path)
