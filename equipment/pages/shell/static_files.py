"""One static file as the orchard page needs it: what it asks for, and by what a browser knows that it is whole."""

import base64
import hashlib
import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from posixpath import dirname, join, normpath

from django.contrib.staticfiles import finders

MAIN = "equipment/js/main.js"
AT_ONCE = re.compile(r"""^(?:import|export)\b[^'"()]*['"](\.[^'"]+)['"]""", re.MULTILINE)
IMPORTED = re.compile(r"""(?:\bfrom|\bimport)\s*\(?\s*['"](\.[^'"]+)['"]""")
# A line of the table in main.js: the name of a module, and its file.
MOUNTED = re.compile(r"""^\s*'?([\w-]+)'?: \(\) => import\('(\.[^']+)'\)""", re.MULTILINE)
IN_STYLE = re.compile(r"""(?:url\(|@import\s)\s*['"]?([^'")#?]+)""")


@dataclass(frozen=True)
class Found:
    """`name` under the static folder; `text` of a script or style, else empty; `integrity` as W3C SRI has it."""

    name: str
    text: str
    integrity: str

    def asked_for(self, mounted: frozenset[str]) -> list[str]:
        """Names of what it imports; of main.js only the modules called in `mounted`."""
        if self.name.endswith(".css"):
            return [self.beside(path) for path in IN_STYLE.findall(self.text) if ":" not in path]
        table = {path: module for module, path in MOUNTED.findall(self.text)} if self.name == MAIN else {}
        paths = IMPORTED.findall(self.text)
        return [self.beside(path) for path in paths if path not in table or table[path] in mounted]

    def needed_at_once(self, mounted: frozenset[str]) -> list[str]:
        """The same without what a script asks for later; what main.js mounts is asked for at once."""
        if self.name == MAIN:
            return self.asked_for(mounted)
        return [self.beside(path) for path in AT_ONCE.findall(self.text)]

    def beside(self, path: str) -> str:
        return normpath(join(dirname(self.name), path.strip()))


def find(name: str) -> Found | None:
    """None where there is no such file. Read anew whenever it is another than before."""
    path = finders.find(name)
    if not isinstance(path, str):
        return None
    now = Path(path).stat()
    return _read(name, path, now.st_mtime_ns, now.st_size)


@lru_cache(maxsize=512)
def _read(name: str, path: str, changed: int, size: int) -> Found:
    body = Path(path).read_bytes()
    text = body.decode() if name.endswith((".js", ".css")) else ""
    return Found(name, text, f"sha256-{base64.b64encode(hashlib.sha256(body).digest()).decode()}")
