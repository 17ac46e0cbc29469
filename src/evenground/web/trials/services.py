"""What changes the store: a new trial, a trial for next year."""

from __future__ import annotations

from django.contrib.auth.base_user import AbstractBaseUser
from django.db import transaction
from django.utils.text import slugify

from evenground.adapters.new_trial import template
from evenground.adapters.plan_file import change_plan_text
from evenground.web.trials.models import Door, Farm, Trial
from evenground.web.trials.store import DatabaseStore

LONGEST_SLUG = 70


def make_trial(
    *,
    farm: Farm,
    name: str,
    season: int,
    by: AbstractBaseUser | None,
    door: str = Door.PLANNED,
    plan_text: str | None = None,
) -> Trial:
    """Make a trial with its first plan: the commented template, or a text given.

    Raises
    ------
    InputError
        If the text is not a plan; nothing is stored then.
    """
    text = plan_text if plan_text is not None else template(season)
    with transaction.atomic():
        trial = Trial.objects.create(farm=farm, slug=free_slug(name, season), name=name, season=season, door=door)
        store = DatabaseStore(trial, by)
        store.save_plan(change_plan_text(text, {"trial.name": name, "trial.season": season}))
    trial.refresh_from_db()
    return trial


def free_slug(name: str, season: int) -> str:
    """Return a name for addresses that no trial has yet."""
    wanted = slugify(f"{name}-{season}")[:LONGEST_SLUG] or f"trial-{season}"
    taken = set(Trial.objects.filter(slug__startswith=wanted).values_list("slug", flat=True))
    return next(s for n in range(1, len(taken) + 2) if (s := wanted if n == 1 else f"{wanted}-{n}") not in taken)
