"""The pages; their names are those that the policy speaks of."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
