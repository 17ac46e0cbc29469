"""What changes people and rights."""

from __future__ import annotations

from django.db import transaction

from evenground.web.accounts.models import Membership, Role, User
from evenground.web.trials.models import Farm


def make_farm(*, name: str, owner: User) -> Farm:
    """Make a farm and its owner's membership."""
    with transaction.atomic():
        farm = Farm.objects.create(name=name)
        Membership.objects.create(user=owner, farm=farm, role=Role.OWNER)
    return farm
