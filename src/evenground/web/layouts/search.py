"""The search for layouts beside the page: what it found is kept until plan or field change."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from evenground import __version__
from evenground.adapters.earlier_yields import read_point_layers
from evenground.basis.errors import InputError, Problem
from evenground.basis.field import Field, PointLayer
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.layout.detectable import Answerable
from evenground.layout.extras import Extras, extras_of
from evenground.layout.laid_out import LaidOut, can_answer, lay_out, make_draw
from evenground.web import jobs
from evenground.web.trial_view import Opened

REHEARSAL_SEED = 0
"""Seed of the draw that is made to say what a draw would be worth; its order is shown to nobody and not kept."""


@dataclass(frozen=True)
class Found:
    """What a search found.

    Attributes
    ----------
    plan_hash : str
        Plan it was made for.
    field_number : int
        Version of the field it was made for.
    laid_out : LaidOut
        The best layout, with those for other headings.
    answer : Answerable
        Whether it can answer the question.
    extras : Extras
        History, ways side by side, earlier yields.
    rehearsal : Draw
        A draw made to know the limits and how many orders they leave; its own order is shown to nobody.
    """

    plan_hash: str
    field_number: int
    laid_out: LaidOut
    answer: Answerable
    extras: Extras
    rehearsal: Draw


def owner_of(opened: Opened) -> tuple[object, ...]:
    """Return whose search it is: one a trial."""
    return ("layout", opened.trial.pk)


def begin(opened: Opened, field: Field, now: datetime) -> jobs.Job:
    """Start a search; one that is still running for this trial is stopped."""
    plan, plan_hash, number = opened.stored.plan, opened.stored.plan_hash, field_number(opened)
    layers = layers_of(opened)

    def work(job: jobs.Job) -> Found:
        return look(plan, field, layers, plan_hash, number, now, job)

    return jobs.start(owner_of(opened), work, (plan_hash, number))


def latest(opened: Opened) -> jobs.Job | None:
    """Return the search for the plan and field as they stand, running or ended; None where there is none."""
    job = jobs.latest(owner_of(opened))
    now = (opened.stored.plan_hash, field_number(opened))
    return job if job is not None and job.about == now else None


def look(
    plan: Plan,
    field: Field,
    layers: Sequence[PointLayer],
    plan_hash: str,
    number: int,
    now: datetime,
    job: jobs.Job | None = None,
) -> Found:
    """Search, and say what a draw of the best layout would be worth.

    Raises
    ------
    DoesNotFitError
        If nothing fits, with the nearest thing that would.
    InputError
        If the plan contradicts itself.
    """
    every = [0]

    def step(left: int) -> None:
        every[0] = max(every[0], left)
        if job is not None:
            job.progress(every[0] - left, every[0])

    laid_out = lay_out(plan, field, layers=layers, on_heading=step)
    # Every heading is tried; what follows is one piece of work, so the page only says that it goes on.
    step(0)
    rehearsal: Draw = make_draw(
        plan, laid_out, seed=REHEARSAL_SEED, drawn_at=now, plan_hash=plan_hash, version=__version__
    )
    step(0)
    extras = extras_of(plan, field, rehearsal, laid_out.chosen, layers, laid_out.exposure.notes)
    answer = can_answer(plan, field, rehearsal)
    step(0)
    return Found(plan_hash, number, laid_out, answer, extras, rehearsal)


def layers_of(opened: Opened) -> tuple[PointLayer, ...]:
    """Return earlier yields and the like that lie in the trial's folder.

    Raises
    ------
    InputError
        If one cannot be read.
    """
    names = ("earlier_yields.csv", "ground_points.geojson")
    if not opened.trial.files.filter(path__in=names).exists():
        return ()
    with opened.store.as_folder() as folder:
        return read_point_layers(folder)


def field_number(opened: Opened) -> int:
    """Return the number of the field's latest version [1]."""
    return opened.trial.fields.count()


def found_for(opened: Opened) -> Found | None:
    """Return what the last search found, if it is for the plan and field as they stand."""
    job = latest(opened)
    return job.result if job is not None and isinstance(job.result, Found) else None


def problems_of(job: jobs.Job) -> tuple[Problem, ...]:
    """Return what was wrong with a search that failed."""
    return job.error.problems if isinstance(job.error, InputError) else ()
