"""Logins and codes are slowed down after failures: the wait doubles, up to a minute, and nobody is locked out.

Common practice, no source, for the numbers. The person at this machine does not wait for what others do to their name.
"""

from __future__ import annotations

from datetime import timedelta

from django.utils import timezone

from evenground.web.accounts.models import LoginFailure

FREE_TRIES = 3
LONGEST_WAIT_S = 60.0
FREE_TRIES_OF_ADDRESS = 15
REMEMBERED = timedelta(hours=1)
HERE = ("127.0.0.1", "::1")


def wait_s(name: str, address: str) -> float:
    """Return how long this name and address have to wait before the next try [s]; 0 if they need not."""
    return max(0.0 if address in HERE else _left(name=name.lower()), _left(address=address, free=FREE_TRIES_OF_ADDRESS))


def _left(*, free: int = FREE_TRIES, **of: str) -> float:
    now = timezone.now()
    failures = LoginFailure.objects.filter(at__gt=now - REMEMBERED, **of).order_by("-at")
    count = failures.count()
    if count < free:
        return 0.0
    wait = min(LONGEST_WAIT_S, 2.0 ** (count - free + 1))
    return max(0.0, wait - (now - failures[0].at).total_seconds())


def failed(name: str, address: str) -> None:
    """Remember a failure, and forget those of yesterday."""
    LoginFailure.objects.filter(at__lt=timezone.now() - timedelta(days=1)).delete()
    LoginFailure.objects.create(name=name.lower()[:150], address=address[:45])


def succeeded(name: str, address: str) -> None:
    """Forget the failures of a name at an address that then got in."""
    LoginFailure.objects.filter(name=name.lower(), address=address).delete()
