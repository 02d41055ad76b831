"""Mix a dip bath: first the numbers with the cautions beside them, then, once it is mixed, it is written down."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from equipment.actions import bathing
from equipment.actions.bathing import Mixing
from equipment.actions.wording import refusal
from equipment.actions.writing import Pen
from equipment.domain.mixing import Mixture
from equipment.models import BathState
from equipment.pages.goods import choosing
from equipment.pages.keys import uuid_in
from equipment.pages.rules.saying import lasting, ppm
from equipment.pages.wash import here
from equipment.pages.wash.forms import AmountForm, MixedForm
from equipment.pages.wash.recipes import KnownRecipe, in_force

LEFT_FOR_PRODUCT = 0.95


def wash_mix(request: HttpRequest) -> HttpResponse:
    """GET with `recipe`, `litres` and `strength` shows the numbers; the same by POST, with the rest, writes it down."""
    store, at = here.store_of(request), timezone.now()
    recipes = [each for each in in_force(at).values() if each.rule.method == "sterilise"]
    asked = request.POST if request.method == "POST" else request.GET
    amount = AmountForm(asked if "recipe" in asked else None, recipes)
    context: dict[str, Any] = {"store": store, "amount": amount, "recipes": recipes}
    if not amount.is_valid():
        return render(request, "wash_mix.html", context, status=400 if amount.is_bound else 200)
    if (own := uuid_in(request.POST.get("own"))) and BathState.objects.filter(pk=own).exists():
        return _before(request, own)
    recipe = amount.recipe_chosen
    lots = choosing.measured(choosing.lots_for(request.user, store.pk, goods__agent=recipe.rule.agent))  # type: ignore[arg-type]
    said, day = asked if request.method == "POST" else None, timezone.localdate()
    form = MixedForm(said, recipe, day, lots, amount.made.product)
    if form.is_valid():
        return _mixed(request, store.pk, amount, form)
    context |= {"form": form, "recipe": recipe, "made": amount.made, **_numbers(recipe, amount)}
    return render(request, "wash_mix.html", context, status=400 if form.is_bound else 200)


def _mixed(request: HttpRequest, store: str, amount: AmountForm, form: MixedForm) -> HttpResponse:
    said = form.cleaned_data
    mixing = Mixing(
        recipe=amount.cleaned_data["recipe"],
        litres=amount.made.litres,
        product_ml=amount.made.product,
        strength_pct=amount.cleaned_data["strength"],
        product_lot=said["lot"],
        product_expires=said["expires"],
        ph=said.get("ph"),
    )
    pen = Pen(request.user, store, timezone.now())  # type: ignore[arg-type]
    own, outcome = bathing.mix(pen, mixing, using=form.using, own=said["own"])
    if "mixed_twice" in outcome.codes:  # the same page, sent at the same moment
        return _before(request, own)
    if not outcome.recorded:
        messages.error(request, " ".join(refusal(code, {}) for code in outcome.codes))
        return redirect(here.at_store(reverse("wash_mix"), store))
    messages.success(request, _("The bath is written down. Print its label and put it on the bucket."))
    return redirect(reverse("bath", args=[own]))


def _before(request: HttpRequest, own: UUID) -> HttpResponse:
    messages.info(
        request, _("That page was sent before, and wrote down this bath. Another one is mixed by a new page.")
    )
    return redirect(reverse("bath", args=[own]))


def _numbers(recipe: KnownRecipe, amount: AmountForm) -> dict[str, Any]:
    """What is measured out, and what the recipe asks for."""
    rule, made, litres = recipe.rule, amount.made, amount.made.litres
    return {
        "product": _plain(made.product),
        "litres": _plain(litres),
        "water": _plain(made.water),
        "parts": _parts(made),
        "first": _plain(round(litres * LEFT_FOR_PRODUCT, 1)),
        "strength": _plain(amount.cleaned_data["strength"]),
        "gives": ppm(rule.target_ppm or 0),
        "contact": lasting(rule.contact_seconds or 0),
        "life": lasting((rule.life_minutes or 0) * 60),
        "capacity": int((rule.items_per_litre or 0) * litres),
        "hidden": {name: amount.cleaned_data[name] for name in ("recipe", "litres", "strength")},
    }


def _parts(made: Mixture) -> str:
    """Both parts, never a bare ratio; "" for a powder."""
    if made.parts is None:
        return ""
    product = ngettext("%(n)d part product", "%(n)d parts product", made.parts[0]) % {"n": made.parts[0]}
    water = ngettext("%(n)d part water", "%(n)d parts water", made.parts[1]) % {"n": made.parts[1]}
    return f"{product} + {water}"


def _plain(number: float) -> str:
    """To the millilitre, without noughts at its end."""
    return str(number_format(f"{round(number, 3):g}"))
