"""Text that a spreadsheet takes for text: what it would run as a formula gets an apostrophe in front.

A cell that begins with = + - @ (or their full-width forms, which some programs take for the same), a tab or a carriage
return may be run when a file is opened, or later when somebody edits the cell or saves the sheet as another format.
Common practice, as the OWASP page on CSV injection describes it (from memory).
"""

import re
import unicodedata

MOST_CHARACTERS = 32_767
"""What a cell of a spreadsheet holds."""

_RUNS = "=+\\-@＝＋－＠﹦﹢﹣﹫−"
# Blanks and marks without a width do not help: some programs drop them first.
_AT_START = re.compile(rf"[\s\x00-\x1f\x7f\u200b-\u200f\u2060\ufeff]*[{_RUNS}\t\r\n]")
# A program that splits cells at another mark than the comma sees the start of a cell here.
_INSIDE = re.compile(rf"([,;|\t\r\n]['\"]*)(?=[\u200b-\u200f\u2060\ufeff]*[{_RUNS}]|[\t\r])")


def inert(text: str) -> str:
    """`text` as a cell that is never run, cut to what a cell holds."""
    text = _writable(text)
    if text and _AT_START.match(text):
        text = f"'{text}"
    return text if len(text) <= MOST_CHARACTERS else text[: MOST_CHARACTERS - 1] + "…"


def inert_anywhere(text: str) -> str:
    """As `inert`, for CSV: also where a cell would begin for a program that splits it at another mark."""
    return inert(_INSIDE.sub(r"\1'", _writable(text)))


def _writable(text: str) -> str:
    """Without what neither UTF-8 nor XML can hold."""
    if text.isprintable():
        return text
    return "".join("\ufffd" if _unwritable(c) else c for c in text)


def _unwritable(character: str) -> bool:
    if character in "\t\n\r":
        return False
    return unicodedata.category(character) in {"Cc", "Cs"} or character in "\ufffe\uffff"
