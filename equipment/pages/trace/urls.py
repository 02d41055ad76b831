from django.urls import path

from equipment.pages.trace import views

urlpatterns = [
    path("trace/", views.trace, name="trace"),
    path("trace/<int:number>/", views.trace_case, name="trace_case"),
    path("trace/<int:number>/flag/", views.trace_flag, name="trace_flag"),
    path("trace/<int:number>/unflag/", views.trace_unflag, name="trace_unflag"),
    path("trace/<int:number>/recall.pdf", views.trace_recall, name="trace_recall"),
]
