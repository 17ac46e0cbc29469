"""Verdicts that were computed, kept while trial, records, draw and day stay the same; the oldest go first."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from evenground import __version__
from evenground.adapters.charts import draw as draw_figure
from evenground.decide.verdict import verdict
from evenground.decide.verdict_record import Verdict
from evenground.report.build import build
from evenground.report.document import Document
from evenground.web.drawing import drawn
from evenground.web.memory import Kept, Key
from evenground.web.trial_view import Opened
from evenground.web.trials.weather_years import trial_years

MOST_KEPT = 16


@dataclass
class Computed:
    """A verdict, its report and the pictures drawn of it so far.

    Attributes
    ----------
    verdict : Verdict
        Everything that was computed.
    document : Document
        The report.
    drawings : dict
        Name of a figure to its SVG.
    """

    verdict: Verdict
    document: Document
    drawings: dict[str, str] = field(default_factory=dict)

    def drawing(self, name: str) -> str | None:
        """Return a figure as SVG, drawn once; None if the report has none of this name."""
        if name not in self.drawings:
            figure = next((f for f in self.document.figures if f.name == name), None)
            if figure is None:
                return None
            self.drawings[name] = drawn(draw_figure, figure)
        return self.drawings[name]


KEPT: Kept[Computed] = Kept(MOST_KEPT)


def key_of(opened: Opened, today: date) -> Key:
    """Return what a verdict depends on: trial, plan, records, draw, field, weather of earlier years, day, program."""
    stored = opened.stored
    field_number, years = opened.trial.fields.count(), trial_years(opened.trial)
    kept = years.sha256 if years is not None else ""
    return (opened.trial.pk, stored.plan_hash, stored.records_hash, stored.draw, field_number, kept, today, __version__)


def computed(opened: Opened, today: date) -> Computed:
    """Return the verdict of a trial with its report.

    Parameters
    ----------
    opened : Opened
        The trial.
    today : date
        Stands in the report.

    Raises
    ------
    CannotCompareError
        If too little was weighed to compare anything.
    InputError
        If a record names a strip or method that does not exist.
    """
    return KEPT.get(key_of(opened, today), lambda: _compute(opened, today))


def _compute(opened: Opened, today: date) -> Computed:
    found = verdict(opened.stored, today=today, version=__version__, years=trial_years(opened.trial))
    return Computed(found, build(found, opened.stored.field))
