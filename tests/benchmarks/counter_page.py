"""In the browser: from the scanner's Enter to the answer on the screen, over 200 scans at the real server.

A person waits for this one, so the limit is absolute. The clock is the browser's own: from the keydown event's time
stamp to the frame that shows the new answer.
"""

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, sync_playwright

from tests import chromium
from tests.benchmarks.report import Report
from tests.benchmarks.timing import percentile

ROOT = Path(__file__).resolve().parents[2]
SCANS = 200
PICKERS = 50
MOST_MS = 100

# Enter starts the watch; the first new answer stops it, once the frame that shows it has been drawn.
WATCH = """() => {
  window.times = [];
  performance.setResourceTimingBufferSize(5000);
  let started = null;
  document.addEventListener('keydown', (event) => {
    if (event.key === 'Enter') started = event.timeStamp;
  }, { capture: true });
  const answer = document.querySelector('.answer');
  new MutationObserver(() => {
    if (started === null) return;
    const from = started;
    started = null;
    requestAnimationFrame(() => {
      const channel = new MessageChannel();
      channel.port1.onmessage = () => times.push(performance.now() - from);
      channel.port2.postMessage(null);
    });
  }).observe(answer, { subtree: true, childList: true, characterData: true, attributes: true });
}"""

# What the browser itself measured of the requests whose answers are shown: entries, and kits as a badge is scanned.
WAITED = """() => performance.getEntriesByType('resource')
  .filter(({ name }) => name.endsWith('/api/entries/') || name.includes('?last='))
  .map(({ duration }) => duration)"""


def run(report: Report) -> None:
    scans, counter = prepare()
    with served() as address, opened(address, counter) as page:
        warm_up, measured = scans[:10], scans[10 : 10 + SCANS]
        for code in warm_up:
            scan(page, code)
        page.evaluate("() => { window.times.length = 0; performance.clearResourceTimings(); }")
        for code in measured:
            scan(page, code)
        times, waited = page.evaluate("times"), page.evaluate(WAITED)
    if len(times) != SCANS:
        raise RuntimeError(f"{len(times)} answers were seen for {SCANS} scans.")
    report.limit("of it waiting for the server, p95", percentile(waited, 95), unit="ms", at_most=MOST_MS)
    report.limit("counter page, scan to answer, median", percentile(times, 50), unit="ms", at_most=MOST_MS)
    report.limit(
        "counter page, scan to answer, p95 of 200", percentile(times, 95), unit="ms", at_most=MOST_MS
    )


def prepare() -> tuple[list[str], str]:
    """A farm with enough gear: the codes to scan, a badge, then four items, and so on; and the counter's device."""
    from django.utils import timezone

    from crews.models import Picker
    from equipment.actions.change_crew import join
    from equipment.actions.lend_badge import lend_new
    from tests.cast import found_farm

    farm = found_farm()
    farm.plan("red", "N4")
    people = [Picker.objects.create(number=str(100 + n), name=f"Picker {n}") for n in range(PICKERS)]
    cards = lend_new(people, timezone.localdate())
    join(farm.pen(), people, farm.crews["red"])
    gear = zip(*(farm.gear(kind, PICKERS) for kind in ("bag", "clippers", "gloves", "goggles")), strict=True)
    scans = [code for card, tags in zip(cards, gear, strict=True) for code in (card.pk, *tags)]
    return scans, str(farm.device.pk)


@contextmanager
def served() -> Iterator[str]:
    """The address of the production server on the benchmark's book."""
    command = [sys.executable, "manage.py", "serve", "--port", "0"]
    server = subprocess.Popen(command, cwd=ROOT, env=os.environ.copy(), stdout=subprocess.PIPE, text=True)
    try:
        line = server.stdout.readline() if server.stdout else ""
        yield line[line.index("http") :].split()[0]
    finally:
        server.terminate()
        server.wait(20)


@contextmanager
def opened(address: str, counter: str) -> Iterator[Page]:
    """The counter's page, signed in as the storeman and ready."""
    from tests.cast import PASSWORD

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium.ensure(), args=chromium.FLAGS)
        page = browser.new_page(base_url=address, viewport={"width": 1280, "height": 800})
        page.goto("/sign-in/?next=/counter/")
        page.fill("[name=username]", "rosa")
        page.fill("[name=password]", PASSWORD)
        page.keyboard.press("Enter")
        page.get_by_label("This is").select_option(counter)
        page.get_by_role("button", name="Open this counter").click()
        page.wait_for_selector('.counter[data-ready="true"]')
        page.evaluate(WATCH)
        yield page
        browser.close()


def scan(page: Page, code: str) -> Any:
    page.keyboard.type(code)
    page.keyboard.press("Enter")
    return page.wait_for_selector('.counter[data-waiting="0"]', state="attached")
