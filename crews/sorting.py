"""Names in the order that a reader looks for them in: without regard to capitals and accents; a letter that a language
counts as one of its own comes after the one before it (Spanish: ñ after n).

After the CLDR's root order and its tailoring. Lists that a database pages through keep the database's order.
"""

import unicodedata
from functools import lru_cache

from django.utils.translation import get_language, pgettext

LAST = "\U0010ffff"


def by_name(name: str) -> tuple[str, str]:
    """To sort names by, in the active language; names that differ in accents or capitals only, by these."""
    return _letters(name, get_language()), name


@lru_cache(maxsize=4096)
def _letters(name: str, language: str | None) -> str:
    whole = unicodedata.normalize("NFC", name).casefold()
    # To translators: letters of their own, each behind the one it follows, such as nñ; "none" where there are none.
    own = pgettext("letters of their own", "none")
    after = dict(zip(own[1::2], own[::2], strict=False)) if own != "none" else {}
    return "".join(after[each] + LAST if each in after else _plain(each) for each in whole)


def _plain(letter: str) -> str:
    return "".join(part for part in unicodedata.normalize("NFD", letter) if not unicodedata.combining(part))
