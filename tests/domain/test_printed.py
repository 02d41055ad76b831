"""What the symbol on a register says, made and read back."""

import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equipment.domain import codes, printed
from equipment.domain.printed import NotAPrinting, Printed

CODE = codes.make(codes.PRINTING, 12)
DIGEST = hashlib.sha256(b"a line of the book\n").hexdigest()


BASES = ("", "https://book.example", "http://book.example/farm/")


@given(number=st.integers(0, codes.HIGHEST_NUMBER), seed=st.binary(max_size=4), base=st.sampled_from(BASES))
def test_what_was_made_is_read_back(number: int, seed: bytes, base: str) -> None:
    code, digest = codes.make(codes.PRINTING, number), hashlib.sha256(seed).hexdigest()
    assert printed.parse(printed.make(code, digest, base)) == Printed(code, digest)


def test_without_an_address_it_is_letters_digits_and_a_blank_as_the_smallest_symbols_hold() -> None:
    text = printed.make(CODE, DIGEST)
    assert text == f"{CODE} {DIGEST.upper()}" and set(text) <= set("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ ")


def test_with_an_address_it_opens_the_page_that_checks() -> None:
    assert (
        printed.make(CODE, DIGEST, "https://book.example/")
        == f"https://book.example/verify/{CODE}/?digest={DIGEST}"
    )


@pytest.mark.parametrize(
    ("text", "read"),
    {
        CODE.lower(): "",
        f" {CODE}\r\n": "",
        f"{CODE} {DIGEST[:8]}": DIGEST[:8],
        f"{CODE.lower()} {DIGEST[:8]} {DIGEST[8:16]}\n": DIGEST[:16],
        f"{CODE}: {DIGEST.upper()}": DIGEST,
        f"https://other.example/verify/{CODE}/": "",
    }.items(),
)
def test_what_people_and_scanners_send_is_read(text: str, read: str) -> None:
    assert printed.parse(text) == Printed(CODE, read)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "hello",
        codes.make("CL", 12),
        f"{CODE} 12",
        f"{CODE} {DIGEST}00",
        f"{CODE} not a digest",
        "https://[/verify/",
        f"https://book.example/verify/{CODE}/?digest=zz",
        "x" * 5_000,
    ],
)
def test_anything_else_is_said_to_be_no_printing(text: str) -> None:
    with pytest.raises(NotAPrinting, match="not from a printed register"):
        printed.parse(text)


def test_a_misread_code_is_told_from_a_wrong_one() -> None:
    wrong = CODE[:-1] + ("A" if CODE[-1] != "A" else "B")
    with pytest.raises(codes.WrongCheck):
        printed.parse(f"{wrong} {DIGEST}")


def test_a_part_of_a_digest_agrees_with_the_whole() -> None:
    assert Printed(CODE, DIGEST[:9]).agrees(DIGEST) and Printed(CODE).agrees(DIGEST)
    assert not Printed(CODE, "0" * 9).agrees(DIGEST)
