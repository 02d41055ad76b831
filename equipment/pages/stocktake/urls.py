"""The pages of a stocktake."""

from django.urls import path

from equipment.pages.stocktake import counting, overview, settling

urlpatterns = [
    path("stocktake/", overview.stocktakes, name="stocktakes"),
    path("stocktake/<uuid:pk>/", counting.stocktake, name="stocktake"),
    path("stocktake/<uuid:pk>/lines/", counting.stocktake_lines, name="stocktake_lines"),
    path("stocktake/<uuid:pk>/scan/", counting.stocktake_scan, name="stocktake_scan"),
    path("stocktake/<uuid:pk>/scans/", counting.stocktake_scans, name="stocktake_scans"),
    path("stocktake/<uuid:pk>/unscan/", counting.stocktake_unscan, name="stocktake_unscan"),
    path("stocktake/<uuid:pk>/settle/", settling.stocktake_settle, name="stocktake_settle"),
    path("stocktake/<uuid:pk>/piece/<uuid:item>/", settling.stocktake_piece, name="stocktake_piece"),
    path("stocktake/<uuid:pk>/piece/<uuid:item>/again/", settling.stocktake_again, name="stocktake_again"),
    path("stocktake/<uuid:pk>/missing/", settling.stocktake_missing, name="stocktake_missing"),
    path("stocktake/<uuid:pk>/label/<uuid:label>/", settling.stocktake_label, name="stocktake_label"),
    path(
        "stocktake/<uuid:pk>/label/<uuid:label>/again/",
        settling.stocktake_label_again,
        name="stocktake_label_again",
    ),
    path("stocktake/<uuid:pk>/end/", overview.stocktake_end, name="stocktake_end"),
    path("stocktake/<uuid:pk>/report.pdf", overview.stocktake_pdf, name="stocktake_pdf"),
]
