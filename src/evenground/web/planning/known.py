"""What of each part of the plan is known and what is missing, in a line."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from django.utils.translation import gettext as _

from evenground.basis.plan import Plan
from evenground.web.numbers import plain
from evenground.web.planning.parts import PARTS, PlanPart


@dataclass(frozen=True)
class PartShown:
    """A part of the plan in a line."""

    part: PlanPart
    known: str
    missing: str


def parts_shown(plan: Plan) -> list[PartShown]:
    """Return each part of the plan with what is known and what is missing."""
    return [PartShown(p, KNOWN[p.name](plan), _missing(plan).get(p.name, "")) for p in PARTS]


def _money(plan: Plan) -> str:
    money = plan.money
    said = _("A tonne is worth %(short)s %(currency)s in a short year, %(full)s in a full one.")
    short, full = plain(money.value_short_year_per_t), plain(money.value_full_year_per_t)
    return said % {"short": short, "full": full, "currency": money.currency}


def _herd(plan: Plan) -> str:
    return _("%(n)s animals.") % {"n": plain(plan.herd.heads)} if plan.herd.heads else ""


def _season(plan: Plan) -> str:
    return ", ".join(t for t in (plan.soil.texture or "", plan.season.earliness) if t).replace("_", " ")


def _prior(plan: Plan) -> str:
    prior = plan.prior
    said = {"mean": plain(prior.gain_mean_percent), "sd": plain(prior.gain_sd_percent)}
    return _("Extra yield in the long run %(mean)s %%, give or take %(sd)s %%.") % said


def _wishes(plan: Plan) -> str:
    blocks = _("as many blocks as fit") if plan.layout.blocks == "most" else _("%s blocks") % plan.layout.blocks
    said = {"m": plain(plan.layout.headland_m), "blocks": blocks}
    return _("Headland %(m)s m, %(blocks)s.") % said


KNOWN: dict[str, Callable[[Plan], str]] = {
    "question": lambda plan: plan.trial.question,
    "methods": lambda plan: "; ".join(f"{m.letter} {m.name}" for m in plan.methods),
    "machines": lambda plan: ", ".join(m.id for m in plan.machines),
    "seed": lambda plan: plan.starter.product,
    "money": _money,
    "herd": _herd,
    "season": _season,
    "people": lambda plan: " ".join(plan.people.answers[:2]),
    "prior": _prior,
    "wishes": _wishes,
}


def _missing(plan: Plan) -> dict[str, str]:
    """Say what one would miss later; a plan without it is still a plan."""
    asked = {
        "question": (not plan.trial.question, _("the question, in your own words")),
        "machines": (all(m.kind == "planter" for m in plan.machines), _("a harvester")),
        "seed": (plan.seed.thousand_kernel_weight_g is None, _("thousand-kernel weight, from the label")),
        "herd": (plan.herd.heads is None, _("animals, for days of feed")),
        "season": (not plan.soil.said, _("texture of the soil, for the water")),
        "people": (not plan.people.answers, _("what both drivers say to the settings, before the draw")),
    }
    return {name: text for name, (is_missing, text) in asked.items() if is_missing}
