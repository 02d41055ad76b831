"""Codes on tags, badges, crews and sets: two letters, a number, and a check character over both.

The check character is ISO 7064 MOD 37,36 (python-stdnum), the same alphabet as the code itself, so that a code is
letters and digits only: any keyboard layout types it, and it is the shortest thing that a QR symbol can hold.
`static/equipment/js/codes.js` is the same rule for the browser.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from stdnum.iso7064 import mod_37_36

from equipment.domain.words import gettext_noop

BADGE = "PK"
CREW = "CW"
SET = "ST"
COUNTER = "CT"
PRINTING = "PR"
# What no item wears.
NOT_ON_ITEMS = frozenset({BADGE, CREW, SET, COUNTER, PRINTING})

FEWEST_DIGITS, MOST_DIGITS = 4, 7
HIGHEST_NUMBER = 10**MOST_DIGITS - 1
# Nothing that is longer comes from a scanner or a label.
LONGEST_TEXT = 2000

# No re.IGNORECASE: it would take the Kelvin sign for a K. [\W_] is all that is neither letter nor digit; a scanner may
# put an AIM symbology identifier (ISO/IEC 15424: a bracket, a letter, a digit or letter) before what it read.
_SCANNED = re.compile(
    r"(?:[\W_]*\][A-Za-z][A-Za-z0-9])?[\W_]*"
    rf"(?P<prefix>[A-Za-z]{{2}})(?P<digits>[0-9]{{{FEWEST_DIGITS},{MOST_DIGITS}}})(?P<check>[A-Za-z0-9])[\W_]*"
)
_URL_PATH = re.compile(r"://[^/?#\s]*([^?#\s]*)")


@dataclass(frozen=True)
class Code:
    """`text` is the one way to write it: capitals, the number padded to four digits, the check character."""

    prefix: str
    number: int
    text: str


class BadCode(ValueError):
    """`message` is a gettext template, `params` fill it: `gettext(error.message) % error.params`."""

    message = ""

    def __init__(self, **params: str) -> None:
        self.params: Mapping[str, str] = params
        super().__init__(self.message % params)


class NotACode(BadCode):
    message = gettext_noop(
        "“%(text)s” is not a code. Scan the label again, or type the letters and digits printed on it."
    )


class WrongCheck(BadCode):
    message = gettext_noop(
        "%(text)s was misread: its last character does not fit the rest. Scan it again, or type it from the label."
    )


def make(prefix: str, number: int) -> str:
    """The code of `number` (0 to 9 999 999) under `prefix` (two letters), such as "CL0421K".

    Raises ValueError where either is out of range.
    """
    if not re.fullmatch(r"[A-Za-z]{2}", prefix):
        raise ValueError(f"A prefix is two letters from A to Z, not “{prefix}”.")
    if not 0 <= number <= HIGHEST_NUMBER:
        raise ValueError(f"A number lies between 0 and {HIGHEST_NUMBER}; {number} does not.")
    body = f"{prefix.upper()}{number:0{FEWEST_DIGITS}d}"
    return body + mod_37_36.calc_check_digit(body)


def twins(prefix: str, number: int) -> frozenset[int]:
    """The numbers as which `number` is read where two neighbouring characters change places and the check character
    still fits.

    It lets one such slip in 140 to 570 through, by prefix (CL0100T and CL1000T, say), and no wrong character at all. So
    of twins only one is ever given out: see `may_be_given`. (Of prefixes it takes IJ for JI; no farm needs both.)
    Raises ValueError as `make` does.
    """
    code = make(prefix, number)
    swapped = {
        code[:place] + code[place + 1] + code[place] + code[place + 2 :] for place in range(len(code) - 1)
    }
    fits = (_SCANNED.fullmatch(each) for each in swapped - {code} if mod_37_36.is_valid(each))
    digits = [found["digits"] for found in fits if found and found["prefix"] == code[:2]]
    return frozenset(int(each) for each in digits if not _padded_too_far(each))


def may_be_given(prefix: str, number: int) -> bool:
    """Whether a new tag may have this number: of twins the lowest alone may."""
    return number < min(twins(prefix, number), default=HIGHEST_NUMBER + 1)


def parse(text: str) -> Code:
    """The code in what a person typed or a scanner sent.

    Any case; marks, blanks and line ends around it; after an AIM identifier; or as the last segment of a URL's path
    that is one, whatever the host. Raises NotACode, or WrongCheck where it has the shape of a code but was misread.
    """
    misread = ""
    for candidate in _candidates(text):
        found = _SCANNED.fullmatch(candidate)
        if not found or _padded_too_far(found["digits"]):
            continue
        written = (found["prefix"] + found["digits"] + found["check"]).upper()
        if mod_37_36.is_valid(written):
            return Code(found["prefix"].upper(), int(found["digits"]), written)
        misread = misread or written
    if misread:
        raise WrongCheck(text=misread)
    raise NotACode(text=_shown(text))


def _candidates(text: str) -> Iterable[str]:
    if len(text) > LONGEST_TEXT:
        return ()
    url = _URL_PATH.search(text)
    return reversed(url[1].split("/")) if url else (text,)


def _padded_too_far(digits: str) -> bool:
    return len(digits) > FEWEST_DIGITS and digits.startswith("0")


def _shown(text: str) -> str:
    """What arrived, short and printable enough to stand in a sentence."""
    clean = " ".join("".join(c if c.isprintable() else " " for c in text[:80]).split())
    return clean if len(clean) <= 40 else clean[:39] + "…"
