"""Words that everybody on this farm would try first: no password is made of them (ASVS 5.0, 6.1.2 and 6.2.11).

The words are Shedbook's name, the farm's, those of its stores, crews and roles, and the user's own names.
"""

import re
from collections.abc import Iterator
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from crews.models import Crew, Store
from crews.roles import ROLES

SHORTEST_WORD = 3
# Signs that must be left of a password once these words are taken out of it.
LEFT = 8


class NoOwnWords:
    def validate(self, password: str, user: Any = None) -> None:
        """Raises ValidationError."""
        plain = left = password.casefold()
        for word in sorted(words(user), key=len, reverse=True):
            left = left.replace(word, "")
        if left != plain and len(left) < LEFT:
            raise ValidationError(
                _(
                    "That is made of words that everybody on the farm knows. Add some that only you would think of."
                ),
                code="own_words",
            )

    def get_help_text(self) -> str:
        return _("Not made of the names of the farm, its stores, its crews or of you.")


def words(user: Any = None) -> set[str]:
    texts: list[str] = ["shedbook", settings.FARM_NAME, *ROLES, *_names()]
    if user is not None:
        texts += [user.get_username(), user.get_full_name()]
    found = {word for text in texts for word in re.split(r"[\W_]+", text.casefold())}
    return {word for word in found if len(word) >= SHORTEST_WORD}


def _names() -> Iterator[str]:
    yield from Store.objects.values_list("name", flat=True)
    yield from Crew.objects.values_list("name", flat=True)
