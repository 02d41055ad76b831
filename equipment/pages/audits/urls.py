from django.urls import path

from equipment.pages.audits import asking, paper, views

urlpatterns = [
    path("audits/", views.audits, name="audits"),
    path("audits/new/", asking.audit_new, name="audit_new"),
    path("audits/<int:number>/", views.audit, name="audit"),
    path("audits/<int:number>/answer/<str:tag>/", views.audit_answer, name="audit_answer"),
    path("audits/<int:number>/take-back/", views.audit_take_back, name="audit_take_back"),
    path("audits/<int:number>/close/", views.audit_close, name="audit_close"),
    path("audits/<int:number>/lot.txt", paper.audit_lot, name="audit_lot"),
    path("audits/<int:number>/report.pdf", paper.audit_report_pdf, name="audit_report"),
]
