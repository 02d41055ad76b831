"""Addresses of the phone: what keeps the orchard page on it, and how it comes to trust this machine."""

from django.urls import path

from equipment.pages import trust
from equipment.pages.shell import icons, views

urlpatterns = [
    path("sw.js", views.service_worker, name="service_worker"),
    path("orchard.webmanifest", views.manifest, name="orchard_manifest"),
    path("orchard-icon.svg", icons.icon_svg, name="orchard_icon_svg"),
    path("orchard-icon/<slug:name>.png", icons.icon, name="orchard_icon"),
    path("trust/", trust.trust, name="trust"),
    path("trust/shedbook.crt", trust.trust_certificate, name="trust_certificate"),
    path("trust/<slug:where>.svg", trust.trust_code, name="trust_code"),
]
