"""A phone's outbox for browser tests: its modules on a light page of the live server, with no page of the orchard."""

import time
from collections.abc import Callable
from typing import Any

from django.templatetags.static import static
from playwright.sync_api import Page, Request, Route

from equipment.pages.devices.here import initials
from tests.cast import Farm

DEVICE = "00000000-0000-7000-8000-0000000000ff"
ENTRIES = "**/api/entries/"
OPEN = """async ([modules, given]) => {
  const [outbox, db, sheets] = await Promise.all(modules.map((each) => import(each)));
  window.kept = db.createDb();
  window.box = await outbox.openOutbox({ ...given, db: window.kept });
  window.preparePhoto = outbox.preparePhoto;
  window.sheets = sheets.createSheets({ db: window.kept, urls: given.urls });
}"""
RECORD = """([drafts, options]) => box.record(drafts, options).then(
  (entries) => ({entries}), (error) => ({why: error.why}))"""
IS = "(wanted) => Object.entries(wanted).every(([name, value]) => box.status()[name] === value)"
MODULES = ("outbox", "db", "sheets")
URLS = {
    "entries": "/api/entries/",
    "photos": "/api/photos/",
    "here": "/orchard/here/",
    "sheet": "/api/crews/CODE/sheet/",
}


class Phone:
    """One page of a phone on which `name` is signed in; the outbox is open once `open` has returned.

    `bodies`, `headers` and `times` (seconds) are of the requests to the book so far.
    """

    def __init__(self, farm: Farm, page: Page, name: str = "sam") -> None:
        self.farm, self.page, self.user = farm, page, farm.users[name]
        self.bodies: list[dict[str, Any]] = []
        self.headers: list[dict[str, str]] = []
        self.times: list[float] = []
        self.handlers: dict[str, Callable[[Route], None]] = {}
        page.on("request", self._sent)

    def _sent(self, request: Request) -> None:
        if request.url.endswith("/api/entries/"):
            self.bodies.append(request.post_data_json)
            self.headers.append(request.headers)
            self.times.append(time.monotonic())

    def open(self, **given: Any) -> "Phone":
        self.page.goto("/me/")
        name = self.user.get_username()
        who = {"id": self.user.pk, "name": name, "initials": initials(name)}
        given = {"user": who, "device": DEVICE, "store": "A", "urls": URLS} | given
        modules = [static(f"equipment/js/orchard/{name}.js") for name in MODULES]
        self.page.evaluate(OPEN, [modules, given])
        return self

    def arrival(self, block: str = "N4", **fields: Any) -> dict[str, Any]:
        """A draft that needs no gear."""
        return {"verb": "arrived", "crew": self.farm.crews["red"].pk, "block": block, "detail": {}, **fields}

    def arrived(self, count: int = 1) -> list[str]:
        """Record `count` acts, one after the other, and return their ids."""
        return [self.record(self.arrival())[0]["id"] for _ in range(count)]

    def record(self, *drafts: dict[str, Any], **options: Any) -> list[dict[str, Any]]:
        """The entries, once the box says that they are on disk."""
        return self.try_to_record(*drafts, **options)["entries"]

    def try_to_record(self, *drafts: dict[str, Any], **options: Any) -> Any:
        """The same, or {"why": ...}."""
        return self.page.evaluate(RECORD, [drafts, options])

    def status(self) -> Any:
        return self.page.evaluate("() => box.status()")

    def flush(self) -> None:
        """By the button; returns when the sending is over."""
        self.page.evaluate("() => box.flush()")

    def until(self, **wanted: Any) -> Any:
        """Wait until the status says so, and return it."""
        self.page.wait_for_function(IS, arg=wanted)
        return self.status()

    def rows(self) -> list[dict[str, Any]]:
        return self.page.evaluate("() => box.entries()")

    def export(self) -> str:
        return self.page.evaluate("() => box.export().then((file) => file.text())")

    def answers(self, how: Any, *, times: int | None = None, url: str = ENTRIES) -> None:
        """From now on `how(route)` answers, or what `route.fulfill` takes; None lets the server answer again."""
        before = self.handlers.pop(url, None)
        if how is not None:
            self.handlers[url] = how if callable(how) else (lambda route: route.fulfill(**how))
            self.page.route(url, self.handlers[url], times=times)
        # Only now: a request in between must not slip through to the server.
        if before is not None:
            self.page.unroute(url, before)


def silent(route: Route) -> None:
    """Nothing is answered at all."""


def dead(route: Route) -> None:
    """The server is gone while the network stays."""
    route.abort("connectionrefused")


def half(route: Route) -> None:
    """The server does all of it, and tells half."""
    answered = route.fetch()
    body = answered.json()
    route.fulfill(response=answered, json={**body, "answers": body["answers"][: len(body["answers"]) // 2]})


def lost(route: Route) -> None:
    """It arrives, its answer does not."""
    route.fetch()
    route.abort()


def html(status: int = 200, **headers: str) -> dict[str, Any]:
    """What somebody else's page in the server's place answers."""
    page = "<!doctype html><title>Welcome</title><p>Accept our terms"
    return {"status": status, "content_type": "text/html", "headers": headers, "body": page}
