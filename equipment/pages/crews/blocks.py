"""Orchard blocks: what grows there, whether the trees are tall, and whose they are."""

from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import ProtectedError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews import policy
from crews.models import Block, DayPlan
from equipment.pages.crews.beside import sheet
from equipment.pages.crews.fields import PlaceCodeField, Plain

PLANS_SHOWN = 20


class BlockForm(Plain):
    names = ("name", "crop", "variety", "farm")

    class Meta:
        model = Block
        fields = ("name", "crop", "variety", "tall_trees", "hectares", "farm")
        help_texts = {
            "crop": gettext_lazy("orange, lemon, mandarin, grapefruit ... Lemons ask for gloves."),
            "tall_trees": gettext_lazy("Tall trees ask for ladders."),
            "farm": gettext_lazy("Only where the block is another farm's."),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["hectares"].min_value = 0  # type: ignore[attr-defined]
        self.fields["hectares"].widget.attrs["min"] = 0


class NewBlockForm(BlockForm):
    code = PlaceCodeField(
        label=gettext_lazy("Code"), help_text=gettext_lazy("It stands on paper and never changes.")
    )

    class Meta(BlockForm.Meta):
        fields = ("code", *BlockForm.Meta.fields)

    def clean_code(self) -> str:
        code: str = self.cleaned_data["code"]
        if Block.objects.filter(pk=code).exists():
            raise forms.ValidationError(_("There is a block %(code)s already.") % {"code": code})
        return code


def block_list(request: HttpRequest) -> HttpResponse:
    form = NewBlockForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = form.save()
        messages.success(request, _("Block %(block)s is written down.") % {"block": made})
        return redirect("blocks")
    may_add = policy.may_open(request.user, "blocks", "POST")
    return sheet(request, "blocks.html", {"blocks": Block.objects.all(), "form": form if may_add else None})


def block(request: HttpRequest, code: str) -> HttpResponse:
    one = get_object_or_404(Block, pk=code.upper())
    form = BlockForm(request.POST or None, instance=one)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, _("Written down."))
        return redirect("blocks")
    plans = DayPlan.objects.filter(block=one, date__gte=timezone.localdate()).select_related("crew")
    context = {
        "code": one.pk,
        "block": Block.objects.get(pk=one.pk),
        "plans": plans[:PLANS_SHOWN],
        "form": form if policy.may_open(request.user, "block", "POST") else None,
    }
    return sheet(request, "block.html", context)


def delete_block(request: HttpRequest, code: str) -> HttpResponse:
    """A block that the book or a plan speaks of stays."""
    one = get_object_or_404(Block, pk=code.upper())
    try:
        one.delete()
    except ProtectedError:
        said = _(
            "Block %(block)s is in use: plans or lines of the book speak of it. It stays; its name may change."
        )
        messages.error(request, said % {"block": code.upper()})
        return redirect("block", code.upper())
    messages.success(request, _("Block %(block)s is deleted.") % {"block": code.upper()})
    return redirect("blocks")
