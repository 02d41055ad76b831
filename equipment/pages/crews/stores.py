"""Stores: the sheds that gear is handed out from."""

from django import forms
from django.contrib import messages
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews import policy
from crews.models import Store
from equipment.pages.crews.beside import sheet
from equipment.pages.crews.fields import PlaceCodeField, Plain


class StoreForm(Plain):
    names = ("name",)

    class Meta:
        model = Store
        fields = ("name",)


class NewStoreForm(StoreForm):
    code = PlaceCodeField(
        label=gettext_lazy("Code"),
        help_text=gettext_lazy(
            "Short, such as HOME. The book of the store is kept under it, and it never changes."
        ),
    )

    class Meta(StoreForm.Meta):
        fields = ("code", "name")

    def clean_code(self) -> str:
        code: str = self.cleaned_data["code"]
        if Store.objects.filter(pk=code).exists():
            raise forms.ValidationError(_("There is a store %(code)s already.") % {"code": code})
        return code


def store_list(request: HttpRequest) -> HttpResponse:
    form = NewStoreForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        messages.success(request, _("%(store)s is written down.") % {"store": form.save()})
        return redirect("stores")
    rows = Store.objects.annotate(crew_count=Count("crews", distinct=True))
    may_add = policy.may_open(request.user, "stores", "POST")
    return sheet(request, "stores.html", {"stores": rows, "form": form if may_add else None})


def store(request: HttpRequest, code: str) -> HttpResponse:
    """Rename a store."""
    one = get_object_or_404(Store, pk=code.upper())
    form = StoreForm(request.POST or None, instance=one)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, _("Written down."))
        return redirect("stores")
    return sheet(request, "store.html", {"code": one.pk, "form": form})
