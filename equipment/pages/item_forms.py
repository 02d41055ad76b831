"""What a person writes down when they do something with one item."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews.models import Store, User
from equipment.domain.verbs.written_off import CIRCUMSTANCES
from equipment.models import ItemState

CODE = {"class": "code", "autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}


class NoteForm(forms.Form):
    """A note, if anybody has something to say. `name` keeps the ids of several forms on one page apart."""

    note = forms.CharField(label=gettext_lazy("Note"), required=False, max_length=2000)
    field_order: Iterable[str] | None = None

    def __init__(self, data: Any, name: str, user: User, state: ItemState) -> None:
        super().__init__(data, auto_id=f"{name}_%s")
        self.user, self.state = user, state
        self.prepare()

    def prepare(self) -> None:
        """Fill in what depends on the item and on who asks."""


class RetagForm(NoteForm):
    tag = forms.CharField(
        label=gettext_lazy("New label"),
        required=False,
        max_length=300,
        help_text=gettext_lazy(
            "Scan a fresh label, or leave it empty for the next free code and print that."
        ),
        widget=forms.TextInput(attrs=CODE),
    )
    field_order = ("tag", "note")


class MoveForm(NoteForm):
    to = forms.ModelChoiceField(label=gettext_lazy("To"), queryset=Store.objects.none(), empty_label=None)
    field_order = ("to", "note")

    def prepare(self) -> None:
        self.fields["to"].queryset = Store.objects.exclude(pk=self.state.store_id)  # type: ignore[attr-defined]


class FindForm(NoteForm):
    """Where it turned up: a store's code, or `crew` for the crew that had it last."""

    where = forms.ChoiceField(label=gettext_lazy("Where is it now?"))
    field_order = ("where", "note")

    def prepare(self) -> None:
        places = [(store.pk, _("in %(store)s") % {"store": store.name}) for store in Store.objects.all()]
        if self.state.crew:
            places.append(("crew", _("with %(who)s") % {"who": self.state.crew.name}))
        self.fields["where"].choices = places  # type: ignore[attr-defined]
        self.initial["where"] = self.user.store_id or self.state.store_id


class TakeBackForm(NoteForm):
    store = forms.ModelChoiceField(label=gettext_lazy("Into"), queryset=Store.objects.all(), empty_label=None)
    wet = forms.BooleanField(label=gettext_lazy("It is wet and must be dried"), required=False)
    field_order = ("store", "wet", "note")

    def prepare(self) -> None:
        self.initial["store"] = self.user.store_id or self.state.store_id


class WriteOffForm(NoteForm):
    circumstance = forms.ChoiceField(
        label=gettext_lazy("Circumstance"),
        choices=lambda: [(code, _(words)) for code, words in CIRCUMSTANCES.items()],
    )
    note = forms.CharField(
        label=gettext_lazy("What happened"),
        max_length=2000,
        help_text=gettext_lazy(
            "Say what happened, and what the picker says about it. A write-off proves no debt."
        ),
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    field_order = ("circumstance", "note")


class UndoForm(NoteForm):
    """`entry` is the line that the person saw as the last."""

    entry = forms.UUIDField(widget=forms.HiddenInput)
