"""What the season pages show: weather, heat, stages and water, the agenda, the fairness checks, the border."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from evenground.adapters.export.calendar import Due, calendar
from evenground.fairness.check import Check
from evenground.fairness.checks import fairness, total_bias, without_size
from evenground.harvest.strips import harvest
from evenground.report.document import Bullets, Column, Figure, Heading, Paragraph, Part, Table
from evenground.report.season_page import COMPUTED, heat_table, season_figure, water_table, weaker
from evenground.report.season_picture import season_days
from evenground.report.wording import NONE, STAGE_WORDS, first_capital, sentence
from evenground.season.agenda import Task
from evenground.season.quality import Doubt, DoubtRun, in_runs
from evenground.season.summary import SeasonSummary, season_summary
from evenground.web.numbers import day, plain, span
from evenground.web.record_words import field_words, unit_words
from evenground.web.trial_view import Opened
from evenground.web.trials.weather_years import trial_years

STATES = {
    "alike": gettext_lazy("alike"),
    "differs": gettext_lazy("differs"),
    "unknown": gettext_lazy("not known"),
}
STAGE_STATES = {
    "passed": gettext_lazy("passed"),
    "under way": gettext_lazy("under way"),
    "ahead": gettext_lazy("ahead"),
    "not reached": gettext_lazy("not reached"),
}


def summary_of(opened: Opened) -> SeasonSummary:
    """Return what is known of the season."""
    place = opened.centre
    stored = opened.stored
    years = trial_years(opened.trial)
    long = years.weather if years is not None else None
    return season_summary(stored.plan, opened.draw, stored.records, place[0] if place else None, long)


@dataclass(frozen=True)
class SeasonShown:
    """The season page in pieces."""

    sentence: str
    parts: tuple[Part, ...]
    agenda: Table | None
    due_now: tuple[Task, ...]
    doubts: Table | None
    has_weather: bool


def season_shown(opened: Opened, today: date) -> SeasonShown:
    """Return the season in plain sentences, a picture with its numbers, and what is to be done when.

    Parameters
    ----------
    opened : Opened
        The trial.
    today : date
        For what is due now.
    """
    found = summary_of(opened)
    due = [t for t in found.agenda if t.first is not None and t.first <= today <= (t.last or t.first)]
    return SeasonShown(
        sentence=found.sentence,
        parts=tuple(_season_parts(found)),
        agenda=agenda_table(found.agenda) if found.agenda else None,
        due_now=tuple(due),
        doubts=doubts_table(found.doubts) if found.doubts else None,
        has_weather=found.known is not None,
    )


def _season_parts(found: SeasonSummary) -> list[Part]:
    parts: list[Part] = []
    if found.weather is not None:
        parts.append(Paragraph(found.weather.sentence))
    figure = season_picture(found)
    if figure is not None:
        parts.append(figure)
    if apart := tuple(s.sentence for s in found.same_heat):
        parts.append(Bullets(apart))
    if found.stages:
        parts.append(stage_table(found))
    if found.heat:
        parts.append(heat_table(found))
    if found.water:
        parts += [water_table(found.water), Paragraph(COMPUTED, "small")]
    if weak := weaker(found):
        parts += [Heading(_("Missing, or weaker because")), Bullets(weak)]
    return parts


def season_picture(found: SeasonSummary) -> Figure | None:
    """Return crop, water and rain on one time axis; None where there is nothing to draw."""
    picture = season_days(found)
    return season_figure(picture) if picture is not None else None


def stage_table(found: SeasonSummary) -> Table:
    """Return the stages of each method with the days they lie in."""
    columns = (Column(_("Method")), Column(_("Stage")), Column(_("From")), Column(_("To")), Column(_("State")))
    rows = tuple(
        (
            s.method,
            STAGE_WORDS.get(s.stage, s.stage),
            day(s.first),
            day(s.last),
            str(STAGE_STATES.get(s.state, s.state)),
        )
        for s in found.stages
    )
    return Table(_("Stages, reckoned from the heat since sowing"), columns, rows)


def agenda_table(tasks: tuple[Task, ...]) -> Table:
    """Return what is to be done when."""
    columns = (Column(_("What to do")), Column(_("From")), Column(_("To")), Column(_("Mind")))
    return Table(_("What to do when"), columns, tuple((t.what, day(t.first), day(t.last), t.why) for t in tasks))


def doubts_table(doubts: tuple[Doubt, ...], most: int | None = None) -> Table:
    """Return weather values nobody should build on yet, days in a row together, each with the reason."""
    columns = (Column(_("Day")), Column(_("Value")), Column(_("As given"), "", "right"), Column(_("Why it is doubted")))
    rows = tuple(
        (_doubted_days(r), str(field_words(r.name)), f"{_given(r)} {unit_words(r.name)}".strip(), sentence(r.reason))
        for r in in_runs(doubts)[:most]
    )
    note = _("Left out until somebody looks at them: correct the day, or tick that it is right as it stands.")
    return Table(_("Doubtful weather"), columns, rows, note)


def _doubted_days(run: DoubtRun) -> str:
    if run.days == 1:
        return day(run.first)
    return _("%(first)s to %(last)s") % {"first": day(run.first), "last": day(run.last)}


def _given(run: DoubtRun) -> str:
    if run.low == run.high:
        return plain(run.low)
    return _("%(first)s to %(last)s") % {"first": plain(run.low), "last": plain(run.high)}


def calendar_of(opened: Opened) -> bytes:
    """Return the agenda as a calendar file."""
    plan, found = opened.stored.plan, summary_of(opened)
    tasks = [Due(f"{plan.trial.name}: {t.what}", t.why, t.first, t.last, f"season-{t.key}") for t in found.agenda]
    return calendar(plan, opened.draw, (), tasks)


# Fairness


@dataclass(frozen=True)
class FairnessShown:
    """The fairness page in pieces."""

    differs: tuple[Check, ...]
    parts: tuple[Part, ...]


def fairness_shown(opened: Opened) -> FairnessShown:
    """Return what should have been alike, whether it was, what it could be worth and what to do."""
    stored = opened.stored
    found = harvest(stored.plan, opened.draw, stored.records)
    checks = fairness(stored.plan, opened.draw, stored.records, found, stored.field)
    several = len({c.method for c in checks}) > 1
    parts = [fairness_table(checks, several=several), Paragraph(_together(checks)), *_sources(checks)]
    differs = tuple(c for c in checks if c.state == "differs" and not c.part_of_question)
    return FairnessShown(differs, tuple(parts))


def fairness_table(checks: tuple[Check, ...], *, several: bool) -> Table:
    """Return the checks: what differs first, then what is not known, then what was alike."""
    order = {"differs": 0, "unknown": 1, "alike": 2}
    columns = (
        Column(_("Looked at")),
        Column(_("State")),
        Column(_("Found")),
        Column(_("Could move the extra yield by"), "t/ha"),
        Column(_("Why it matters, and what to do")),
    )
    rows = tuple(
        (
            first_capital(c.item) + (f" ({c.method})" if several else ""),
            _state(c),
            first_capital(c.found) or NONE,
            NONE if c.part_of_question or c.state == "alike" else _size(c),
            " ".join(sentence(text) for text in (c.why, "" if c.part_of_question else c.action) if text),
        )
        for c in sorted(checks, key=lambda c: (c.part_of_question, order[c.state]))
    )
    return Table(_("What should be alike for all methods"), columns, rows)


def _state(check: Check) -> str:
    if check.part_of_question and check.state == "differs":
        return _("differs: part of the question")
    return str(STATES[check.state])


def _size(check: Check) -> str:
    return _("size not known") if check.bias_t_per_ha is None else span(check.bias_t_per_ha)


def _together(checks: tuple[Check, ...]) -> str:
    sized = any(c.bias_t_per_ha is not None and c.state == "differs" and not c.part_of_question for c in checks)
    text = (
        _("All sizes together: %s t/ha.") % span(total_bias(checks))
        if sized
        else _("Nothing that differs has a known size.")
    )
    unsized = dict.fromkeys(c.item for c in without_size(checks))
    if unsized:
        text += " " + _("Not in it, because no size is known: %s.") % ", ".join(unsized)
    return text


def _sources(checks: tuple[Check, ...]) -> list[Part]:
    named = dict.fromkeys(
        f"{first_capital(c.item)}: {c.source}" for c in checks if c.bias_t_per_ha is not None and c.source
    )
    return [Heading(_("Where the sizes come from")), Bullets(tuple(named))] if named else []
