"""What a person writes down at the wash place: a mixing, a strength test, an emptying, a whole crew's cleaning."""

from datetime import date, datetime, timedelta
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews.models import User
from equipment.actions.goods import Using
from equipment.actions.writing import new_id
from equipment.domain import bath as baths
from equipment.domain import dilution
from equipment.domain.given import BadNumber
from equipment.domain.mixing import Mixture, mixture
from equipment.domain.values import BathState
from equipment.models import LotState
from equipment.models.reading import crews
from equipment.pages.goods import choosing
from equipment.pages.wash.numbers import NumberField, sentence
from equipment.pages.wash.recipes import KnownRecipe, by_kind

MOST_ML = 100_000
MOST_PPM = 1_000_000
MOST_DILUTED = 10_000
A_MINUTE = timedelta(minutes=1)
OFF = {"autocomplete": "off"}


class AmountForm(forms.Form):
    """Which bath, how much of it, from what product. `made` is the mixture, once the form is valid."""

    recipe = forms.ChoiceField(label=gettext_lazy("Recipe"))
    litres = NumberField(label=gettext_lazy("Litres of bath"))
    strength = NumberField(
        label=gettext_lazy("Strength of the product, %"),
        required=False,
        help_text=gettext_lazy("As its label says. Empty: what the recipe takes it to be."),
    )
    made: Mixture

    def __init__(self, data: Any, recipes: list[KnownRecipe]) -> None:
        super().__init__(data)
        self.recipes = {recipe.rule.code: recipe for recipe in recipes}
        self.fields["recipe"].choices = [  # type: ignore[attr-defined]
            (kind, [(each.rule.code, each.name) for each in fitting]) for kind, fitting in by_kind(recipes)
        ]

    @property
    def recipe_chosen(self) -> KnownRecipe:
        return self.recipes[self.cleaned_data["recipe"]]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if self.errors:
            return data
        rule, agent = self.recipe_chosen.rule, self.recipe_chosen.agent
        strength = data["strength"] if data["strength"] is not None else agent.strength_pct
        data["strength"] = strength
        try:
            self.made = mixture(
                rule.target_ppm or 0,
                data["litres"],
                strength or 0,
                powder=agent.powder,
                ready=rule.ready_to_use,
            )
        except BadNumber as bad:
            self.add_error(
                "litres" if bad.params.get("what") == dilution.VOLUME else "strength", sentence(bad)
            )
            return data
        if max(self.made.product, data["litres"]) > MOST_ML:
            self.add_error("litres", _("That is more than one bath. Mix several smaller ones."))
        return data


class MixedForm(forms.Form):
    """What the label of the product says, and what was measured. `using` is what it takes of a lot on the shelf, once
    the form is valid; that lot's own number and date stand in for what was left empty. `own` is the bath's number, made
    with the page: sent twice, it is one bath."""

    own = forms.UUIDField(widget=forms.HiddenInput, required=False)
    lot_of = forms.ChoiceField(
        label=gettext_lazy("Product from the shelf"),
        required=False,
        help_text=gettext_lazy("It is taken off the lot, whose number and date are written down."),
    )
    lot = forms.CharField(
        label=gettext_lazy("Lot on the product's label"),
        required=False,
        max_length=80,
        widget=forms.TextInput(attrs=OFF),
    )
    expires = forms.DateField(
        label=gettext_lazy("Good until, by its label"),
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}),
        help_text=gettext_lazy("A product past its date has lost strength: take another."),
    )
    labelled = forms.BooleanField()
    ph = NumberField(label=gettext_lazy("pH, as measured"))

    using: Using | None = None

    def __init__(
        self, data: Any, recipe: KnownRecipe, day: date, lots: dict[str, LotState], product: float
    ) -> None:
        super().__init__(data, auto_id="mixed_%s", initial={"own": new_id()})
        self.recipe, self.day, self.lots, self.product = recipe, day, lots, product
        choosing.offer(self.fields["lot_of"], lots)
        if not lots:
            del self.fields["lot_of"]
        if not recipe.asks_ph:
            del self.fields["labelled"], self.fields["ph"]
            return
        range_words = {"low": recipe.rule.ph_low, "high": recipe.rule.ph_high}
        said = _("The product is labelled for this use at pH %(low)s to %(high)s") % range_words
        self.fields["labelled"].label = said
        self.fields["labelled"].error_messages["required"] = _(
            "Only with a product that is labelled for it. Take another product, or another recipe."
        )

    def clean_expires(self) -> date | None:
        expires: date | None = self.cleaned_data["expires"]
        if expires is not None and expires < self.day:
            raise ValidationError(
                _("This product is past its date. Take one that is not, and read its label.")
            )
        return expires

    def clean(self) -> dict[str, Any]:
        said = super().clean() or self.cleaned_data
        lot = self.lots.get(said.get("lot_of") or "")
        if lot is not None:
            said["lot"] = said.get("lot") or lot.lot_number[:80]
            said["expires"] = said.get("expires") or lot.expires_on
            self.using = choosing.in_a_bath(self, lot, self.product)
        return said

    def clean_ph(self) -> float:
        ph: float = self.cleaned_data["ph"]
        low, high = self.recipe.rule.ph_low, self.recipe.rule.ph_high
        if low is not None and high is not None and not low <= ph <= high:
            raise ValidationError(
                _(
                    "pH %(ph)s is outside %(low)s to %(high)s: a dip in this bath would not count. Empty it where the "
                    "label says and take a product labelled for that pH. Put nothing else in to change it."
                )
                % {"ph": f"{ph:g}", "low": low, "high": high}
            )
        return ph


