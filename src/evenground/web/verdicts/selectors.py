"""What the verdict pages show: the report's own parts, split between the farmer's page and the adviser's."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from evenground.basis.errors import CannotCompareError, InputError, Problem
from evenground.basis.plan import Plan
from evenground.decide.herd import intake_of
from evenground.decide.verdict_record import Verdict
from evenground.report.adviser_page import adviser_page
from evenground.report.document import Document, PageBreak, Part
from evenground.report.wording import first_capital
from evenground.web.harvests.selectors import live
from evenground.web.numbers import number, signed
from evenground.web.trial_view import Opened
from evenground.web.trials.models import Door


@dataclass(frozen=True)
class TwoPages:
    """The report in two: what the farmer reads first, and what stands behind it."""

    first: tuple[Part, ...]
    adviser: tuple[Part, ...]


def two_pages(found: Verdict, document: Document) -> TwoPages:
    """Cut a report where the adviser's page begins.

    Parameters
    ----------
    found : Verdict
        The verdict.
    document : Document
        The report built from it.
    """
    start = document.parts.index(adviser_page(found)[0])
    parts = document.parts
    shown = [tuple(p for p in side if not isinstance(p, PageBreak)) for side in (parts[:start], parts[start:])]
    return TwoPages(*shown)


@dataclass(frozen=True)
class Rests:
    """One thing the verdict rests on that the farmer can change."""

    label: str
    text: str
    page: str


def rests_on(found: Verdict) -> list[Rests]:
    """Return money, feeding and starting assumption as the verdict used them, each with the page to change it."""
    plan, budget = found.plan, found.main.budget
    currency = budget.currency
    money = _("%(cost)s %(currency)s/ha extra cost; one more tonne is worth %(value)s %(currency)s; %(area)s ha a year")
    rests = [
        Rests(
            _("Money"),
            money
            % {
                "cost": number(budget.chosen.extra_cost_per_ha),
                "value": number(budget.value_per_t),
                "currency": currency,
                "area": number(plan.money.area_ha, 1),
            },
            "plan/money/",
        ),
        Rests(_("Feeding"), _herd_words(plan), "plan/herd/"),
        Rests(_("Believed before the harvest"), _prior_words(found), "plan/prior/"),
    ]
    return [r for r in rests if r.text]


def _prior_words(found: Verdict) -> str:
    priors = found.comparison.priors
    if priors.gain_mean is None or priors.gain_sd is None:
        return _("nothing: every extra yield was thought as likely as any other")
    said = {"mean": signed(priors.gain_mean, 1), "sd": number(priors.gain_sd, 1), "source": priors.gain_source}
    return _("over the years %(mean)s t/ha, give or take %(sd)s (%(source)s)") % said


def _herd_words(plan: Plan) -> str:
    herd, eaten = plan.herd, intake_of(plan.herd)
    if herd.heads is None or eaten is None:
        return _("not said; so no days of feed are reckoned")
    said = {"heads": number(herd.heads), "intake": number(eaten[0], 1)}
    return _("%(heads)s animals, %(intake)s kg dry matter of this feed a day each") % said


@dataclass(frozen=True)
class Missing:
    """Why there is no verdict yet, and where to go."""

    text: str
    to_do: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()
    page: str = "harvest/"
    label: str = ""


def missing(opened: Opened, error: CannotCompareError | InputError | None) -> Missing:
    """Say what is missing before anything can be compared.

    Parameters
    ----------
    opened : Opened
        The trial.
    error : CannotCompareError, InputError or None
        What the comparison said; None where no strips were drawn.
    """
    if opened.stored.draw is None:
        if opened.trial.door != Door.PLANNED:
            text = _(
                "This trial was never drawn at random, so there is no verdict on it. A border comparison says what can "
                "be said."
            )
            return Missing(text, page="season/border/", label=_("To the border comparison"))
        text = _("The strips are not drawn yet. First the layout, then the season, then the verdict.")
        return Missing(text, page="layout/", label=_("To the layout"))
    if isinstance(error, InputError):
        return Missing(
            _("Something contradicts something else."),
            problems=error.problems,
            page="records/",
            label=_("To the records"),
        )
    text = first_capital(str(error))
    return Missing(text, to_do=live(opened).to_do, label=_("To the harvest"))
