from django.contrib.auth.views import LoginView, LogoutView
from django.urls import include, path
from django.views.i18n import set_language

urlpatterns = [
    path("", include("equipment.pages.urls")),
    path("api/", include("equipment.api.urls")),
    path("sign-in/", LoginView.as_view(), name="login"),
    path("sign-out/", LogoutView.as_view(), name="logout"),
    path("language/", set_language, name="set_language"),
]
