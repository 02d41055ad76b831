from django.urls import path

from equipment.pages.figures import views

urlpatterns = [
    path("figures/", views.figures, name="figures"),
    path("figures/<slug:name>/", views.figure, name="figure"),
    path("figures/<slug:name>/all.pdf", views.figure_pdf, name="figure_pdf"),
    path("figures/<slug:name>/<slug:which>.svg", views.figure_picture, name="figure_picture"),
    path("figures/<slug:name>/<slug:which>.csv", views.figure_table, name="figure_table"),
]
