"""Builds the report of a trial: verdict in, document tree out; nothing is drawn or written here."""

from __future__ import annotations

from evenground.basis.days import said_day
from evenground.basis.field import Field
from evenground.decide.verdict_record import Verdict
from evenground.report.adviser_page import adviser_page
from evenground.report.checks_page import checks_page
from evenground.report.document import Document, PageBreak
from evenground.report.feed_part import feed_part
from evenground.report.field_page import field_page
from evenground.report.for_readers import parts_for_readers
from evenground.report.front_page import front_page
from evenground.report.season_page import season_page
from evenground.report.stand_page import stand_page
from evenground.report.walk_page import walk_page

INVENTED = "Invented trial: farm, place, season and weights are made up."


def build(verdict: Verdict, field: Field | None) -> Document:
    """Return the report as a document tree: verdict, field and money, season, crop walk, adviser's page, stand, checks.

    Parameters
    ----------
    verdict : Verdict
        Everything that was computed; nothing is computed again here.
    field : Field or None
        Outline of the field for the strip map [deg].

    Returns
    -------
    Document
        In English.
    """
    trial, season, walk, stand = verdict.plan.trial, season_page(verdict), walk_page(verdict), stand_page(verdict)
    return Document(
        title=f"{trial.name}, {trial.season}",
        subtitle=" · ".join(text for text in (trial.farm, trial.question) if text),
        language="en",
        banner=INVENTED if trial.invented else "",
        footer=f"evenground {verdict.provenance.version} · {said_day(verdict.provenance.day)}",
        parts=parts_for_readers(
            (
                *front_page(verdict),
                PageBreak(),
                *field_page(verdict, field),
                *feed_part(verdict),
                *((PageBreak(), *season) if season else ()),
                *((PageBreak(), *walk) if walk else ()),
                PageBreak(),
                *adviser_page(verdict),
                PageBreak(),
                *((*stand, PageBreak()) if stand else ()),
                *checks_page(verdict),
            )
        ),
    )
