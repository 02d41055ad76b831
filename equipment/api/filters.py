"""What lists can be narrowed by."""

import django_filters as filters
from drf_spectacular.utils import extend_schema_field

from crews.models import Picker
from equipment.models import ItemState

YES = "true"
YES_OR_NO = [(YES, YES), ("false", "false")]


@extend_schema_field({"type": "boolean"})
class YesOrNo(filters.TypedChoiceFilter):
    """As JSON spells it. Django's own takes any other word for "either"."""


class ItemFilter(filters.FilterSet):
    kind = filters.CharFilter(field_name="item__kind")
    place = filters.ChoiceFilter(choices=ItemState.Place.choices)
    store = filters.CharFilter(field_name="store")
    crew = filters.CharFilter(field_name="crew")
    owner = filters.CharFilter(field_name="item__owner")
    picker = filters.CharFilter(field_name="badge")
    fit = YesOrNo(field_name="fit", choices=YES_OR_NO, coerce=YES.__eq__)

    class Meta:
        model = ItemState
        fields = ()


class PickerFilter(filters.FilterSet):
    crew = filters.CharFilter(field_name="crew")
    search = filters.CharFilter(field_name="name", lookup_expr="icontains")

    class Meta:
        model = Picker
        fields = ()
