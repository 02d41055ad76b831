"""What the officer asks: of which lot, how many faulty would be too many, and how sure to be."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews.models import Store
from equipment.actions.audit.drawing import Wanted
from equipment.models import Item, Kind
from equipment.models.audits import Lot, Where

SHARE, NUMBER = "share", "number"
SURE = Decimal(95)
LIMIT = Decimal(5)
NARROWING = ("make", "size", "delivery")


class Figure(forms.DecimalField):
    """A number with a decimal point or a decimal comma."""

    widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})

    def to_python(self, value: Any) -> Decimal | None:
        return super().to_python(value.replace(",", ".") if isinstance(value, str) else value)


class AskForm(forms.Form):
    """Sent by GET to be told how many to look at, and by POST to draw them."""

    kind = forms.ModelChoiceField(
        Kind.objects.all(), label=gettext_lazy("What is audited?"), empty_label=gettext_lazy("choose")
    )
    store = forms.ModelChoiceField(
        Store.objects.all(),
        label=gettext_lazy("Store"),
        required=False,
        empty_label=gettext_lazy("all stores"),
    )
    where = forms.ChoiceField(
        label=gettext_lazy("Which pieces?"),
        choices=Where.choices,
        widget=forms.RadioSelect,
        initial=Where.STORE,
    )
    make = forms.ChoiceField(label=gettext_lazy("Make"), required=False)
    size = forms.ChoiceField(label=gettext_lazy("Size"), required=False)
    delivery = forms.ChoiceField(label=gettext_lazy("Delivery"), required=False)
    limit = Figure(
        label=gettext_lazy("So many faulty would be too many"),
        min_value=Decimal("0.01"),
        max_value=Decimal(100_000),
        decimal_places=2,
        initial=LIMIT,
    )
    unit = forms.ChoiceField(
        label=gettext_lazy("Counted in"),
        choices=[(SHARE, gettext_lazy("% of the lot")), (NUMBER, gettext_lazy("pieces"))],
        widget=forms.RadioSelect,
        initial=SHARE,
    )
    sure = Figure(
        label=gettext_lazy("How sure to be, in %"),
        min_value=Decimal(50),
        max_value=Decimal("99.9"),
        decimal_places=1,
        initial=SURE,
    )

    def __init__(self, data: Any = None, **options: Any) -> None:
        super().__init__(data, **options)
        for name in NARROWING:
            known = Item.objects.exclude(**{name: ""}).order_by(name).values_list(name, flat=True).distinct()
            self.fields[name].choices = _choices(known)  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        said = super().clean() or self.cleaned_data
        limit, unit = said.get("limit"), said.get("unit")
        if limit is not None and unit == SHARE and limit > 100:
            self.add_error("limit", _("A lot has no more than 100 %. Or is it counted in pieces?"))
        if limit is not None and unit == NUMBER and limit != int(limit):
            self.add_error("limit", _("Give a whole number of pieces, or count it in % of the lot."))
        return said

    def wanted(self) -> Wanted:
        """Of a form that is valid."""
        said = self.cleaned_data
        store = said["store"].pk if said["store"] else ""
        lot = Lot(said["kind"].pk, store, said["where"], said["make"], said["size"], said["delivery"])
        if said["unit"] == SHARE:
            return Wanted(lot, said["sure"], share=said["limit"])
        return Wanted(lot, said["sure"], faulty=int(said["limit"]))

    @property
    def narrowed(self) -> bool:
        """Whether make, size or delivery limits the lot."""
        return any(self.data.get(name) for name in NARROWING)


def _choices(known: Iterable[str]) -> list[tuple[str, str]]:
    return [("", _("any")), *((text, text) for text in known)]
