"""The first start: the person at this machine, and the demo trial to look at."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from django.db import transaction

from evenground import __version__
from evenground.adapters.demo.drawn import SEASON_SEED, draw_demo
from evenground.adapters.demo.farm import FIELD_GEOJSON, TRIAL_TOML
from evenground.adapters.demo.season import invent_season
from evenground.adapters.plan_file import read_plan
from evenground.web.accounts.models import Invitation, Membership, Role, User
from evenground.web.accounts.services import invite, make_farm
from evenground.web.trials.models import Farm, Trial
from evenground.web.trials.services import make_trial
from evenground.web.trials.store import DatabaseStore

LOCAL_NAME = "owner"
DEMO_FARM = "Demo farm (invented)"


def local_owner() -> User:
    """Return the one person at this machine, made at the first start; without a password nobody signs in as them."""
    person = User.objects.filter(local=True).first()
    if person is None:
        person = User(username=LOCAL_NAME, local=True)
        person.set_unusable_password()
        person.save()
    return person


def with_demo(owner: User, say: Callable[[str], None] = lambda _: None) -> Trial | None:
    """Put the invented demo trial into a database that holds no farm yet; None where there is one."""
    if Farm.objects.exists() or Membership.objects.exists():
        return None
    say("Making the demo trial; everything in it is invented.")
    said = read_plan(TRIAL_TOML.encode()).plan
    assert said is not None
    with transaction.atomic():
        farm = make_farm(name=DEMO_FARM, owner=owner)
        name, season = said.trial.name, said.trial.season
        trial = make_trial(farm=farm, name=name, season=season, by=owner, plan_text=TRIAL_TOML)
        store = DatabaseStore(trial, owner)
        store.save_field(FIELD_GEOJSON)
        draw, _ = draw_demo(store.load(), version=__version__)
        store.append_draw(draw)
        store.append_records(invent_season(said, draw, np.random.default_rng(SEASON_SEED)))
    return trial


def way_in() -> str | None:
    """Return the secret of a link by which the person at this machine sets a first password.

    It is their own account with all their farms, so that what was planned before phones were let in is there.

    Returns
    -------
    str or None
        None where an owner has a password already.
    """
    owners = User.objects.filter(memberships__role=Role.OWNER, is_active=True).distinct()
    if any(o.has_usable_password() for o in owners):
        return None
    Invitation.objects.filter(made_by=None, used_at=None).delete()
    return invite(label=LOCAL_NAME, role=None, by=None, user=local_owner())
