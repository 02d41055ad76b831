from django.urls import path

from equipment.api import entries, figures, lists, overdue, photos, plan, schema, sheet, trace

app_name = "api"
urlpatterns = [
    path("entries/", entries.EntriesView.as_view(), name="entries"),
    path("items/", lists.ItemList.as_view(), name="items"),
    path("items/<str:tag>/", lists.ItemLife.as_view(), name="item"),
    path("pickers/", lists.PickerList.as_view(), name="pickers"),
    path("pickers/<str:badge>/kit/", lists.PickerKit.as_view(), name="kit"),
    path("crews/", lists.CrewList.as_view(), name="crews"),
    path("crews/<str:code>/sheet/", sheet.SheetView.as_view(), name="sheet"),
    path("blocks/", lists.BlockList.as_view(), name="blocks"),
    path("stores/", lists.StoreList.as_view(), name="stores"),
    path("board/", lists.BoardView.as_view(), name="board"),
    path("overdue/", overdue.OverdueView.as_view(), name="overdue"),
    path("plan/<str:day>/", plan.PlanView.as_view(), name="plan"),
    path("figures/<str:name>/", figures.FiguresView.as_view(), name="figures"),
    path("trace/", trace.TraceView.as_view(), name="trace"),
    path("photos/<str:sha256>/", photos.PhotoView.as_view(), name="photo"),
    path("schema/", schema.SchemaView.as_view(), name="schema"),
    path("docs/", schema.DocsView.as_view(), name="docs"),
]
