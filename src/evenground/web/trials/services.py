"""What changes the store: a new trial, next year's from this one, a copy as a pattern for another farm."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping

from django.contrib.auth.base_user import AbstractBaseUser
from django.db import transaction
from django.utils import timezone
from django.utils.text import slugify

from evenground.adapters.new_trial import template
from evenground.adapters.plan_file import change_plan_text, plan_text
from evenground.basis.plan import Plan
from evenground.web.trials.models import Door, Farm, Trial
from evenground.web.trials.store import DatabaseStore

LONGEST_SLUG = 70
LONGEST_NAME = 200
OF_ONE_SEASON: Mapping[str, object] = {
    "layout.seed": None,
    "seed.lots": None,
    "sowing.soil_temperature_c": None,
    "sowing.soil_temperature_source": "",
    "soil.zones": None,
    "people.agreed": [],
    "people.agreements": None,
}
"""Keys of the plan that say something of one season, one draw or one sowing day, and what they become."""
OF_ONE_FARM = ("money", "herd", "history", "second_field", "soil", "season", "people", "sowing", "seed")
"""Sections of the plan that another farm has no business with; a pattern has them at their defaults."""
OF_ONE_FIELD = (
    "seed",
    "hazards",
    "entrance",
    "fixed_edge",
    "fixed_edge_side",
    "heading_deg",
    "first_tramline_m",
    "spreader_heading_deg",
    "first_spreader_bout_m",
)
"""Keys of the layout that belong to one field."""


def make_trial(
    *,
    farm: Farm,
    name: str,
    season: int,
    by: AbstractBaseUser | None,
    door: str = Door.PLANNED,
    plan_text: str | None = None,
    field_text: str | None = None,
    grown_from: Trial | None = None,
) -> Trial:
    """Make a trial with its first plan: the commented template, or a text given.

    Raises
    ------
    InputError
        If a text is not a plan or not a field; nothing is stored then.
    """
    text = plan_text if plan_text is not None else template(season)
    with transaction.atomic():
        trial = Trial.objects.create(
            farm=farm, slug=free_slug(name, season), name=name, season=season, door=door, grown_from=grown_from
        )
        store = DatabaseStore(trial, by)
        store.save_plan(change_plan_text(text, {"trial.name": name, "trial.season": season}))
        if field_text is not None:
            store.save_field(field_text)
    trial.refresh_from_db()
    return trial


def next_year(*, trial: Trial, by: AbstractBaseUser | None, name: str = "", with_field: bool = True) -> Trial:
    """Make next year's trial from this one: farm, machines, prices, people and wishes stay, what was seen does not.

    The draw, the day of sowing, this year's seed lots and what people agreed to belong to this year and are left out.
    Trailers and scales are told to phones from the trial this one grew from.

    Parameters
    ----------
    trial : Trial
        This year's.
    by : user or None
        Who makes it.
    name : str
        What it is called; without one the name of this year's, with the year in it moved on.
    with_field : bool
        Whether it lies in the same field.

    Raises
    ------
    InputError
        If this year's plan cannot be read.
    """
    store = DatabaseStore(trial)
    text, season = store.plan_text(), trial.season + 1
    changes = {path: value for path, value in OF_ONE_SEASON.items() if _says(text, path)}
    called = name.strip() or trial.name.replace(str(trial.season), str(season))
    with transaction.atomic():
        new = make_trial(
            farm=trial.farm,
            name=called[:LONGEST_NAME],
            season=season,
            by=by,
            plan_text=change_plan_text(text, changes),
            field_text=store.field_text() if with_field else None,
            grown_from=trial,
        )
        _share_alike(trial, new)
    return new


def as_pattern(*, trial: Trial, farm: Farm, name: str, season: int, by: AbstractBaseUser | None) -> Trial:
    """Copy question, methods, machines, layout wishes and limits of advice to a new trial, for another farm too.

    Field, place, prices, people, history of the ground and everything seen stay behind, and so do the comments in the
    plan: whoever gets the pattern learns nothing of the farm it came from.

    Raises
    ------
    InputError
        If the plan cannot be read.
    """
    said = DatabaseStore(trial).plan().model_dump(mode="json", exclude_defaults=True)
    for section in OF_ONE_FARM:
        said.pop(section, None)
    for key in OF_ONE_FIELD:
        said.get("layout", {}).pop(key, None)
    said["trial"].pop("farm", None)
    pattern = Plan.model_validate(said)
    return make_trial(farm=farm, name=name, season=season, by=by, plan_text=plan_text(pattern))


def put_away(*, trial: Trial, away: bool = True) -> None:
    """Put a trial away, or take it out again; nothing of it is lost."""
    trial.put_away_at = timezone.now() if away else None
    trial.save(update_fields=["put_away_at"])


def free_slug(name: str, season: int) -> str:
    """Return a name for addresses that no trial has yet."""
    wanted = slugify(f"{name}-{season}")[:LONGEST_SLUG] or f"trial-{season}"
    taken = set(Trial.objects.filter(slug__startswith=wanted).values_list("slug", flat=True))
    return next(s for n in range(1, len(taken) + 2) if (s := wanted if n == 1 else f"{wanted}-{n}") not in taken)


def _says(text: str, path: str) -> bool:
    """Say whether a plan's text has a key."""
    here: object = tomllib.loads(text.removeprefix("\ufeff"))
    for part in path.split("."):
        if not isinstance(here, dict) or part not in here:
            return False
        here = here[part]
    return True


def _share_alike(old: Trial, new: Trial) -> None:
    """Share a trial with the same people in the same roles."""
    for share in old.shares.all():
        share.pk, share.trial = None, new
        share.save()
