"""The addresses of all pages; each app writes its paths in full below its line here."""

from __future__ import annotations

from django.urls import URLPattern, URLResolver, include, path
from django.views.i18n import JavaScriptCatalog

TRIAL = "trials/<slug:slug>/"

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("evenground.web.start.urls")),
    path("", include("evenground.web.accounts.urls")),
    path("phone/", include("evenground.web.phone.urls")),
    path("network/", include("evenground.web.network.urls")),
    path("", include("evenground.web.transfer.urls")),
    path(TRIAL, include("evenground.web.planning.urls")),
    path(TRIAL, include("evenground.web.fields.urls")),
    path(TRIAL, include("evenground.web.layouts.urls")),
    path(TRIAL, include("evenground.web.sowing.urls")),
    path(TRIAL, include("evenground.web.stands.urls")),
    path(TRIAL, include("evenground.web.seasons.urls")),
    path(TRIAL, include("evenground.web.harvests.urls")),
    path(TRIAL, include("evenground.web.verdicts.urls")),
    path(TRIAL, include("evenground.web.records.urls")),
    path("words.js", JavaScriptCatalog.as_view(packages=["evenground.web"]), name="words"),
]
