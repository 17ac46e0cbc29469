"""The app of https on the farm network, pairing of phones."""

from __future__ import annotations

from django.apps import AppConfig


class NetworkConfig(AppConfig):
    """Https on the farm network, pairing of phones."""

    name = "evenground.web.network"
    label = "network"
