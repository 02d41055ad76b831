"""The pages of the wash place."""

from django.urls import path

from equipment.pages.wash import baths, dipping, mixing, overview

urlpatterns = [
    path("wash/", overview.wash, name="wash"),
    path("wash/lines/", overview.wash_lines, name="wash_lines"),
    path("wash/mix/", mixing.wash_mix, name="wash_mix"),
    path("wash/dip/", dipping.wash_dip, name="wash_dip"),
    path("wash/check/<str:code>/", dipping.wash_check, name="wash_check"),
    path("wash/crew/", dipping.wash_crew, name="wash_crew"),
    path("wash/baths/<uuid:bath>/", baths.bath, name="bath"),
    path("wash/baths/<uuid:bath>/label.pdf", baths.bath_label, name="bath_label"),
    path("wash/baths/<uuid:bath>/test/", baths.bath_test, name="bath_test"),
    path("wash/baths/<uuid:bath>/empty/", baths.bath_empty, name="bath_empty"),
]
