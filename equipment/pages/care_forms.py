"""What a person writes down when they find a fault, mend it, pass the piece, or clean it by hand."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from equipment.actions import names
from equipment.actions.faults_of import faults_of
from equipment.actions.keep_photo import MOST_BYTES
from equipment.domain import faults
from equipment.domain.words import gettext_noop
from equipment.models import Goods, LotState
from equipment.pages.fault_texts import text_of
from equipment.pages.goods import choosing
from equipment.pages.inspect_form import AllGoodForm, InspectForm
from equipment.pages.item_forms import NoteForm
from equipment.pages.wash.numbers import NumberField

__all__ = ["AllGoodForm", "CleanForm", "FaultForm", "InspectForm", "MendForm", "PassForm"]

METHODS = {
    "wash": gettext_noop("Washed"),
    "dry": gettext_noop("Dried"),
    "sterilise": gettext_noop("Sterilised"),
}


class FaultForm(NoteForm):
    """Only what can be wrong with its kind, each with what the finder sees or feels."""

    fault = forms.ChoiceField(
        label=gettext_lazy("What is wrong?"),
        widget=forms.RadioSelect,
        error_messages={"required": gettext_lazy("Say what is wrong with it.")},
    )
    photo = forms.FileField(
        label=gettext_lazy("Photo"),
        required=False,
        help_text=gettext_lazy("A JPEG, PNG or WebP picture. A small copy is kept, without place or camera."),
        widget=forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp"}),
    )
    field_order = ("fault", "photo", "note")

    def prepare(self) -> None:
        self.fields["fault"].choices = [  # type: ignore[attr-defined]
            (
                each.code,
                format_html("<span><b>{}.</b> {}</span>", _(each.name), _(each.look_for)),
            )
            for each in faults_of(self.asked.piece.kind)
        ]

    def clean_photo(self) -> bytes:
        upload = self.cleaned_data["photo"]
        if not upload:
            return b""
        if upload.size > MOST_BYTES:
            words = _("This file has more than %(most)s MB. Send a smaller picture.")
            raise forms.ValidationError(words % {"most": MOST_BYTES // 1_000_000})
        data: bytes = upload.read()
        return data


class MendForm(NoteForm):
    """How the fault was mended; the catalogue's own words and minutes stand there to begin with."""

    fault = forms.CharField(widget=forms.HiddenInput)
    method = forms.CharField(
        label=gettext_lazy("How it was mended"),
        max_length=500,
        strip=True,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    minutes = forms.IntegerField(
        label=gettext_lazy("Minutes"),
        min_value=0,
        max_value=10_000,
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )
    parts = forms.CharField(label=gettext_lazy("Parts"), required=False, max_length=200)
    where = forms.ChoiceField(
        label=gettext_lazy("Where"),
        choices=[("shed", gettext_lazy("in the shed")), ("orchard", gettext_lazy("in the orchard"))],
        widget=forms.RadioSelect,
    )
    lot = forms.ChoiceField(label=gettext_lazy("Used up, from the shelf"), required=False)
    used = NumberField(label=gettext_lazy("How much of it"), required=False)
    field_order = ("fault", "method", "minutes", "parts", "lot", "used", "where", "note")

    def _on_the_shelf(self) -> Mapping[str, LotState]:
        store, known = self.user.store_id or self.state.store_id or "", self.asked.piece.lots
        if store not in known:
            known[store] = choosing.lots_for(self.user, store, goods__used_for=Goods.Used.MEND)
        return known[store]

    def clean(self) -> dict[str, Any]:
        said = super().clean() or self.cleaned_data
        said["using"] = choosing.in_a_mend(self, said, self._lots)
        return said

    def prepare(self) -> None:
        """No method is suggested where the catalogue says that it is not mended in the shed: it gives no minutes."""
        text = text_of(self.asked.about)
        self._lots = self._on_the_shelf()
        choosing.offer(self.fields["lot"], self._lots)
        if not self._lots:
            del self.fields["lot"], self.fields["used"]
        self.initial["fault"] = self.asked.about
        self.initial["where"] = "orchard" if text and text.where == "orchard" else "shed"
        if text and text.minutes:
            self.initial |= {"method": _(text.mend), "minutes": text.minutes}


class PassForm(NoteForm):
    fault = forms.CharField(widget=forms.HiddenInput)

    def prepare(self) -> None:
        self.initial["fault"] = self.asked.about


class CleanForm(NoteForm):
    """A cleaning by hand; a dip in a bath is written down where the bath is."""

    method = forms.ChoiceField(label=gettext_lazy("What was done?"), widget=forms.RadioSelect)
    recipe = forms.ChoiceField(label=gettext_lazy("With"), required=False)
    seconds = forms.IntegerField(
        label=gettext_lazy("Seconds it acted"),
        min_value=0,
        max_value=604_800,
        required=False,
        help_text=gettext_lazy("Sterilised: how long it stayed wet with it."),
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )
    field_order = ("method", "recipe", "seconds", "note")

    def prepare(self) -> None:
        recipes = {
            code: rule
            for code, rule in self.asked.piece.rules.recipes.items()
            if self.asked.piece.kind in rule.kinds and rule.ready_to_use
        }
        self._methods = {code: rule.method for code, rule in recipes.items()}
        possible = {"wash", *self._methods.values()}
        if any(each.code == faults.WET for each in faults_of(self.asked.piece.kind)):
            possible.add("dry")
        self.fields["method"].choices = [(m, _(words)) for m, words in METHODS.items() if m in possible]  # type: ignore[attr-defined]
        self.fields["recipe"].choices = [("", "—"), *((code, names.recipe(code)) for code in recipes)]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        said = super().clean() or self.cleaned_data
        method, recipe = said.get("method"), said.get("recipe")
        if method == "sterilise" and not recipe:
            self.add_error("recipe", _("Say with what it was sterilised."))
        if method == "sterilise" and said.get("seconds") is None:
            self.add_error("seconds", _("Say how many seconds it acted."))
        if method and recipe and self._methods[recipe] != method:
            self.add_error("recipe", _("This is for something else than what was done."))
        return said
