"""What the orchard page is made of, found by reading it: the page, its styles, every module it imports, its icons.

The page is read as a stranger gets it, so that what a phone keeps holds nobody's name.
"""

import hashlib
import re
from contextvars import ContextVar
from dataclasses import dataclass
from typing import Any

from django.contrib.auth.models import AnonymousUser
from django.http import HttpRequest
from django.templatetags.static import static
from django.urls import resolve, reverse

from equipment.pages.shell import icons
from equipment.pages.shell.static_files import Found, find

STATIC = static("")
OPENS_WITH = "equipment/js/orchard/opening.js"
DECODER = ("es/share.js", "es/reader/index.js", "zxing_reader.wasm")
IN_PAGE = re.compile(rf'"{re.escape(STATIC)}([^"#?]+)')
MODULES_OF_PAGE = re.compile(r'data-module="([^"]+)"')
IN_TEMPLATE = re.compile(r"<template\b.*?</template>", re.DOTALL)
# A page that says of which build it is must not be asked for that while the build is worked out from it.
reading: ContextVar[bool] = ContextVar("reading", default=False)


@dataclass(frozen=True)
class Shell:
    """`made`: addresses that a view answers. `files`: static addresses, each with its integrity, as browsers check it.

    `build` changes whenever any of it does; `decoder_build` with the decoder alone, and is empty without one.
    """

    page: str
    build: str
    made: tuple[str, ...]
    files: dict[str, str]
    decoder_build: str
    decoder: dict[str, str]


def shell() -> Shell:
    page = as_a_stranger_sees_it()
    made = (reverse("orchard"), reverse("orchard_manifest"), *icons.addresses())
    files, reader = files_of(page), decoder()
    rest = (page, icons.drawn_as(), worker(), *made, *(f"{url} {digest}" for url, digest in files.items()))
    return Shell(reverse("orchard"), digest_of(*rest), made, files, digest_of(*reader.values()), reader)


def build() -> str:
    """The build that this server serves, as the phone's worker names it; empty while the page is read for it."""
    return "" if reading.get() else shell().build


def told_to_page() -> dict[str, Any]:
    """`build`, and the addresses of the `modules` that it opens with: named at its head they come at once, together."""
    if reading.get():
        return {"build": "", "modules": []}
    whole = shell()
    return {"build": whole.build, "modules": modules_at_once(as_a_stranger_sees_it())}


def modules_at_once(page: str) -> list[str]:
    """Not those that a script asks for once the page shows, nor what stands in a template of it."""
    shown = IN_TEMPLATE.sub("", page)
    mounted = mounted_in(shown)
    found: dict[str, Found] = {}
    waiting = [OPENS_WITH, *(name for name in IN_PAGE.findall(shown) if name.endswith(".js"))]
    while waiting:
        name = waiting.pop()
        if name not in found and (file := find(name)):
            found[name] = file
            waiting += file.needed_at_once(mounted)
    return [static(name) for name in sorted(found)]


def worker() -> str:
    file = find("equipment/js/sw/worker.js")
    return file.text if file else ""


def as_a_stranger_sees_it() -> str:
    """The page itself, made for nobody."""
    match = resolve(reverse("orchard"))
    request = HttpRequest()
    request.method, request.path, request.resolver_match = "GET", reverse("orchard"), match
    request.user, request.session = AnonymousUser(), {}  # type: ignore[assignment]
    request.META = {"SERVER_NAME": "localhost", "SERVER_PORT": "80"}
    mark = reading.set(True)
    try:
        return match.func(request, *match.args, **match.kwargs).content.decode()
    finally:
        reading.reset(mark)


def mounted_in(page: str) -> frozenset[str]:
    return frozenset(name for names in MODULES_OF_PAGE.findall(page) for name in names.split())


def files_of(page: str) -> dict[str, str]:
    """Address and integrity of every static file that the page needs."""
    mounted = mounted_in(page)
    found: dict[str, Found] = {}
    waiting = IN_PAGE.findall(page)
    while waiting:
        name = waiting.pop()
        if name not in found and (file := find(name)):
            found[name] = file
            waiting += file.asked_for(mounted)
    return {static(name): found[name].integrity for name in sorted(found)}


def decoder() -> dict[str, str]:
    """The same of the decoder's files; empty where it was not fetched."""
    found = {name: find(f"equipment/decoder/{name}") for name in DECODER}
    return (
        {static(file.name): file.integrity for file in found.values() if file} if all(found.values()) else {}
    )


def digest_of(*texts: str) -> str:
    """Twelve hex digits, as a name; empty for nothing."""
    return hashlib.sha256("\n".join(texts).encode()).hexdigest()[:12] if texts else ""
