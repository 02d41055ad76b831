"""A browser that is killed and started again on the same profile, as a phone whose battery is taken out."""

from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Error

from tests import chromium as browser_program
from tests.browsing import PATIENCE, Watch

Start = Callable[..., BrowserContext]


@pytest.fixture
def start(
    chromium: Browser, live_server: Any, watch: Watch, tmp_path: Path, transactional_db: None
) -> Iterator[Start]:
    """`start(**options)`: a browser of its own on one and the same profile, as after a restart."""
    running: list[BrowserContext] = []

    def started(**options: Any) -> BrowserContext:
        context = chromium.browser_type.launch_persistent_context(
            tmp_path / "profile",
            executable_path=browser_program.find_light(),
            args=browser_program.FLAGS,
            base_url=live_server.url,
            **options,
        )
        context.set_default_timeout(PATIENCE)
        watch.over(context)
        running.append(context)
        return context

    yield started
    for context in running:
        context.close()


def kill(context: BrowserContext) -> None:
    """It dies at once: nobody tells it to write anything any more."""
    cdp = context.new_cdp_session(context.pages[0])
    with context.expect_event("close"), suppress(Error):
        cdp.send("Browser.crash")
