"""Numbers as people write them: with a comma or a point, and asked about where they could be two things."""

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from equipment.domain.given import BadNumber

# Five, or five thousand?
THOUSANDS = re.compile(r"[1-9]\d{0,2}([.,]\d{3})+")


class NumberField(forms.CharField):
    """A number above or below zero, as a float. What can be no number, or two, is said."""

    def __init__(self, **fields: Any) -> None:
        attrs = {"inputmode": "decimal", "autocomplete": "off"}
        super().__init__(max_length=20, widget=forms.TextInput(attrs=attrs), **fields)

    def clean(self, value: Any) -> float | None:
        text = re.sub(r"(?<=\d)\s(?=\d)", "", super().clean(value))
        if not text:
            return None
        if "%" in text:
            raise ValidationError(
                _("Give the number alone, in the unit that stands beside it: 1 % is 10 000 ppm.")
            )
        if THOUSANDS.fullmatch(text):
            raise ValidationError(
                _("“%(given)s” can be read in two ways. Write it without a mark for thousands.")
                % {"given": text}
            )
        try:
            return float(text.replace(",", "."))
        except ValueError:
            raise ValidationError(_("“%(given)s” is not a number.") % {"given": text}) from None


def sentence(bad: BadNumber) -> str:
    """What is wrong with a number, in the reader's language."""
    words = dict(bad.params)
    if "what" in words:
        words["what"] = _(str(words["what"]))
    return _(bad.message) % words
