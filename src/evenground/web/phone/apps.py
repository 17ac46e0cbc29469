"""The app of the phone page and the end point that takes its entries."""

from __future__ import annotations

from django.apps import AppConfig


class PhoneConfig(AppConfig):
    """The phone page and the end point that takes its entries."""

    name = "evenground.web.phone"
    label = "phone"
