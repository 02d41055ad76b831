"""The pages of the second factor on a phone and on the office's screen."""

import pytest

from tests.cast import found_farm

PHONE, SCREEN = {"width": 390, "height": 844}, {"width": 1280, "height": 800}


@pytest.mark.parametrize("size", [PHONE, SCREEN], ids=["phone", "screen"])
def test_setting_it_up_can_be_used_by_everybody(transactional_db, open_page, sign_in, axe, size):
    farm = found_farm()
    page = open_page(viewport=size)
    sign_in(page, farm.users["olga"])
    for path in ("/me/", "/me/code/"):
        page.goto(path)
        axe(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= size["width"], path
