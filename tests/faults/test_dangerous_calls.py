"""The program runs no text as a program, reads no format that can do so, and hashes with nothing that is broken.

By the syntax of every file of ours. What is dangerous: chapters V1.2 to V1.5 and V11 of OWASP ASVS 5.0.0, and the calls
that the documentation of Python warns of (`pickle`, `xml`, `subprocess`, `tempfile.mktemp`).
"""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import settings

ROOT = Path(settings.BASE_DIR)
PYTHON = [path for room in ("config", "crews", "equipment") for path in sorted((ROOT / room).rglob("*.py"))]
SCRIPTS = sorted((ROOT / "equipment/static/equipment/js").rglob("*.js"))
CALLS = {"eval", "exec", "compile", "__import__", "system", "popen", "mktemp", "md5", "sha1", "unsafe_load"}
# `re.compile` and its like have a name before the point.
OF_A_MODULE = {"re.compile", "statistics.compile"}
MODULES = {"pickle", "marshal", "shelve", "xml", "lxml", "yaml", "telnetlib", "ftplib", "Crypto"}
SCRIPT = re.compile(
    r"\beval\(|\bnew Function\(|document\.write|insertAdjacentHTML|outerHTML\s*=|\bset(?:Timeout|Interval)\(['\"`]"
)
# Parts of pages that our own templates made, escaped: fetched from the server, and put in their place.
MADE_BY_TEMPLATES = {"refresh.js", "view.js", "figures.js"}


def found(text: str) -> Iterator[str]:
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Call):
            whole = ast.unparse(node.func)
            if whole.rpartition(".")[2] in CALLS and whole not in OF_A_MODULE:
                yield whole
            if any(word.arg == "shell" and ast.unparse(word.value) != "False" for word in node.keywords):
                yield f"{whole}(shell=)"
        elif isinstance(node, ast.Import):
            yield from (name.name for name in node.names if name.name.partition(".")[0] in MODULES)
        elif isinstance(node, ast.ImportFrom) and (node.module or "").partition(".")[0] in MODULES:
            yield node.module or ""


def test_no_file_of_ours_does_it() -> None:
    assert len(PYTHON) > 300
    assert {
        str(path.relative_to(ROOT)): names for path in PYTHON if (names := list(found(path.read_text())))
    } == {}


@pytest.mark.parametrize(
    "text",
    [
        "eval(x)",
        "os.system('ls')",
        "subprocess.run(x, shell=True)",
        "import pickle",
        "from xml.etree import ElementTree",
        "hashlib.md5(x)",
    ],
)
def test_it_would_be_found(text: str) -> None:
    assert list(found(text))


def test_no_script_of_ours_runs_text_or_writes_markup_of_its_own() -> None:
    assert len(SCRIPTS) > 50 and SCRIPT.search("eval(text)") and SCRIPT.search("setTimeout('go()', 1)")
    assert [path.name for path in SCRIPTS if SCRIPT.search(path.read_text())] == []
    assert {path.name for path in SCRIPTS if "innerHTML =" in path.read_text()} == MADE_BY_TEMPLATES
