"""The page on which new gear enters the book: one piece or a numbered run, then its labels."""

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from crews.models import Store
from equipment.actions.register import LADDER, MOST_AT_ONCE, OF_A_LADDER, TRAITS, Run, register
from equipment.actions.writing import Pen, new_id
from equipment.domain import codes
from equipment.models import Item, Kind, Label

MATERIALS = {
    "timber": gettext_lazy("timber"),
    "aluminium": gettext_lazy("aluminium"),
    "fibreglass": gettext_lazy("fibreglass"),
}


class RunForm(forms.ModelForm):
    count = forms.IntegerField(label=gettext_lazy("How many"), min_value=1, max_value=MOST_AT_ONCE, initial=1)
    store = forms.ModelChoiceField(
        label=gettext_lazy("Store"), queryset=Store.objects.all(), empty_label=None
    )
    hand = forms.ChoiceField(
        label=gettext_lazy("Hand"),
        choices=[("", "—"), ("left", gettext_lazy("left")), ("right", gettext_lazy("right"))],
        required=False,
    )
    material = forms.ChoiceField(
        label=gettext_lazy("Material"), choices=[("", "—"), *MATERIALS.items()], required=False
    )
    legs = forms.IntegerField(
        label=gettext_lazy("Legs"),
        min_value=2,
        max_value=4,
        required=False,
        help_text=gettext_lazy("All its feet that stand on the ground: two, or three with a third leg."),
    )
    length_m = forms.DecimalField(
        label=gettext_lazy("Length in metres"),
        min_value=1,
        max_value=10,
        max_digits=4,
        decimal_places=2,
        required=False,
        help_text=gettext_lazy("From the foot to the top of the rails."),
    )
    rating_kg = forms.IntegerField(
        label=gettext_lazy("Duty rating in kg"),
        min_value=1,
        max_value=1000,
        required=False,
        help_text=gettext_lazy(
            "The load on its rating plate. Never guess it: leave it empty where it cannot be read."
        ),
    )
    tag = forms.CharField(
        label=gettext_lazy("Tag it wears already"),
        required=False,
        help_text=gettext_lazy("For a single piece with a label of ours. Empty: the next free number."),
        widget=forms.TextInput(attrs={"class": "code", "autocomplete": "off", "spellcheck": "false"}),
    )

    class Meta:
        model = Item
        fields = ("kind", *TRAITS)
        widgets = {"bought_on": forms.DateInput(attrs={"type": "date"})}

    field_order = ("kind", "count", "store", *TRAITS, "tag")

    def clean_tag(self) -> str:
        text = self.cleaned_data["tag"]
        if not text:
            return ""
        try:
            tag = codes.parse(text).text
        except codes.BadCode as error:
            raise forms.ValidationError(_(error.message) % error.params) from None
        if Label.objects.filter(pk=tag).exists():
            raise forms.ValidationError(_("%(tag)s is on another item already.") % {"tag": tag})
        return tag

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if data.get("tag") and data.get("count", 1) != 1:
            self.add_error("count", _("Only one piece can wear a tag that is given."))
        kind: Kind | None = data.get("kind")
        if kind and data.get("size") and kind.sizes and data["size"] not in kind.sizes:
            sizes = ", ".join(kind.sizes)
            self.add_error(
                "size",
                _("%(kind)s come in the sizes %(sizes)s.") % {"kind": kind.name_plural, "sizes": sizes},
            )
        if kind and kind.pk != LADDER:
            for name in [name for name in OF_A_LADDER if data.get(name)]:
                self.add_error(name, _("Only ladders have this. Leave it empty."))
        return data

    @property
    def of_a_ladder(self) -> list[forms.BoundField]:
        return [self[name] for name in OF_A_LADDER]

    @property
    def of_any_kind(self) -> list[forms.BoundField]:
        return [field for field in self.visible_fields() if field.name not in OF_A_LADDER]

    @property
    def opens_ladder(self) -> bool:
        """Whether there is something to see among what only ladders have."""
        return any(field.errors or field.value() not in ("", None) for field in self.of_a_ladder)

    def run(self) -> Run:
        data = self.cleaned_data
        traits = {name: data[name] for name in TRAITS if data.get(name) not in ("", None)}
        plain = {name: str(value) for name, value in traits.items()}
        return Run(data["kind"], data["store"].pk, data["count"], plain, data["tag"])


def registering(request: HttpRequest) -> HttpResponse:
    form = RunForm(request.POST or None, initial={"store": request.user.store_id})
    if request.method == "POST" and form.is_valid():
        act = new_id()
        run = form.run()
        tags = register(Pen(request.user, run.store, timezone.now()), [run], act)
        said = ngettext(
            "%(tag)s is in the book.", "%(count)d pieces are in the book, %(tag)s to %(last)s.", len(tags)
        )
        messages.success(request, said % {"tag": tags[0], "last": tags[-1], "count": len(tags)})
        return redirect(f"{reverse('labels')}?act={act}")
    return render(request, "registering.html", {"form": form})
