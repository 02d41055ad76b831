from django.urls import path

from equipment.pages.devices import enrolling, here, views

urlpatterns = [
    path("orchard/here/", here.here, name="orchard_here"),
    path("orchard/enrol/", enrolling.type_code, name="enrol_type"),
    path("orchard/enrol/<str:code>", enrolling.enrol_phone, name="enrol"),
    path("devices/", views.devices, name="devices"),
    path("devices/code/", views.make_code, name="device_code_new"),
    path("devices/code/<int:pk>/", views.device_code, name="device_code"),
    path("devices/<uuid:pk>/", views.device, name="device"),
    path("devices/<uuid:pk>/revoke/", views.revoke_device, name="device_revoke"),
]
