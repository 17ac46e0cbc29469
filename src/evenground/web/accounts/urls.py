"""Addresses of people: sign in, accounts, shares, day links."""

from __future__ import annotations

from django.urls import path

from evenground.web.accounts import views

app_name = "accounts"
urlpatterns = [
    path("people/", views.people, name="people"),
    path("people/login/", views.SignIn.as_view(), name="login"),
    path("people/logout/", views.SignOut.as_view(), name="logout"),
    path("people/password/", views.ChangePassword.as_view(), name="password"),
    path("people/invite/", views.invite, name="invite"),
    path("people/renew/", views.renew, name="renew"),
    path("people/withdraw/", views.withdraw, name="withdraw"),
    path("people/join/<str:secret>/", views.accept, name="accept"),
    path("people/day/<str:secret>/", views.day, name="day"),
    path("trials/<slug:slug>/day-links/", views.day_links, name="day_links"),
    path("trials/<slug:slug>/day-links/<int:number>/withdraw/", views.withdraw_day_link, name="withdraw_day_link"),
]
