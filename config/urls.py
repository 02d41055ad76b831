from django.contrib.auth.views import LogoutView
from django.templatetags.static import static
from django.urls import include, path
from django.views.generic import RedirectView
from django.views.i18n import set_language

handler404 = "crews.languages.not_found"
handler500 = "equipment.pages.watching.failing.server_error"

urlpatterns = [
    # First: every scan comes this way, and each pattern before it is tried at every scan.
    path("api/", include("equipment.api.urls")),
    path("", include("equipment.pages.urls")),
    path("sign-out/", LogoutView.as_view(), name="logout"),
    # Asked for by browsers that show an answer without a page of ours around it.
    path("favicon.ico", RedirectView.as_view(url=static("equipment/favicon.svg")), name="favicon"),
    path("language/", set_language, name="set_language"),
]
