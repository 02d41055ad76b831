from django.urls import path

from equipment.pages.plan import views

urlpatterns = [
    path("plan/", views.evening_plan, name="evening_plan"),
    path("plan/crews/<str:code>/", views.evening_plan_crew, name="evening_plan_crew"),
    path("plan/morning-sheets.pdf", views.morning_sheets_pdf, name="morning_sheets_pdf"),
]
