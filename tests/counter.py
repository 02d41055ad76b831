"""A counter for browser tests: a scanner, what the counter says, and a farm behind it."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from playwright.sync_api import Locator, Page, expect

from equipment.domain.counter_tags import COUNTER_TAGS
from equipment.models import ItemState
from equipment.pages.counter.here import COOKIE
from tests.cast import Farm

TAGS = {tag.name: tag.code for tag in COUNTER_TAGS.values()}

# Sounds are told apart by the pitch that each begins with; see sounds.js.
PITCHES = {660: "yes", 180: "no", 392: "partial", 1320: "note"}
HEAR = """(() => {
  const pitches = window.pitches = [];
  const set = AudioParam.prototype.setValueAtTime;
  AudioParam.prototype.setValueAtTime = function (value, at) {
    if (this.maxValue > 1000) pitches.push(value);
    return set.call(this, value, at);
  };
})()"""


def where(tag: str) -> tuple[str, str | None]:
    """Place and picker's name of an item."""
    state = ItemState.objects.select_related("picker").get(tag=tag)
    return state.place, state.picker.name if state.picker else None


class Counter:
    """The page as a storeman with a scanner has it."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.answer: Locator = page.locator(".answer")

    def open(self) -> "Counter":
        self.page.goto("/counter/")
        self.ready()
        return self

    def ready(self) -> None:
        self.until('.counter[data-ready="true"]')

    def scan(self, text: str, end: str = "Enter") -> None:
        """What a wedge scanner does, wherever the focus is; returns at once."""
        self.page.keyboard.type(TAGS.get(text, text), delay=1)
        if end:
            self.page.keyboard.press(end)

    def settle(self) -> None:
        """Wait until every scan so far is done with."""
        self.until('.counter[data-waiting="0"]')

    def until(self, selector: str) -> None:
        """Wait until it is there. The page looks at every frame, where `expect` would look ever more seldom."""
        self.page.wait_for_function("(one) => document.querySelector(one)", arg=selector, timeout=30_000)

    def scan_all(self, *texts: str) -> None:
        for text in texts:
            self.scan(text)
        self.settle()

    def says(self, outcome: str, *words: str) -> None:
        expect(self.answer).to_have_attribute("data-outcome", outcome)
        for word in words:
            expect(self.answer).to_contain_text(word)

    def shows(self, *words: str) -> None:
        for word in words:
            expect(self.page.locator('[data-slot="work"]')).to_contain_text(word)

    def sounds(self) -> list[str]:
        """Every sound so far."""
        heard = [PITCHES[pitch] for pitch in self.page.evaluate("pitches") if pitch in PITCHES]
        # Three knocks are one sound.
        return [
            sound for place, sound in enumerate(heard) if sound != "partial" or heard[place - 1] != "partial"
        ]

    def line(self, *words: str) -> None:
        for word in words:
            expect(self.page.locator(".connection")).to_contain_text(re.compile(re.escape(word)))


@pytest.fixture
def at_counter(page: Page, farm: Farm, sign_in: Callable[[Page, Any], None], live_server: Any) -> Counter:
    """Rosa at counter A1, the page open and ready. Her browser knows already which counter it is."""
    page.add_init_script(HEAR)
    sign_in(page, farm.users["rosa"])
    client = Client()
    client.force_login(farm.users["rosa"])
    client.post("/counter/here/", {"counter": str(farm.device.pk)})
    known = client.cookies[COOKIE].value
    page.context.add_cookies([{"name": COOKIE, "value": known, "url": live_server.url}])
    return Counter(page).open()
