"""What the farm's lock says: `config/requirements/run.txt`, in pip's own form."""

import re
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from packaging.utils import canonicalize_name

LOCK = Path(settings.BASE_DIR) / "config" / "requirements" / "run.txt"
PIN = re.compile(r"^([A-Za-z0-9._-]+)==(\S+)")
DIGEST = re.compile(r"--hash=sha256:([0-9a-f]{64})\b")
FOR = re.compile(r"#\s+via (.+)$")


@dataclass(frozen=True)
class Locked:
    """One package: its one version, the SHA-256 of each file of that release (hex), and what asked for it."""

    version: str
    digests: tuple[str, ...]
    asked_by: tuple[str, ...]


def locked(path: Path = LOCK) -> dict[str, Locked]:
    """By the package's canonical name. Raises OSError where there is no such file."""
    found = {}
    for line in re.sub(r"\\\n|\n(?=[ \t]+#)", " ", path.read_text()).splitlines():
        if pin := PIN.match(line):
            asked = FOR.search(line)
            found[canonicalize_name(pin[1])] = Locked(
                pin[2], tuple(DIGEST.findall(line)), tuple(asked[1].split(", ")) if asked else ()
            )
    return found
