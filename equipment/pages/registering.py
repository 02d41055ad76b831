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
from equipment.actions.register import MOST_AT_ONCE, Run, register
from equipment.actions.writing import Pen, new_id
from equipment.domain import codes
from equipment.models import Item, Kind, Label

TRAITS = ("make", "size", "hand", "owner", "price", "supplier", "delivery", "bought_on")


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
    tag = forms.CharField(
        label=gettext_lazy("Tag it wears already"),
        required=False,
        help_text=gettext_lazy("For a single piece with a label of ours. Empty: the next free number."),
        widget=forms.TextInput(attrs={"class": "code", "autocomplete": "off", "spellcheck": "false"}),
    )

    class Meta:
        model = Item
        fields = ("kind", "make", "size", "hand", "owner", "price", "supplier", "delivery", "bought_on")
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
        return data

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
