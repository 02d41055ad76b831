"""A real browser for tests: `page`, `open_page` for a second person, `sign_in`, and `axe` for accessibility.

Every page is watched. A console error (a breach of the content policy is one), an uncaught exception, or a request to
any other host fails the test, unless the test said before that it expects it:

    expect_problem("status of 409")

Give `page.wait_for_function` a function ("() => ..."): a bare expression is evaluated again and again by the page
itself, which the content policy forbids, so that it fails where the first look comes too early.
"""

import re
from collections.abc import Callable, Iterator
from typing import Any
from urllib.parse import urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import (
    Browser,
    BrowserContext,
    ConsoleMessage,
    Page,
    Request,
    Response,
    WebError,
    expect,
    sync_playwright,
)

from tests import chromium as browser_program

OpenPage = Callable[..., Page]
COUNTER = {"width": 1280, "height": 800}
# How long, in ms, before a test says that something never came: machines are busy, and a pass waits for nothing.
PATIENCE = 30_000
MOUNTED = (
    "() => !document.querySelector('script[type=module]') || 'mounted' in document.documentElement.dataset"
)
expect.set_options(timeout=PATIENCE)


class Watch:
    """What went wrong on the pages of one test, and what the test expects to go wrong."""

    def __init__(self, host: str) -> None:
        self.host = host
        self.problems: list[str] = []
        self.expected: list[str] = []
        self.allowed: list[str] = []

    def over(self, context: BrowserContext) -> None:
        context.on("console", self.on_console)
        context.on("weberror", self.on_error)
        context.on("request", self.on_request)

    def on_console(self, message: ConsoleMessage) -> None:
        if message.type in {"error", "assert"}:
            self.problems.append(f"console: {message.text} ({message.location.get('url', '')})")

    def on_error(self, error: WebError) -> None:
        self.problems.append(f"uncaught: {error.error}")

    def on_request(self, request: Request) -> None:
        address = urlsplit(request.url)
        if address.scheme not in {"data", "blob"} and address.netloc != self.host:
            self.problems.append(f"request to another host: {request.url}")

    def verdict(self) -> str:
        """Everything that happened unexpectedly or was expected and did not happen, one a line; empty is good."""
        known = [*self.expected, *self.allowed]
        surprises = [p for p in self.problems if not any(re.search(e, p) for e in known)]
        absences = [e for e in self.expected if not any(re.search(e, p) for p in self.problems)]
        return "\n".join(surprises + [f"expected, but did not happen: {pattern}" for pattern in absences])


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """One browser for each process of the run."""
    program = browser_program.find_light()
    if program is None:
        pytest.fail("No Chromium on this machine: `python -m tests` installs it or says how to.")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=browser_program.FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def watch(live_server: Any) -> Iterator[Watch]:
    watch = Watch(urlsplit(live_server.url).netloc)
    yield watch
    if verdict := watch.verdict():
        pytest.fail(f"The browser met problems:\n{verdict}", pytrace=False)


@pytest.fixture
def expect_problem(watch: Watch) -> Callable[[str], None]:
    """Declare, as a regular expression, a problem that must happen in this test."""
    return watch.expected.append


@pytest.fixture
def open_page(
    transactional_db: None, live_server: Any, watch: Watch, chromium: Browser
) -> Iterator[OpenPage]:
    """`open_page(**options)`: a page in a context of its own (another person's browser), closed after the test.

    The options are those of playwright's `new_context`; addresses may be relative to the live server.
    """
    contexts: list[BrowserContext] = []

    def opened(**options: Any) -> Page:
        context = chromium.new_context(**{"base_url": live_server.url, "viewport": COUNTER} | options)
        contexts.append(context)
        context.set_default_timeout(PATIENCE)
        watch.over(context)
        page = context.new_page()
        return page if options.get("java_script_enabled") is False else in_use(page)

    yield opened
    for context in contexts:
        context.close()


@pytest.fixture
def page(open_page: OpenPage) -> Page:
    return open_page()


@pytest.fixture
def sign_in(live_server: Any) -> Callable[[Page, Any], None]:
    """`sign_in(page, user)`: from now on this page's browser is that user's, without going through the login page."""

    def signed_in(page: Page, user: Any) -> None:
        from django.conf import settings
        from django.test import Client

        client = Client()
        client.force_login(user)
        session = client.cookies[settings.SESSION_COOKIE_NAME].value
        page.context.add_cookies(
            [{"name": settings.SESSION_COOKIE_NAME, "value": session, "url": live_server.url}]
        )

    return signed_in


def in_use(page: Page) -> Page:
    """`page`, whose `goto` waits until its modules are mounted: who types by program is quicker than they are."""
    go = page.goto

    def goto(url: str, **options: Any) -> Response | None:
        response = go(url, **options)
        page.wait_for_function(MOUNTED)
        return response

    page.goto = goto  # type: ignore[method-assign]
    return page


def until(page: Page, asked: str) -> None:
    """Wait for what `asked` promises: `wait_for_function` takes the promise itself for a yes."""
    page.evaluate(
        f"""async () => {{
          const end = performance.now() + 30_000;
          while (!(await ({asked})())) {{
            if (performance.now() > end) throw new Error('never came');
            await new Promise((resolve) => setTimeout(resolve, 50));
          }}
        }}"""
    )


@pytest.fixture(scope="session")
def axe() -> Callable[[Page], None]:
    """`axe(page)`: fail with the list of violations where axe-core finds any."""
    engine = Axe()

    def check(page: Page) -> None:
        violations = engine.run(page).response["violations"]
        if violations:
            pytest.fail(f"axe on {page.url}:\n" + "\n".join(map(described, violations)), pytrace=False)

    return check


def described(violation: dict[str, Any]) -> str:
    """One violation in a few lines: the rule, and each element with what is wrong with it."""
    lines = [f"{violation['id']} ({violation['impact']}): {violation['help']}"]
    for node in violation["nodes"]:
        checks = [*node["any"], *node["all"], *node["none"]]
        lines.append(
            f"    {' '.join(map(str, node['target']))}: {'; '.join(check['message'] for check in checks)}"
        )
    return "\n".join(lines)