class StrengthForm(forms.Form):
    """A reading of a bath. `strength` is that of the bath in ppm, once the form is valid."""

    ppm = NumberField(
        label=gettext_lazy("Reading, ppm"),
        help_text=gettext_lazy("As the strip or the meter shows it. 1 % is 10 000 ppm."),
    )
    diluted = NumberField(
        label=gettext_lazy("Sample diluted, times"),
        required=False,
        help_text=gettext_lazy("10 for one part of bath and nine of water. Empty: not diluted."),
    )
    at = forms.DateTimeField(
        label=gettext_lazy("Read at"),
        required=False,
        help_text=gettext_lazy("Empty: just now."),
        input_formats=["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S"],
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
    )
    strength: float

    def __init__(self, data: Any, state: BathState, target_ppm: int | None, now: datetime) -> None:
        super().__init__(data, auto_id="test_%s")
        self.state, self.target_ppm, self.now = state, target_ppm, now

    def clean_diluted(self) -> float:
        diluted: float | None = self.cleaned_data["diluted"]
        if diluted is None:
            return 1.0
        if not 1 <= diluted <= MOST_DILUTED:
            raise ValidationError(_("A sample is diluted once (not at all) to 10 000 times, never less."))
        return diluted

    def clean_at(self) -> datetime | None:
        at: datetime | None = self.cleaned_data["at"]
        if at is not None and at > self.now:
            raise ValidationError(_("That lies in the future. Leave it empty for just now."))
        mixed_at = self.state.mixed_at
        if at is not None and mixed_at is not None and at < mixed_at:
            if at + A_MINUTE <= mixed_at:
                raise ValidationError(_("The bath was not mixed yet at that time."))
            return mixed_at
        return at

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if self.errors:
            return data
        try:
            self.strength = baths.strength(data["ppm"], data["diluted"], self.target_ppm)
        except BadNumber as bad:
            self.add_error("ppm", sentence(bad))
            return data
        if data["ppm"] > MOST_PPM or self.strength > MOST_PPM:
            self.add_error(
                "ppm", _("Nothing is stronger than a million ppm. Are reading and dilution right?")
            )
        return data


class EmptyForm(forms.Form):
    where = forms.ChoiceField(label=gettext_lazy("Emptied into"), widget=forms.RadioSelect)

    def __init__(self, data: Any, recipe: KnownRecipe | None) -> None:
        super().__init__(data, auto_id="empty_%s")
        self.fields["where"].choices = recipe.emptied if recipe else []  # type: ignore[attr-defined]


class CrewForm(forms.Form):
    """All pieces of a kind that a crew has, cleaned together. `way` as in `pages.wash.ways`."""

    crew = forms.ModelChoiceField(None, label=gettext_lazy("Crew"), empty_label=None)
    way = forms.ChoiceField(label=gettext_lazy("How"))
    kind = forms.ChoiceField(label=gettext_lazy("What"))
    minutes = NumberField(
        label=gettext_lazy("Minutes in the bath"),
        required=False,
        help_text=gettext_lazy("Of the piece that went in last. A wash or a drying needs none."),
    )

    def __init__(
        self, data: Any, user: User, ways: list[tuple[str, str]], kinds: list[tuple[str, str]]
    ) -> None:
        super().__init__(data)
        self.fields["crew"].queryset = crews(user).filter(active=True)  # type: ignore[attr-defined]
        self.fields["way"].choices = ways  # type: ignore[attr-defined]
        self.fields["kind"].choices = kinds  # type: ignore[attr-defined]

    def clean_minutes(self) -> float | None:
        minutes: float | None = self.cleaned_data["minutes"]
        if minutes is not None and not 0 < minutes <= 10_080:
            raise ValidationError(_("Give the minutes, above zero and at most a week."))
        return minutes

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if (
            str(data.get("way", "")).startswith("bath:")
            and data.get("minutes") is None
            and "minutes" not in self.errors
        ):
            self.add_error("minutes", _("A dip needs its time: how long was the last piece in?"))
        return data
