"""A page that is sent twice is written down once; one that was changed in between is asked about."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _

from equipment.actions.writing import new_id
from equipment.models import Entry
from equipment.pages.telling import Teller, with_names


class OnceForm(forms.Form):
    """`own` is the number of what will be written, made with the page."""

    own = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, data: Any, **options: Any) -> None:
        super().__init__(data, **options)
        self.initial["own"] = new_id()

    def is_another(self, before: Entry) -> None:
        """This page has written `before` and says something else now: whoever went back to it corrects that line, or
        has another one to tell. It is told so, and writes another one when it is sent again."""
        told = _("This page was sent before: “%(told)s” is in the book. What you changed since is not.")
        how = _("If that line was wrong, strike it. If this is another one, send it once more.")
        (line,) = with_names(Entry.objects.filter(pk=before.pk))
        self.add_error(None, f"{told % {'told': Teller([line]).tell(line)}} {how}")
        self.data = self.data.copy()
        self.data["own"] = str(new_id())
