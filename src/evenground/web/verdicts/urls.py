"""Addresses of the verdict, the adviser's page, the report."""

from __future__ import annotations

from django.urls import URLPattern, path

from evenground.web.verdicts import views

app_name = "verdicts"
urlpatterns: list[URLPattern] = [
    path("verdict/", views.verdict_page, name="verdict"),
    path("verdict/adviser/", views.adviser, name="adviser"),
    path("verdict/pictures/<slug:name>.svg", views.picture, name="picture"),
    path("verdict/report.html", views.report_html, name="report_html"),
    path("verdict/report.pdf", views.report_pdf, name="report_pdf"),
    path("verdict/report/<slug:token>/", views.report_progress, name="report_progress"),
    path("verdict/papers/<slug:form>/", views.handed_over, name="papers"),
]
