"""The orchard page kept on the phone: opens without a line, holds nobody's name, gives way to a newer one in peace."""

import re
from collections.abc import Iterator
from typing import Any
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Page, Route, expect

from equipment.pages.shell import icons
from tests.browsing import until

CANARY = "Quintessa Canarywood"
OURS = "() => caches.keys().then((names) => names.filter((name) => name.startsWith('shedbook-')))"
KEPT = """async () => {
  const kept = [];
  for (const name of await caches.keys()) {
    const cache = await caches.open(name);
    for (const request of await cache.keys()) {
      kept.push({ cache: name, url: request.url, text: await (await cache.match(request)).text() });
    }
  }
  return kept;
}"""


def settled(page: Page) -> None:
    """The worker has taken charge of the page."""
    page.wait_for_function("() => navigator.serviceWorker.controller", timeout=30_000)


def shells(page: Page) -> list[str]:
    return [name for name in page.evaluate(OURS) if "decoder" not in name]


def build(page: Page) -> str:
    return page.locator(".orchard").get_attribute("data-build") or ""


@pytest.fixture
def phone(orchard) -> Page:
    """Sam's phone with the page open and kept."""
    orchard.open()
    settled(orchard.page)
    return orchard.page


@pytest.fixture
def upgraded(monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
    """`upgraded()`: from now on the server serves another build."""

    def now(colour: str = "#ff8800") -> None:
        monkeypatch.setattr(icons, "drawn_as", lambda: f"drawn in {colour}")

    return now


def look_for_upgrade(page: Page) -> None:
    page.evaluate("async () => { await (await navigator.serviceWorker.getRegistration()).update(); }")


def test_it_opens_without_a_line(phone, orchard, expect_problem):
    expect_problem("ERR_INTERNET_DISCONNECTED")
    phone.context.set_offline(True)
    phone.reload()
    orchard.ready()
    expect(orchard.status).to_have_attribute("data-line", re.compile("offline|unreachable"))
    orchard.shows("Who has what")
    phone.context.set_offline(False)


def test_what_the_browser_asks_for_is_what_is_kept(orchard):
    """The browser's own list of requests, against the list that we made by reading the files."""
    asked: set[str] = set()
    orchard.page.on("request", lambda request: asked.add(urlsplit(request.url).path))
    orchard.open()
    settled(orchard.page)
    (shell,) = shells(orchard.page)
    kept = {urlsplit(each["url"]).path for each in orchard.page.evaluate(KEPT) if each["cache"] == shell}
    assert {path for path in asked if path.startswith("/static/") and "/decoder/" not in path} <= kept
    assert "/orchard/" in kept


def test_no_name_of_a_person_is_kept(farm, orchard):
    user, picker = farm.users["sam"], farm.pickers["ana"]
    user.first_name = user.last_name = picker.name = CANARY
    user.save()
    picker.save()
    orchard.open()
    settled(orchard.page)
    kept = orchard.page.evaluate(KEPT)
    assert len(kept) > 50
    assert not [each["url"] for each in kept if CANARY in each["text"] or "Canarywood" in each["text"]]
    assert not [each["url"] for each in kept if "/api/" in each["url"] or each["url"].endswith("/here/")]


# What the page tells a worker, instead of telling it: once told, a browser under a debugger may keep the old worker for
# minutes. That the new one then takes over, and the page comes anew, the next test shows.
OVERHEARD = (
    "() => { window.told = []; ServiceWorker.prototype.postMessage = (said) => window.told.push(said); }"
)


def test_a_new_build_waits_while_somebody_is_in_the_midst_of_something(phone, orchard, upgraded):
    old = shells(phone)
    orchard.go("block")
    phone.evaluate(OVERHEARD)
    upgraded()
    look_for_upgrade(phone)
    until(phone, "async () => (await navigator.serviceWorker.getRegistration()).waiting")
    hide(phone)
    assert phone.evaluate("window.told") == []
    assert set(old) < set(shells(phone))

    # Back at the list of the crew nothing is half done: a hidden page is a good moment.
    orchard.go("crew")
    hide(phone)
    phone.wait_for_function("() => window.told.includes('take-over')")


def hide(page: Page) -> None:
    page.evaluate(
        """() => {
          Object.defineProperty(document, 'hidden', { configurable: true, get: () => true });
          document.dispatchEvent(new Event('visibilitychange'));
        }"""
    )


def test_caches_of_others_are_left_alone(phone, orchard, upgraded):
    phone.evaluate("() => caches.open('somebody-elses')")
    upgraded()
    with phone.expect_navigation(timeout=60_000):
        look_for_upgrade(phone)
    orchard.ready()
    assert phone.evaluate("() => caches.has('somebody-elses')")


@pytest.mark.parametrize("what", ["a file of another build", "a server error", "a captive portal"])
def test_an_upgrade_that_does_not_come_whole_changes_nothing(phone, orchard, upgraded, expect_problem, what):
    expect_problem("ERR_INTERNET_DISCONNECTED")
    before = shells(phone)

    def spoil(route: Route) -> None:
        if what == "a server error":
            route.fulfill(status=500, body="")
        elif what == "a captive portal":
            route.fulfill(status=200, content_type="text/html", body="<h1>Welcome to the wifi</h1>")
        else:
            route.fulfill(status=200, content_type="text/javascript", body="export const other = 1;")

    spoilt = "**/sw.js" if what == "a captive portal" else "**/js/orchard/status.js"
    phone.context.route(spoilt, spoil)
    upgraded()
    phone.evaluate(
        """async () => {
          const registration = await navigator.serviceWorker.getRegistration();
          await registration.update().catch(() => {});
          const worker = registration.installing;
          if (worker) {
            await new Promise((done) => {
              worker.addEventListener('statechange', () => worker.state === 'redundant' && done());
            });
          }
        }"""
    )
    assert shells(phone) == before
    phone.context.set_offline(True)
    phone.reload()
    orchard.ready()
    phone.context.set_offline(False)
