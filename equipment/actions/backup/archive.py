"""One file with everything in it: a gzipped tar, its manifest first, which names each file with its SHA-256."""

import gzip
import hashlib
import json
import os
import shutil
import tarfile
import zlib
from collections.abc import Mapping
from contextlib import closing
from io import BytesIO
from pathlib import Path
from typing import IO

from django.utils.translation import gettext as _

from equipment.actions.backup.facts import FORMAT, Manifest, Member

MANIFEST = "manifest.json"
MOST_OF_A_MANIFEST = 10_000_000
AT_ONCE = 1 << 20
ONLY_OWNER = 0o600
# A backup should not take the processor from a counter; the rest of gzip's levels costs three times as much.
LEVEL = 1


class BadArchive(Exception):
    """It is no archive of ours, or not as it was written; the message says what, and what to do."""


def write(path: Path, manifest: Manifest, files: Mapping[str, Path]) -> None:
    """Write a new file, down to the disk; OSError where that fails."""
    with _new(path) as raw:
        with (
            gzip.GzipFile(filename="", mode="wb", fileobj=raw, compresslevel=LEVEL) as packed,
            tarfile.open(fileobj=packed, mode="w", format=tarfile.PAX_FORMAT) as tar,
        ):
            said = manifest.as_json()
            tar.addfile(_info(MANIFEST, len(said)), BytesIO(said))
            for name, file in files.items():
                with file.open("rb") as data:
                    tar.addfile(_info(name, manifest.members[name].size), data)
        raw.flush()
        os.fsync(raw.fileno())


def _info(name: str, size: int) -> tarfile.TarInfo:
    info = tarfile.TarInfo(name)
    info.size, info.mode = size, ONLY_OWNER
    return info


def member(file: Path) -> Member:
    with file.open("rb") as data:
        return Member(file.stat().st_size, hashlib.file_digest(data, "sha256").hexdigest())


def read(archive: Path, into: Path | None = None) -> Manifest:
    """Read all of it and check every file against the manifest; write them under `into` where that is given.

    Nothing but plain files that the manifest names is taken, so that none is written elsewhere. Raises BadArchive;
    OSError where the archive cannot be opened or `into` not be written to.
    """
    with archive.open("rb") as raw:
        try:
            return _read(raw, into)
        except (tarfile.TarError, gzip.BadGzipFile, EOFError, zlib.error):
            raise BadArchive(_damaged(archive.name)) from None


def _read(raw: IO[bytes], into: Path | None) -> Manifest:
    name = Path(raw.name).name
    with gzip.GzipFile(fileobj=raw) as packed:
        with closing(tarfile.open(fileobj=packed, mode="r|")) as tar:
            manifest = _manifest(tar, name)
            missing = dict(manifest.members)
            while info := tar.next():
                wanted = missing.pop(info.name, None)
                if wanted is None or not info.isreg() or not _plain(info.name):
                    said = _(
                        "%(name)s holds %(file)s, which no backup has: nothing was taken from it. Use another."
                    )
                    raise BadArchive(said % {"name": name, "file": repr(info.name)})
                data = tar.extractfile(info)
                if data is None or _taken(data, info.name, into) != wanted:
                    raise BadArchive(_damaged(name))
            if missing:
                raise BadArchive(_damaged(name))
        # To its very end, where gzip keeps the check sum.
        while packed.read(AT_ONCE):
            pass
    return manifest


def _manifest(tar: tarfile.TarFile, name: str) -> Manifest:
    no_backup = _("%(name)s is no backup of Shedbook. Name a file that `backup` wrote.") % {"name": name}
    first = tar.next()
    if first is None or first.name != MANIFEST or not first.isreg() or first.size > MOST_OF_A_MANIFEST:
        raise BadArchive(no_backup)
    data = tar.extractfile(first)
    said = data.read() if data else b""
    try:
        plain = json.loads(said)
        if plain["format"] > FORMAT:
            newer = _("%(name)s was written by a newer Shedbook. Update Shedbook on this machine first.")
            raise BadArchive(newer % {"name": name})
        return Manifest.read(plain)
    except (ValueError, LookupError, TypeError, AttributeError):
        raise BadArchive(no_backup) from None


def _plain(name: str) -> bool:
    """A relative path that stays where it is."""
    return bool(name) and "\\" not in name and all(part not in ("", ".", "..") for part in name.split("/"))


def _taken(data: IO[bytes], name: str, into: Path | None) -> Member:
    """Read it to its end, and write it where it belongs."""
    digest, size = hashlib.sha256(), 0
    with _opened(into / name) if into else open(os.devnull, "wb") as file:
        while part := data.read(AT_ONCE):
            digest.update(part)
            size += len(part)
            file.write(part)
        file.flush()
        if into:
            os.fsync(file.fileno())
    return Member(size, digest.hexdigest())


def _opened(path: Path) -> IO[bytes]:
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    return _new(path)


def _new(path: Path) -> IO[bytes]:
    return os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, ONLY_OWNER), "wb")


def _damaged(name: str) -> str:
    said = _(
        "%(name)s is damaged: it is not as it was written. Use another backup, or the copy kept elsewhere."
    )
    return said % {"name": name}


def copy(source: Path, folder: Path) -> None:
    """A second copy, read back and whole before it has its name. OSError; BadArchive where it did not arrive."""
    part = folder / f".{source.name}.part"
    part.unlink(missing_ok=True)
    try:
        with source.open("rb") as old, _new(part) as new:
            shutil.copyfileobj(old, new, AT_ONCE)
            new.flush()
            os.fsync(new.fileno())
        if member(part) != member(source):
            raise BadArchive(_damaged(part.name))
        part.replace(folder / source.name)
        settle(folder)
    finally:
        part.unlink(missing_ok=True)


def settle(folder: Path) -> None:
    """The names in a folder, down to the disk."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
