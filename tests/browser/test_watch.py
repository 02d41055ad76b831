"""Every page is watched: what goes wrong behind a page that looks right fails the test.

Each problem is made on purpose and declared. One that the watch did not see would fail as "expected, but did not
happen".
"""

import pytest

from tests.browsing import Watch

STYLE = "document.body.setAttribute('style', 'color: red')"
IMAGE = "document.body.append(Object.assign(new Image(), {src: 'http://elsewhere.example/x.png'}))"
LATER = "void setTimeout(() => { throw new Error('the shelf fell') }, 0)"


@pytest.fixture
def sign_in_page(page):
    page.goto("/sign-in/")
    return page


@pytest.mark.parametrize(
    ("script", "problem"),
    [
        (STYLE, "console: .*Content Security Policy.*style-src"),
        (LATER, "uncaught: .*the shelf fell"),
        ("console.error('out of twine')", "console: out of twine"),
        ("fetch('/nowhere/')", "console: .*status of 404"),
    ],
)
def test_a_problem_on_the_page_is_seen(sign_in_page, watch, expect_problem, script, problem):
    expect_problem(problem)
    sign_in_page.evaluate(script)
    for _ in range(50):  # what the page does later, it does before the page is closed
        if not watch.verdict():
            break
        sign_in_page.wait_for_timeout(100)


def test_a_request_to_another_host_is_seen_and_goes_nowhere(sign_in_page, expect_problem):
    expect_problem("request to another host: http://elsewhere.example/x.png")
    expect_problem("console: .*Content Security Policy.*img-src")
    sign_in_page.evaluate(IMAGE)


def test_a_second_person_is_watched_too(open_page, expect_problem):
    expect_problem("the second shelf fell")
    first, second = open_page(), open_page()
    for opened in (first, second):
        opened.goto("/sign-in/")
    second.evaluate("console.error('the second shelf fell')")


def test_what_was_not_expected_or_did_not_happen_is_named():
    watch = Watch("127.0.0.1:8000")
    assert watch.verdict() == ""
    watch.problems += ["console: a", "console: b"]
    watch.expected += ["b$", "c$"]
    assert watch.verdict() == "console: a\nexpected, but did not happen: c$"


def test_axe_finds_what_is_wrong(sign_in_page, axe):
    sign_in_page.evaluate("document.querySelector('input:not([type=hidden])').replaceWith(new Image(9, 9))")
    with pytest.raises(pytest.fail.Exception, match="image-alt"):
        axe(sign_in_page)


@pytest.mark.every_database
def test_signing_in_makes_the_browser_that_person(farm, page, sign_in):
    sign_in(page, farm.users["rosa"])
    answer = page.request.get("/api/stores/")
    assert answer.status == 200
    assert [store["code"] for store in answer.json()["results"]] == ["A", "B"]
