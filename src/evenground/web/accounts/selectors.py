"""Who is who, read."""

from __future__ import annotations

from dataclasses import dataclass

from django.conf import settings
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


def may_renew(by: User, person: User) -> bool:
    """Say whether somebody may hand out a link that sets a person's password anew.

    Owners may for people who own nothing and whose every role is on the owner's farms: the link opens no door that is
    not theirs. The person at this machine may for themselves, as long as the app listens on this machine only.
    """
    if person == by:
        return by.local and not settings.NETWORK
    if person.local or person.memberships.filter(role=Role.OWNER).exists():
        return False
    where = {*person.memberships.values_list("farm", flat=True), *person.shares.values_list("trial__farm", flat=True)}
    return bool(where) and where <= set(farms_owned(by).values_list("pk", flat=True))


def people_of(farm: Farm) -> People:
    """Return everybody with a role on a farm or in one of its trials."""
    members = Membership.objects.filter(farm=farm).select_related("user").order_by("role", "user__username")
    shares = Share.objects.filter(trial__farm=farm).select_related("user", "trial").order_by("trial__name")
    return People(farm, tuple(members), tuple(shares))
