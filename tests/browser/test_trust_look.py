"""The page on how to trust the farm's certificate, on the screen in the store and on a phone."""

from pathlib import Path

import pytest
from django.utils import timezone

from equipment.actions.trust import authority
from equipment.actions.trust.names import sorted_out


@pytest.mark.parametrize("width", [390, 1280])
def test_it_fits_and_can_be_read(page, axe, settings, tmp_path: Path, width: int):
    settings.TRUST_DIR, settings.SECURE_PORT, settings.PLAIN_PORT = tmp_path, 8443, 8000
    authority.open_authority(tmp_path, "Quillberg", sorted_out(["shed-pc"]), timezone.now())
    page.set_viewport_size({"width": width, "height": 844})
    page.goto("/trust/")
    axe(page)
    assert page.evaluate("() => document.documentElement.scrollWidth") <= width
    for picture in page.locator("main img").all():
        assert picture.evaluate("(img) => img.complete && img.naturalWidth > 0")
