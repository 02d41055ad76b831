"""What a person writes down of counted goods."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews import policy
from crews.models import User
from equipment.actions.amounts import amount
from equipment.models import Goods, LotState
from equipment.models.reading import crews
from equipment.pages.goods.saying import lot_choice
from equipment.pages.once import OnceForm
from equipment.pages.wash.numbers import NumberField

OFF = {"autocomplete": "off"}
DAY = {"type": "date"}
MOST = 1_000_000
GIVEN, MEND, OTHER = "given", "mend", "other"


def quantity(said: float | None, goods: Goods) -> float:
    """A quantity of these goods, above zero; whole where nobody takes half of one. Raises ValidationError."""
    if said is None or not 0 < said <= MOST or not (left := counted(said, goods)):
        raise ValidationError(_("Give a number above zero."))
    return left


def counted(said: float, goods: Goods) -> float:
    """As `quantity`, of what is left: that may be nothing."""
    if not 0 <= said <= MOST:
        raise ValidationError(_("Give zero or more."))
    if goods.whole and said != int(said):
        raise ValidationError(_("These are counted whole: give a number without a fraction."))
    return round(said, 6)


class ReceiveForm(OnceForm):
    goods = forms.ModelChoiceField(Goods.objects.all(), label=gettext_lazy("Goods"), empty_label=None)
    quantity = NumberField(
        label=gettext_lazy("How much came"), help_text=gettext_lazy("In the unit of the goods.")
    )
    lot_number = forms.CharField(
        label=gettext_lazy("Lot on the package"),
        required=False,
        max_length=80,
        widget=forms.TextInput(attrs=OFF),
    )
    expires_on = forms.DateField(
        label=gettext_lazy("Good until, by the package"),
        required=False,
        widget=forms.DateInput(attrs=DAY),
        help_text=gettext_lazy("Empty where it has no date."),
    )
    supplier = forms.CharField(label=gettext_lazy("Supplier"), required=False, max_length=80)
    note = forms.CharField(label=gettext_lazy("Note"), required=False, max_length=2000)

    def __init__(self, data: Any, day: date, **options: Any) -> None:
        super().__init__(data, **options)
        self.day = day
        self.fields["goods"].label_from_instance = _with_unit  # type: ignore[attr-defined]

    def clean_expires_on(self) -> date | None:
        expires: date | None = self.cleaned_data["expires_on"]
        if expires is not None and expires < self.day:
            raise ValidationError(_("It is past its date already. Send it back, or read the date again."))
        return expires

    def clean(self) -> dict[str, Any]:
        said = super().clean() or self.cleaned_data
        if "goods" in said and "quantity" in said:
            _checked(self, said, said["goods"])
        return said


class TakeForm(OnceForm):
    """Of which lot, how much, and for what. The lot that expires first stands first and is chosen."""

    lot = forms.ChoiceField(label=gettext_lazy("From"), widget=forms.RadioSelect)
    quantity = NumberField(label=gettext_lazy("How much"))
    what = forms.ChoiceField(label=gettext_lazy("For"), widget=forms.RadioSelect)
    crew = forms.ModelChoiceField(
        None, label=gettext_lazy("Crew"), required=False, empty_label=gettext_lazy("no crew")
    )
    note = forms.CharField(label=gettext_lazy("Note"), required=False, max_length=2000)

    def __init__(self, data: Any, user: User, goods: Goods, lots: Iterable[LotState]) -> None:
        super().__init__(data)
        self.goods, self.lots = goods, {str(lot.pk): lot for lot in lots}
        for lot in self.lots.values():
            lot.goods = goods
        self.fields["lot"].choices = [(own, lot_choice(lot)) for own, lot in self.lots.items()]  # type: ignore[attr-defined]
        self.fields["what"].choices = ways(user)  # type: ignore[attr-defined]
        self.fields["crew"].queryset = crews(user).filter(active=True)  # type: ignore[attr-defined]
        self.initial |= {"lot": next(iter(self.lots), ""), "what": next(iter(dict(ways(user))), "")}

    def clean(self) -> dict[str, Any]:
        said = super().clean() or self.cleaned_data
        if "quantity" in said:
            _checked(self, said, self.goods)
        if said.get("what") == GIVEN and not said.get("crew") and "crew" not in self.errors:
            self.add_error("crew", _("Say which crew gets it."))
        return said


def ways(user: User) -> list[tuple[str, str]]:
    """What this person may take goods for."""
    given = [(GIVEN, _("a crew"))] if policy.may_act(user, "give_goods") else []
    used = (
        [(MEND, _("mending")), (OTHER, _("something else here"))] if policy.may_act(user, "use_goods") else []
    )
    return [*given, *used]


class DiscardForm(OnceForm):
    quantity = NumberField(label=gettext_lazy("How much"))
    why = forms.CharField(
        label=gettext_lazy("Why"),
        max_length=2000,
        help_text=gettext_lazy("Past its date, damaged, opened and not clean: in a few words."),
    )

    def __init__(self, data: Any, row: LotState) -> None:
        super().__init__(data, auto_id="discard_%s", initial={"quantity": f"{row.left:g}"})
        self.row, self.goods = row, row.goods

    def clean_quantity(self) -> float:
        said = quantity(self.cleaned_data["quantity"], self.goods)
        if said > self.row.left:
            raise ValidationError(
                _("There is only %(left)s.") % {"left": amount(self.row.left, self.goods.unit)}
            )
        return said


class GoodsForm(forms.ModelForm):  # type: ignore[type-arg]
    """Goods of the farm's own, or the farm's own level for those of the catalogue."""

    class Meta:
        model = Goods
        fields = ("name", "unit", "used_for", "low")

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["low"].help_text = _("A store that has less is told on the board. Empty: never.")
        if self.instance.pk:
            del self.fields["unit"]

    def clean_low(self) -> float | None:
        low: float | None = self.cleaned_data["low"]
        if low is not None and not 0 < low <= MOST:
            raise ValidationError(_("Give a number above zero, or leave it empty."))
        return low


def _with_unit(goods: Goods) -> str:
    return _("%(goods)s, in %(unit)s") % {"goods": goods, "unit": goods.get_unit_display()}


def _checked(form: forms.Form, said: dict[str, Any], goods: Goods) -> None:
    try:
        said["quantity"] = quantity(said["quantity"], goods)
    except ValidationError as why:
        form.add_error("quantity", why)
