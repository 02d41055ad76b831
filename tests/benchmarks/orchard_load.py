"""The orchard page on a phone: what its first load weighs, and how soon it opens where there is no line.

A person waits for it with a crew around them, so the limits are absolute. Weighed is every byte that the server sent
until the phone had the page, its sheets and all that the worker keeps, less what the decoder of tags takes. Timed is,
with the browser's processor slowed to a quarter, from the start of the navigation to the frame that shows the crew.
"""

import statistics
from typing import Any
from urllib.request import Request, urlopen

from playwright.sync_api import Page, sync_playwright

from equipment.pages.shell import files
from tests import chromium
from tests.benchmarks.counter_page import served
from tests.benchmarks.farm import small_farm
from tests.benchmarks.meter import Meter, metered
from tests.benchmarks.report import Report
from tests.cast import PASSWORD

PICKERS = 40
ROUNDS = 7
SLOWED = 4
MOST_KB, MOST_MS = 400, 1000
PHONE = {"width": 390, "height": 844}
KINDS = ("bag", "clippers", "gloves", "goggles")

# When the frame that shows the crew's list has been drawn, in ms since the navigation began.
WATCH = """(() => {
  const seen = () => document.querySelector('[data-slot="screen"][data-screen="crew"] li');
  const look = () => {
    if (window.shownAt || !document.documentElement) return;
    if (!seen()) return void requestAnimationFrame(look);
    requestAnimationFrame(() => {
      const channel = new MessageChannel();
      channel.port1.onmessage = () => { window.shownAt = performance.now(); };
      channel.port2.postMessage(null);
    });
  };
  requestAnimationFrame(look);
})()"""

KEPT = """() => caches.keys().then((names) => names.some((name) => name.startsWith('shedbook-decoder-')))"""


def run(report: Report) -> None:
    prepare()
    with served() as address, metered(address) as meter, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium.ensure(), args=chromium.FLAGS)
        page = signed_in(browser, meter.address)
        first = weigh_first_load(page, meter)
        times = [open_offline(page) for _ in range(ROUNDS)]
        browser.close()
    report.limit("orchard page, first load over the wire", first / 1000, unit="kB", at_most=MOST_KB)
    report.limit(
        f"orchard page, opened without a line, median of {ROUNDS}",
        statistics.median(times),
        unit="ms",
        at_most=MOST_MS,
    )


def prepare() -> None:
    """A crew of usual size with its gear handed out."""
    from django.utils import timezone
    from rest_framework.test import APIClient

    from crews.models import Picker
    from equipment.actions.change_crew import join
    from equipment.actions.lend_badge import lend_new
    from equipment.actions.load_catalogue import load_catalogue

    farm = small_farm()
    load_catalogue()
    farm.plan("red", "N4", clipped=True)
    people = [Picker.objects.create(number=str(700 + n), name=f"Picker {n}") for n in range(PICKERS)]
    cards = lend_new(people, timezone.localdate())
    join(farm.pen(), people, farm.crews["red"])
    tags = zip(*(farm.gear(kind, PICKERS) for kind in KINDS), strict=True)
    out = [
        farm.entry("handed_out", item=tag, picker=card.pk)
        for card, held in zip(cards, tags, strict=True)
        for tag in held
    ]
    client = APIClient(HTTP_HOST="localhost")
    client.force_login(farm.users["rosa"], backend="crews.signing_in.RoleBackend")
    answer = client.post("/api/entries/", farm.batch(out, gate="note"), format="json").json()
    if {each["outcome"] for each in answer["answers"]} != {"recorded"}:
        raise RuntimeError("The gear could not be handed out.")


def signed_in(browser: Any, address: str) -> Page:
    page = browser.new_page(base_url=address, viewport=PHONE)
    page.add_init_script(WATCH)
    page.goto("/sign-in/?next=/me/")
    page.fill("[name=username]", "sam")
    page.fill("[name=password]", PASSWORD)
    page.keyboard.press("Enter")
    page.wait_for_function("() => location.pathname === '/me/'")
    return page


def weigh_first_load(page: Page, meter: Meter) -> float:
    """Bytes until the page is ready and kept, less the decoder's."""
    before = meter.bytes
    open_page(page)
    page.wait_for_function(KEPT, timeout=60_000)
    page.wait_for_function("() => navigator.serviceWorker.controller", timeout=60_000)
    all_of_it = meter.bytes - before
    before = meter.bytes
    for address in files.decoder():
        request = Request(f"{meter.address.rstrip('/')}{address}", headers={"Accept-Encoding": "gzip"})
        with urlopen(request, timeout=60) as answer:
            answer.read()
    return all_of_it - (meter.bytes - before)


def open_page(page: Page) -> None:
    page.goto("/orchard/")
    page.wait_for_selector('.orchard[data-ready="true"]', timeout=60_000)
    page.wait_for_function("() => window.shownAt", timeout=60_000)


def open_offline(page: Page) -> float:
    """Milliseconds; the browser fails where the page is not kept."""
    session = page.context.new_cdp_session(page)
    page.context.set_offline(True)
    session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
    page.goto("about:blank")
    page.goto("/orchard/", wait_until="commit")
    page.wait_for_function("() => window.shownAt", timeout=60_000)
    took = page.evaluate("window.shownAt")
    session.send("Emulation.setCPUThrottlingRate", {"rate": 1})
    page.context.set_offline(False)
    session.detach()
    return took
