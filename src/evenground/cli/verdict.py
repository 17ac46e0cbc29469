"""Say what the difference was, how sure that is, what it is worth and what to do next year.

Two areas side by side that were never randomised (border.csv, no strips drawn) get the answer of 'evenground border'.
"""

from __future__ import annotations

from datetime import date
from typing import Annotated

import typer

from evenground import __version__
from evenground.adapters.border_trial import border_of
from evenground.adapters.weather_years import read_years
from evenground.cli.output import note, print_json
from evenground.cli.trial_place import TrialName, TrialPath, located, store_at
from evenground.decide.border_verdict import BorderVerdict, border_verdict
from evenground.decide.feed_words import feed_sentences
from evenground.decide.verdict import verdict
from evenground.decide.verdict_json import as_dict
from evenground.decide.verdict_record import MethodVerdict, Verdict
from evenground.fairness.border_words import explained
from evenground.report.beside import beside_sentences
from evenground.report.build import INVENTED
from evenground.report.wording import signed


def run(
    trial: TrialPath = None,
    name: TrialName = None,
    as_json: Annotated[bool, typer.Option("--json", help="JSON on standard output.")] = False,
) -> None:
    """See the module docstring, which is the help text."""
    folder = located(trial, name)
    stored = store_at(folder).load()
    aside = border_of(folder, stored)
    if aside is not None:
        for text in aside.notes:
            note(text)
        beside = border_verdict(stored, aside.answer, aside.files, today=date.today(), version=__version__)
        if as_json:
            print_json(beside.as_dict())
        else:
            typer.echo("\n".join(border_lines(beside)))
        return
    found = verdict(stored, today=date.today(), version=__version__, years=read_years(folder))
    if as_json:
        print_json(as_dict(found))
    else:
        typer.echo("\n".join(in_words(found)))


def border_lines(found: BorderVerdict) -> list[str]:
    """Put the verdict on a border into lines for a screen."""
    first = [INVENTED, ""] if found.plan.trial.invented else []
    *seen, last = found.sentences
    return [*first, found.headline, "", *seen, "", *explained(found.answer), "", last]


def in_words(found: Verdict) -> list[str]:
    """Put a verdict into lines for a screen."""
    lines = [found.headline, ""]
    if found.plan.trial.invented:
        lines = [INVENTED, "", *lines]
    for text in found.not_compared.values():
        lines += [text, ""]
    for one in found.methods:
        lines += [*one.sentences, "", *_money(one), ""]
        if one.feed is not None:
            lines += [*feed_sentences(one.feed, one.budget.currency), ""]
    if found.factor_sentences:
        lines += [*found.factor_sentences, ""]
    if found.season:
        lines += [found.season, ""]
    lines += _side_results(found)
    lines += [f"{text}\n" for text in beside_sentences(found)]
    lines += [f"Strip {s.strip}: {text}" for s in found.harvest.strips for text in s.notes]
    lines += list(found.harvest.notes)
    return [*lines, "", "What one season cannot say:", *(f"  {text}" for text in found.cannot_say)]


def _side_results(found: Verdict) -> list[str]:
    """List what else was measured, with its intervals."""
    if not found.side_results:
        return []
    rows = [
        f"  {s.outcome}: {s.method} against {s.baseline} {s.difference:+.2f}, between {s.interval[0]:+.2f} and "
        f"{s.interval[1]:+.2f} {s.unit}"
        for s in found.side_results
    ]
    return ["Looked at beside it, never the verdict:", *rows, ""]


def _money(one: MethodVerdict) -> list[str]:
    """Best, likely and worst money, per hectare and on the farm."""
    money, currency = one.money, one.budget.currency
    rows = [
        ("worst", money.worst, money.worst_farm),
        ("likely", money.likely, money.likely_farm),
        ("best", money.best, money.best_farm),
    ]
    head = f"What {one.comparison.method} is worth after its extra cost ({money.level:.0%} range of the long run):"
    lines = [
        f"  {n:7} {signed(ha, 0):>7} {currency}/ha  {signed(farm, 0):>9} {currency} a year" for n, ha, farm in rows
    ]
    return [head, *lines]
