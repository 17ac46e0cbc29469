"""The parts of the plan as the pages divide it: sections and lists that belong together."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext_lazy as _

from evenground.basis.factors import FactorsSection
from evenground.basis.herd_plan import HerdSection
from evenground.basis.layout_plan import EffortSection, LayoutSection, SecondFieldSection, UnevennessSection
from evenground.basis.method import Machine, Method
from evenground.basis.money import MachineAccess, Prices
from evenground.basis.outcome_plan import OutcomeSection
from evenground.basis.plan import AdviceSection, PeopleSection, PriorSection, TrialSection
from evenground.basis.record import Record
from evenground.basis.season_plan import SeasonSection, SoilSection, SoilZone
from evenground.basis.sowing_plan import Agreement, SeedLot, SeedSection, SowingSection, StarterSection
from evenground.web.planning.plan_words import Words

SECTIONS: dict[str, type[Record]] = {
    "trial": TrialSection,
    "outcome": OutcomeSection,
    "seed": SeedSection,
    "starter": StarterSection,
    "sowing": SowingSection,
    "layout": LayoutSection,
    "unevenness": UnevennessSection,
    "effort": EffortSection,
    "second_field": SecondFieldSection,
    "factors": FactorsSection,
    "soil": SoilSection,
    "season": SeasonSection,
    "money": Prices,
    "herd": HerdSection,
    "prior": PriorSection,
    "advice": AdviceSection,
    "people": PeopleSection,
}

LISTS: dict[str, type[Record]] = {
    "methods": Method,
    "machines": Machine,
    "seed.lots": SeedLot,
    "money.machine_access": MachineAccess,
    "soil.zones": SoilZone,
    "people.agreements": Agreement,
}

NOT_SHOWN = ("trial.crop", "layout.seed")
"""Keys no page offers: there is one crop, and the seed is drawn."""


@dataclass(frozen=True)
class PlanPart:
    """Some sections on one page.

    Attributes
    ----------
    name : str
        In addresses.
    label : str
        On pages.
    about : str
        What it is for, in one sentence.
    sections, lists : tuple of str
        Key paths.
    """

    name: str
    label: Words
    about: Words
    sections: tuple[str, ...]
    lists: tuple[str, ...] = ()


PARTS: tuple[PlanPart, ...] = (
    PlanPart(
        "question", _("Question and outcome"), _("What you want to know and what is counted."), ("trial", "outcome")
    ),
    PlanPart("methods", _("Methods"), _("The ways of sowing that are compared."), ("factors",), ("methods",)),
    PlanPart("machines", _("Machines"), _("What they are sown and cut with."), (), ("machines",)),
    PlanPart(
        "seed",
        _("Seed and sowing day"),
        _("What is in the bags and in the band."),
        ("seed", "starter", "sowing"),
        ("seed.lots",),
    ),
    PlanPart("money", _("Money"), _("What it costs and what a tonne is worth."), ("money",), ("money.machine_access",)),
    PlanPart("herd", _("Herd and feed"), _("Who eats the crop; for days of feed."), ("herd",)),
    PlanPart(
        "season", _("Soil and season"), _("What weather and water are read with."), ("soil", "season"), ("soil.zones",)
    ),
    PlanPart(
        "people",
        _("People and agreements"),
        _("Who paid, who agreed, whom to call."),
        ("people",),
        ("people.agreements",),
    ),
    PlanPart("prior", _("Believed before, and limits of the advice"), _("Fixed with the draw."), ("prior", "advice")),
    PlanPart(
        "wishes",
        _("Wishes for the layout"),
        _("How the strips may lie and how they are weighed."),
        ("layout", "unevenness", "effort", "second_field"),
    ),
)


def part_named(name: str) -> PlanPart | None:
    """Return a part of the plan, or None."""
    return next((p for p in PARTS if p.name == name), None)


def part_of_list(path: str) -> PlanPart:
    """Return the part a list belongs to."""
    return next(p for p in PARTS if path in p.lists)
