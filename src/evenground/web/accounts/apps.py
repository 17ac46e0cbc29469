"""The app of people and rights."""

from __future__ import annotations

from django.apps import AppConfig


class AccountsConfig(AppConfig):
    """People and rights."""

    name = "evenground.web.accounts"
    label = "accounts"
