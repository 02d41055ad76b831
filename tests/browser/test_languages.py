"""Spanish in a real browser: the counter's answers, the phone's page, names in order, and room for longer words.

Names are sorted as the browser's own Intl.Collator sorts them, which is ICU's and has the CLDR's rules.
"""

from typing import Any

import pytest
from django.utils import translation
from playwright.sync_api import expect

from crews.models import User
from crews.sorting import by_name
from tests.cast import Farm
from tests.counter import Counter
from tests.farm import Post

pytestmark = pytest.mark.django_db(transaction=True)
PHONE = {"width": 390, "height": 844}
PAGES = ["/", "/counter/", "/bench/", "/wash/?store=A", "/plan/", "/gear/", "/me/", "/rules/", "/registers/"]
TOO_WIDE = """() => document.documentElement.scrollWidth > document.documentElement.clientWidth
  ? [...document.body.querySelectorAll('*')].filter((one) => one.getBoundingClientRect().right > innerWidth + 1)
    .map((one) => one.outerHTML.slice(0, 120)).slice(0, 5) : []"""
CUT_OFF = """() => [...document.querySelectorAll('nav.bar > *')].filter((one) => one.scrollWidth > one.clientWidth
  || one.getBoundingClientRect().right > innerWidth + 1).map((one) => one.textContent.trim())"""
NAMES = [
    "Ñandú",
    "Zoé",
    "nube",
    "Ángel",
    "Oca",
    "Nadia",
    "ana",
    "Noé",
    "Nuño",
    "Nuno",
    "Óscar",
    "Andrés",
    "añil",
]


def test_the_counter_says_yes_and_no_in_spanish(ruled_farm: Farm, post: Post, at_counter: Counter) -> None:
    User.objects.update(language="es")
    farm = ruled_farm
    (bag,), (worn,) = farm.gear("bag", days_ago=2), farm.gear("bag", days_ago=1)
    post(farm.entry("fault_found", item=worn, detail={"fault": "bag_hole"}))
    counter = at_counter.open()
    expect(counter.page.locator("html")).to_have_attribute("lang", "es")
    counter.scan_all(farm.badges["ana"], bag)
    counter.says("yes")
    counter.scan(worn)
    counter.says("no", "se queda aquí", "Agujero")


def test_the_phones_page_follows_the_person(ruled_farm: Farm, orchard: Any) -> None:
    """The page that is kept is in the language of whoever had it last: another one comes by itself."""
    phone = orchard.open()
    expect(phone.page.locator("html")).to_have_attribute("lang", "en")
    phone.page.evaluate("navigator.serviceWorker.ready")
    User.objects.update(language="es")
    phone.page.evaluate("navigator.serviceWorker.getRegistration('/orchard/').then((one) => one.update())")
    expect(phone.page.locator("html")).to_have_attribute("lang", "es", timeout=60_000)
    expect(phone.page.locator("nav.bar")).to_contain_text("Cuadrilla")
    phone.page.set_viewport_size(PHONE)
    assert phone.page.evaluate(CUT_OFF) == []


def test_names_are_sorted_as_the_cldr_sorts_them(page: Any) -> None:
    page.goto("/sign-in/")
    for language in ("es", "en"):
        theirs = page.evaluate(
            "([names, language]) => names.sort(new Intl.Collator(language).compare)", [NAMES, language]
        )
        with translation.override(language):
            assert sorted(NAMES, key=by_name) == theirs


def test_longer_words_find_room_on_a_phone(
    ruled_farm: Farm, post: Post, open_page: Any, sign_in: Any
) -> None:
    User.objects.update(language="es")
    (worn,) = ruled_farm.gear("clippers", days_ago=9)
    post(ruled_farm.entry("fault_found", item=worn, detail={"fault": "clippers_worn_spring"}))
    page = open_page(viewport=PHONE)
    sign_in(page, ruled_farm.users["rosa"])
    for path in [*PAGES, f"/gear/{worn}/"]:
        page.goto(path)
        assert page.evaluate(TOO_WIDE) == [], path
