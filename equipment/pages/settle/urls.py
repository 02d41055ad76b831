from django.urls import path

from equipment.pages.settle import views

urlpatterns = [
    path("settle/", views.to_settle, name="settle"),
    path("settle/told/<slug:code>/<uuid:entry>/", views.settle_one, name="settle_one"),
    path("settle/again/<uuid:pk>/", views.settle_again, name="settle_again"),
    path("settle/kept/<int:pk>/try/", views.settle_kept_one, {"what": "again"}, name="settle_try"),
    path("settle/kept/<int:pk>/renumber/", views.settle_kept_one, {"what": "new"}, name="settle_renumber"),
    path(
        "settle/kept/<int:pk>/leave-out/", views.settle_kept_one, {"what": "aside"}, name="settle_leave_out"
    ),
    path("settle/kept/<int:pk>/take-in/", views.settle_take, name="settle_take"),
    path("settle/phone/<uuid:pk>/", views.settle_phone, name="settle_phone"),
]
