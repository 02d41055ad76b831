"""Where there is no browser one is installed, or the run says what to do; it never passes without."""

import os
import shutil
from pathlib import Path

import pytest

from tests import chromium

WORKS = "#!/bin/sh\necho Chromium 1.0\n"
STUB = "#!/bin/sh\necho 'install another package first' >&2\nexit 1\n"
INSTALLS = (
    "#!/bin/sh\n[ $1 = update ] || printf '#!/bin/sh\\necho 1.0\\n' > {0}/chromium && chmod +x {0}/* \n"
)
FAILS = "#!/bin/sh\necho 'no space left in the shed' >&2\nexit 100\n"


@pytest.fixture
def machine(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """`machine(name=script, ...)`: only these programs exist, and we are root."""
    programs = tmp_path / "programs"
    programs.mkdir()
    for name in ("env", "chmod"):
        (programs / name).symlink_to(shutil.which(name) or name)
    monkeypatch.setenv("PATH", str(programs))
    monkeypatch.delenv("SHEDBOOK_CHROMIUM", raising=False)
    monkeypatch.setattr(os, "geteuid", lambda: 0)

    def has(**scripts: str) -> Path:
        for name, script in scripts.items():
            file = programs / name.replace("_", "-")
            file.write_text(script.replace("{0}", str(programs)))
            file.chmod(0o755)
        return programs

    return has


@pytest.mark.parametrize("name", chromium.NAMES)
def test_one_that_is_there_is_taken(machine, name):
    programs = machine(**{name: WORKS})
    assert chromium.ensure() == str(programs / name)


def test_one_that_only_advertises_another_package_is_passed_over(machine):
    programs = machine(chromium=STUB, google_chrome=WORKS)
    assert chromium.ensure() == str(programs / "google-chrome")


def test_a_missing_one_is_installed(machine):
    programs = machine(apt_get=INSTALLS)
    assert chromium.ensure() == str(programs / "chromium")


def test_a_failed_installation_shows_what_was_said(machine):
    machine(apt_get=FAILS)
    with pytest.raises(chromium.NoChromium, match="no space left in the shed"):
        chromium.ensure()


def test_without_the_right_to_install_it_says_what_to_do(machine, monkeypatch):
    machine(apt_get=INSTALLS)
    monkeypatch.setattr(os, "geteuid", lambda: 1000)
    with pytest.raises(chromium.NoChromium, match=r"Install a package .* or set SHEDBOOK_CHROMIUM"):
        chromium.ensure()


def test_the_one_that_was_named_must_start(machine, monkeypatch):
    programs = machine(chromium=WORKS, other=STUB)
    monkeypatch.setenv("SHEDBOOK_CHROMIUM", str(programs / "other"))
    with pytest.raises(chromium.NoChromium, match="which does not start"):
        chromium.ensure()
    monkeypatch.setenv("SHEDBOOK_CHROMIUM", str(programs / "chromium"))
    assert chromium.ensure() == str(programs / "chromium")


def test_certutil_is_taken_or_installed_or_asked_for(machine, monkeypatch):
    installs = "#!/bin/sh\n[ $1 = update ] || printf '#!/bin/sh\\n' > {0}/certutil && chmod +x {0}/* \n"
    programs = machine(apt_get=installs)
    assert chromium.ensure_certutil() == str(programs / "certutil")
    (programs / "certutil").unlink()
    monkeypatch.setattr(os, "geteuid", lambda: 1000)
    with pytest.raises(chromium.NoChromium, match="libnss3-tools or nss-tools"):
        chromium.ensure_certutil()


def test_the_light_one_goes_before_unless_one_was_named(machine, monkeypatch):
    programs = machine(chromium=WORKS, chromium_headless_shell=WORKS)
    assert chromium.find_light() == str(programs / chromium.LIGHT)
    monkeypatch.setenv("SHEDBOOK_CHROMIUM", str(programs / "chromium"))
    assert chromium.find_light() == str(programs / "chromium")


def test_where_the_light_one_cannot_be_had_chromium_does_its_work(machine):
    programs = machine(chromium=WORKS, apt_get=FAILS)
    chromium.ensure_light()
    assert chromium.find_light() == str(programs / "chromium")


def test_strace_is_installed_too_or_asked_for(machine, monkeypatch):
    programs = machine(apt_get=INSTALLS.replace("chromium", "strace"))
    assert chromium.ensure_strace() == str(programs / "strace")
    monkeypatch.setattr(os, "geteuid", lambda: 1000)
    (programs / "strace").unlink()
    with pytest.raises(chromium.NoChromium, match="Install the package strace"):
        chromium.ensure_strace()
