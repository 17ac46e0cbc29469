"""Who is who, read."""

from __future__ import annotations

from dataclasses import dataclass

from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import HttpRequest

from evenground.web.accounts.models import Membership, Role, Share, User
from evenground.web.trials.models import Farm


@dataclass(frozen=True)
class People:
    """A farm and who may do what on it.

    Attributes
    ----------
    farm : Farm
        The farm.
    members : tuple of Membership
        Owners and advisers.
    shares : tuple of Share
        Helpers and viewers, by trial.
    """

    farm: Farm
    members: tuple[Membership, ...]
    shares: tuple[Share, ...]


def signed_in(request: HttpRequest) -> User:
    """Return the person of a request.

    Raises
    ------
    PermissionDenied
        If nobody is signed in.
    """
    if not isinstance(request.user, User):
        raise PermissionDenied
    return request.user


def farms_owned(user: User) -> QuerySet[Farm]:
    """Return the farms a person owns."""
    return Farm.objects.filter(memberships__user=user, memberships__role=Role.OWNER).order_by("name")


def people_of(farm: Farm) -> People:
    """Return everybody with a role on a farm or in one of its trials."""
    members = Membership.objects.filter(farm=farm).select_related("user").order_by("role", "user__username")
    shares = Share.objects.filter(trial__farm=farm).select_related("user", "trial").order_by("trial__name")
    return People(farm, tuple(members), tuple(shares))
