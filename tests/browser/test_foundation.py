"""What every page stands on: sign-in, symbols under the content policy, asking first, keeping fresh, sounds."""

from typing import Any

import pytest
from playwright.sync_api import Page, expect

PHONE = {"width": 390, "height": 844}
ADD = """([html]) => {
  const place = document.createElement('div');
  place.innerHTML = html;
  document.querySelector('.sheet-body').append(place);
  place.dispatchEvent(new CustomEvent('content-replaced', {bubbles: true}));
}"""
PLAY = """async () => {
  const sounds = await import('/static/equipment/js/sounds.js');
  sounds.listenForFirstKey();
  const before = sounds.play('yes');
  document.dispatchEvent(new KeyboardEvent('keydown', {key: 'a'}));
  return [before, Object.keys(sounds.SOUNDS).map(sounds.play)];
}"""
FRESH = (
    '<div data-module="refresh" data-refresh-url="/fresh/" data-refresh-seconds="10" '
    'data-refresh-stale="Not fresh since {time}." id="kept">old</div>'
)


@pytest.fixture
def sheet(page: Page) -> Page:
    page.goto("/sign-in/")
    return page


@pytest.mark.parametrize("size", [None, PHONE], ids=["counter", "phone"])
def test_the_sign_in_page_is_for_everyone(sheet: Page, axe: Any, size: Any) -> None:
    if size:
        sheet.set_viewport_size(size)
    axe(sheet)
    assert sheet.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def test_a_lost_page_says_what_to_do(page: Page, expect_problem: Any, axe: Any) -> None:
    expect_problem("status of 404")
    page.goto("/no-such-page/")
    expect(page.get_by_role("heading", name="No such page")).to_be_visible()
    axe(page)


def test_symbols_are_drawn_under_the_content_policy(sheet: Page) -> None:
    sheet.evaluate(ADD, ['<svg class="icon"><use href="/static/equipment/icons.svg#bag"></use></svg>'])
    sheet.wait_for_function("() => document.querySelector('.sheet-body .icon use').getBBox().width > 10")


def test_a_form_asks_first_and_only_yes_sends_it(sheet: Page) -> None:
    sent: list[str] = []
    sheet.route("**/gone/", lambda route: (sent.append(route.request.method), route.fulfill(body="gone"))[1])
    sheet.evaluate(
        ADD,
        [
            '<form method="post" action="/gone/" data-module="confirm" data-confirm="Write it off?" '
            'data-confirm-yes="Write off"><button>Off</button></form>'
        ],
    )
    sheet.wait_for_timeout(200)
    box = sheet.get_by_role("dialog")
    for no in (lambda: sheet.keyboard.press("Escape"), box.get_by_role("button", name="No, go back").click):
        sheet.get_by_role("button", name="Off", exact=True).click()
        expect(box).to_contain_text("Write it off?")
        no()
        expect(box).to_be_hidden()
    assert sent == []
    sheet.get_by_role("button", name="Off", exact=True).click()
    box.get_by_role("button", name="Write off").click()
    sheet.wait_for_url("**/gone/")
    assert sent == ["POST"]


def test_a_part_of_a_page_keeps_fresh_and_says_when_it_does_not(page: Page, expect_problem: Any) -> None:
    expect_problem("ERR_FAILED")
    page.clock.install()
    page.goto("/sign-in/")
    answers = {"up": True}
    page.route(
        "**/fresh/",
        lambda route: (
            route.fulfill(body="<p>new</p>", content_type="text/html") if answers["up"] else route.abort()
        ),
    )
    with page.expect_response("**/js/refresh.js"):
        page.evaluate(ADD, [FRESH])
    kept, stale = page.locator("#kept"), page.locator(".stale")
    expect(stale).to_have_text("")
    page.clock.run_for(11_000)
    expect(kept).to_have_text("new")
    answers["up"] = False
    page.clock.run_for(20_000)
    expect(stale).to_have_text("")
    page.clock.run_for(20_000)
    expect(stale).to_contain_text("Not fresh since ")
    answers["up"] = True
    page.clock.run_for(11_000)
    expect(stale).to_have_text("")


def test_five_sounds_after_the_first_key(sheet: Page) -> None:
    before, after = sheet.evaluate(PLAY)
    assert before == 0
    assert len(after) == 5
    assert len(set(after)) == 5
    assert min(after) > 0
