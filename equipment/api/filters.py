"""What lists can be narrowed by, as the description says it: what it does not allow is 400, not passed over."""

from typing import Any

import django_filters as filters
from django import forms
from drf_spectacular.utils import extend_schema_field

from crews.models import Picker
from equipment.models import ItemState

YES = "true"
YES_OR_NO = [(YES, YES), ("false", "false")]


class OneOfThem(forms.TypedChoiceField):
    """One of the choices, where it stands in the address at all: nothing is none of them."""

    def clean(self, value: Any) -> Any:
        if value == "":
            raise forms.ValidationError(self.error_messages["required"])
        return super().clean(value)


class Choice(filters.TypedChoiceFilter):
    field_class = OneOfThem


@extend_schema_field({"type": "boolean"})
class YesOrNo(Choice):
    """As JSON spells it. Django's own takes any other word for "either"."""


@extend_schema_field({"type": "string", "pattern": "^[^\\u0000]*$"})
class Text(filters.CharFilter):
    """NUL no database takes."""


class ItemFilter(filters.FilterSet):
    kind = Text(field_name="item__kind")
    place = Choice(choices=ItemState.Place.choices)
    store = Text(field_name="store")
    crew = Text(field_name="crew")
    owner = Text(field_name="item__owner")
    picker = Text(field_name="badge")
    fit = YesOrNo(field_name="fit", choices=YES_OR_NO, coerce=YES.__eq__)

    class Meta:
        model = ItemState
        fields = ()


class PickerFilter(filters.FilterSet):
    crew = Text(field_name="crew")
    search = Text(field_name="name", lookup_expr="icontains")

    class Meta:
        model = Picker
        fields = ()
