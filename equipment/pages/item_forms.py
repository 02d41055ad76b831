"""What a person writes down when they do something with one item."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews.models import Picker, Store
from equipment.actions.hear import had_last
from equipment.domain.verbs.written_off import CIRCUMSTANCES
from equipment.pages.piece import Asked

LONG = {"rows": 3}
CODE = {"class": "code", "autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}


class NoteForm(forms.Form):
    """A note, if anybody has something to say. What is asked keeps the ids of several forms on one page apart."""

    note = forms.CharField(label=gettext_lazy("Note"), required=False, max_length=2000)
    field_order: Iterable[str] | None = None

    def __init__(self, data: Any, asked: Asked, files: Any = None) -> None:
        super().__init__(data, files, auto_id=f"{asked.id}_%s")
        self.asked, self.user, self.state = asked, asked.user, asked.piece.row
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
    case = forms.CharField(
        label=gettext_lazy("Case number"),
        required=False,
        max_length=60,
        help_text=gettext_lazy("Of a theft: the number under which it was reported to the police."),
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )
    note = forms.CharField(
        label=gettext_lazy("What happened"),
        max_length=2000,
        help_text=gettext_lazy(
            "A write-off proves no debt, and nothing is taken from anybody's wages on its account."
        ),
        widget=forms.Textarea(attrs=LONG),
    )
    said = forms.CharField(
        label=gettext_lazy("What the picker says"),
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs=LONG),
    )
    field_order = ("circumstance", "case", "note", "said")

    def prepare(self) -> None:
        """Nobody is heard on a piece that no picker had."""
        last = had_last(self.state)
        if last is None:
            del self.fields["said"]
        else:
            self.fields["said"].help_text = asked_of(last[0])

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if data.get("case") and data.get("circumstance") not in ("stolen", None):
            self.add_error("case", _("A case number belongs to a theft. Choose “stolen”, or leave it empty."))
        return data


class HearForm(NoteForm):
    """The words of the picker who had the piece last."""

    note = forms.CharField(
        label=gettext_lazy("What the picker says"), max_length=2000, widget=forms.Textarea(attrs=LONG)
    )

    def prepare(self) -> None:
        if last := had_last(self.state):
            self.fields["note"].help_text = asked_of(last[0])


def asked_of(picker: Picker) -> str:
    """Whom to ask, and how to write it down; as HTML."""
    said = _("{who} had it last. Write it down in their own words, and read it to them.")
    return format_html(said, who=picker.called)


class UndoForm(NoteForm):
    """`entry` is the line that the person saw as the last."""

    entry = forms.UUIDField(widget=forms.HiddenInput)
