from django.urls import path

from equipment.pages.registers import charts, verifying, views

urlpatterns = [
    path("registers/", views.registers, name="registers"),
    path("registers/charts/", charts.charts, name="charts"),
    path("registers/charts.pdf", charts.charts_paper, name="charts_pdf"),
    path("registers/charts/<slug:name>.svg", charts.chart, {"form": "svg"}, name="chart"),
    path("registers/charts/<slug:name>.csv", charts.chart, {"form": "csv"}, name="chart_table"),
    path("registers/printings/<str:code>/", views.printing, name="printing"),
    path("registers/<slug:name>/", views.register, name="register"),
    path("verify/", verifying.verify, name="verify"),
    path("verify/<path:code>/", verifying.verify_one, name="verify_one"),
]
