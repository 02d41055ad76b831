"""What lists can be narrowed by."""

import django_filters as filters

from crews.models import Picker
from equipment.models import ItemState


class ItemFilter(filters.FilterSet):
    kind = filters.CharFilter(field_name="item__kind")
    place = filters.ChoiceFilter(choices=ItemState.Place.choices)
    store = filters.CharFilter(field_name="store")
    crew = filters.CharFilter(field_name="crew")
    owner = filters.CharFilter(field_name="item__owner")
    picker = filters.CharFilter(field_name="badge")
    fit = filters.BooleanFilter(field_name="fit")

    class Meta:
        model = ItemState
        fields = ()


class PickerFilter(filters.FilterSet):
    crew = filters.CharFilter(field_name="crew")
    search = filters.CharFilter(field_name="name", lookup_expr="icontains")

    class Meta:
        model = Picker
        fields = ()
