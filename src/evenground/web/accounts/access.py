"""Who may do what: the one place where rights are decided. Trials of other people answer 404."""

from __future__ import annotations

import enum
from typing import TYPE_CHECKING

from django.contrib.auth.models import AnonymousUser
from django.core.exceptions import PermissionDenied
from django.db.models import Q, QuerySet
from django.http import Http404, HttpRequest
from django.utils import timezone

from evenground.web.accounts.models import DayLink, Membership, Role, Share, User
from evenground.web.trials.models import Trial

if TYPE_CHECKING:
    from collections.abc import Mapping

DAY_LINK_SESSION = "day_link"
DAY_LINK_KINDS = ("loads", "weighings", "events")
"""Kinds of record a driver or weighbridge may enter; of events only those of sowing."""


class Right(enum.Enum):
    """One thing somebody may do with a trial."""

    VIEW = "see it"
    RECORD = "enter any record"
    RECORD_DAY = "enter loads, weighings and as-sown events"
    PLAN = "change the plan, draw, move data in and out"
    SHARE = "share it, make day links"


RIGHTS: Mapping[Role, frozenset[Right]] = {
    Role.OWNER: frozenset(Right),
    Role.ADVISER: frozenset({Right.VIEW, Right.RECORD, Right.RECORD_DAY, Right.PLAN}),
    Role.HELPER: frozenset({Right.VIEW, Right.RECORD, Right.RECORD_DAY}),
    Role.VIEWER: frozenset({Right.VIEW}),
}
DAY_LINK_RIGHTS = frozenset({Right.RECORD_DAY})


class NotSignedIn(Http404):
    """Nobody is signed in: a page then leads to the sign-in, which says nothing about what is there."""


def visible_trials(user: User | AnonymousUser) -> QuerySet[Trial]:
    """Return the trials a person may see, newest season first."""
    if not user.is_authenticated:
        return Trial.objects.none()
    whole_farm = Q(farm__memberships__user=user, farm__memberships__role__in=[Role.OWNER, Role.ADVISER])
    return Trial.objects.filter(whole_farm | Q(shares__user=user)).distinct().order_by("-season", "name")


def rights_in(user: User | AnonymousUser, trial: Trial) -> frozenset[Right]:
    """Return what a person may do with a trial; the larger of farm role and share."""
    if not user.is_authenticated:
        return frozenset()
    farm = Membership.objects.filter(user=user, farm=trial.farm, role__in=[Role.OWNER, Role.ADVISER])
    roles = [*farm.values_list("role", flat=True)]
    roles += Share.objects.filter(user=user, trial=trial).values_list("role", flat=True)
    return frozenset().union(*(RIGHTS[Role(r)] for r in roles)) if roles else frozenset()


def day_link(request: HttpRequest) -> DayLink | None:
    """Return the day link this browser came in by, while it is valid."""
    number = request.session.get(DAY_LINK_SESSION)
    if number is None:
        return None
    today = timezone.localdate()
    return DayLink.objects.filter(pk=number, valid_on=today, withdrawn_at=None).select_related("trial").first()


def request_rights(request: HttpRequest, trial: Trial) -> frozenset[Right]:
    """Return what this request may do with a trial: by its person, or by its day link."""
    rights = rights_in(request.user, trial)
    if rights:
        return rights
    link = day_link(request)
    return DAY_LINK_RIGHTS if link is not None and link.trial_id == trial.pk else frozenset()


def trial_for(request: HttpRequest, slug: str, right: Right) -> Trial:
    """Return the trial a page is about.

    Parameters
    ----------
    request : HttpRequest
        Who asks.
    slug : str
        The trial's name in addresses.
    right : Right
        What the page needs.

    Raises
    ------
    NotSignedIn
        If nobody is signed in; pages then lead to the sign-in.
    Http404
        If there is no such trial, or the person may not know of it.
    PermissionDenied
        If the person may see it but not do this.
    """
    trial = Trial.objects.filter(slug=slug).select_related("farm").first()
    rights = request_rights(request, trial) if trial is not None else frozenset()
    if not rights and not request.user.is_authenticated and day_link(request) is None:
        raise NotSignedIn
    if trial is None or not rights:
        raise Http404
    if right not in rights:
        raise PermissionDenied
    return trial
