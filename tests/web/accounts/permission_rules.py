"""Who may use each address: the table that the permission tests go by."""

from __future__ import annotations

from evenground.web.accounts.access import Right

ANYBODY = "anybody"
"""Shows nothing of anybody: sign-in, links that carry their own secret, files of the app."""
SIGNED_IN = "signed in"
"""Shows each person their own."""

VALUES = {"secret": "x", "code": "ABCD2345", "number": 1}
"""What stands for the parameters of an address; the trial's name is filled in."""

RULES: dict[str, str | Right] = {
    "words": ANYBODY,
    "accounts:login": ANYBODY,
    "accounts:logout": ANYBODY,
    "accounts:accept": ANYBODY,
    "accounts:day": ANYBODY,
    "accounts:people": SIGNED_IN,
    "accounts:password": SIGNED_IN,
    "accounts:invite": SIGNED_IN,
    "accounts:withdraw": SIGNED_IN,
    "accounts:day_links": Right.SHARE,
    "accounts:withdraw_day_link": Right.SHARE,
    "network:phones": SIGNED_IN,
    "network:make_code": SIGNED_IN,
    "network:pair": ANYBODY,
    "network:pair_with": ANYBODY,
}
