"""Which languages are there: those whose message file is, beside English, which the words of the code are in.

A message file is `<folder>/<language>/LC_MESSAGES/django.mo`.
"""

from collections.abc import Iterable
from pathlib import Path

from babel.core import Locale, UnknownLocaleError

ENGLISH = "en"


def found(folders: Iterable[Path]) -> list[tuple[str, str]]:
    """Django's codes (pt-br) and each language's own name for itself, as the CLDR has it; by that name."""
    codes = {ENGLISH}
    for folder in folders:
        codes |= {path.parts[-3].replace("_", "-").lower() for path in folder.glob("*/LC_MESSAGES/django.mo")}
    return sorted(((code, name(code)) for code in codes), key=lambda each: each[1].casefold())


def name(code: str) -> str:
    """The code itself for a language that the CLDR does not know."""
    try:
        local = Locale.parse(code, sep="-")
        return local.get_display_name(local) or code
    except (UnknownLocaleError, ValueError):
        return code
