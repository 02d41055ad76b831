"""The farm's logo on registers: drawn where it is a picture; where not, the paper prints, and it is said why."""

import pytest
from PIL import Image

from equipment.documents.registers.logo import MOST_PIXELS, logo
from tests.documents.a_register import as_pdf, facts
from tests.documents.reading import pictures, words


@pytest.mark.parametrize("form", ["PNG", "JPEG", "WEBP"])
def test_a_picture_is_drawn_small_enough(settings, tmp_path, form) -> None:
    file = tmp_path / "logo"
    Image.new("RGB", (2_000, 500), "green").save(file, form)
    settings.FARM_LOGO = str(file)
    picture, problem = logo()
    assert picture is not None and picture.width <= MOST_PIXELS[0] and problem == ""
    assert pictures(as_pdf(facts(), [])) == 1


def test_a_clear_picture_stands_on_white(settings, tmp_path) -> None:
    file = tmp_path / "logo.png"
    Image.new("RGBA", (40, 40), (0, 0, 0, 0)).save(file)
    settings.FARM_LOGO = str(file)
    picture, _problem = logo()
    assert picture is not None and picture.getpixel((5, 5)) == (255, 255, 255)


def test_a_changed_logo_is_read_anew(settings, tmp_path) -> None:
    file = tmp_path / "logo.png"
    settings.FARM_LOGO = str(file)
    for side in (30, 50):
        Image.new("RGB", (side, side)).save(file)
        picture, _problem = logo()
        assert picture is not None and picture.width == side


NO_PICTURES = (
    b"",
    b"no picture at all",
    b"<svg xmlns='http://www.w3.org/2000/svg'/>",
    b"\x89PNG\r\n\x1a\n" + b"x" * 99,
)


@pytest.mark.parametrize("content", NO_PICTURES)
def test_what_is_no_picture_is_said_and_the_paper_prints_without_it(settings, tmp_path, content) -> None:
    file = tmp_path / "logo.png"
    file.write_bytes(content)
    settings.FARM_LOGO = str(file)
    picture, problem = logo()
    assert picture is None and str(file) in problem and "PNG or JPEG" in problem
    pdf = as_pdf(facts(), [])
    assert pictures(pdf) == 0 and "Lent" in words(pdf)[0]


def test_a_file_that_is_not_there_or_a_folder_is_no_picture(settings, tmp_path) -> None:
    for name in (tmp_path / "nothing.png", tmp_path):
        settings.FARM_LOGO = str(name)
        assert logo()[0] is None and "not a picture" in logo()[1]


def test_no_logo_is_no_problem(settings) -> None:
    settings.FARM_LOGO = ""
    assert logo() == (None, "")
