"""Pages of the verdict: the farmer's page, the adviser's page behind it, its pictures, and everything on paper."""

from __future__ import annotations

import time
from datetime import date

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from evenground import __version__
from evenground.adapters.hand_over import FORMATS, hand_over
from evenground.adapters.html import html
from evenground.adapters.small_photo import small_photos
from evenground.basis.errors import CannotCompareError, InputError
from evenground.web import jobs
from evenground.web.border_comparison import border_drawings, border_paper, border_report, border_shown
from evenground.web.config.headers import REPORT_POLICY
from evenground.web.trial_view import Opened, file_response, not_yet, pdf_response, show, svg_response, trial_view
from evenground.web.trials.photographs import photograph_reader
from evenground.web.trials.weather_years import trial_years
from evenground.web.verdicts import paper, selectors
from evenground.web.verdicts.computed import Computed, computed

STEP = "verdict"
SOON_S = 1.5
"""A report that is set within this time is handed over at once; beyond it a page shows how far it is [s]."""
PAPERS = {"sign": "application/pdf", "ics": "text/calendar; charset=utf-8", "pack": "application/zip"}


def _today() -> date:
    return timezone.localdate()


def _found(request: HttpRequest, opened: Opened) -> Computed | HttpResponse:
    """Return the verdict, or the page that says what is missing for one."""
    error: CannotCompareError | InputError | None = None
    if opened.stored.draw is not None:
        try:
            return computed(opened, _today())
        except (CannotCompareError, InputError) as said:
            error = said
    elif (beside := border_shown(opened, _today())).weighed:
        context = {"page": beside, "pictures": opened.url("season/border/pictures/")}
        return show(request, opened, "verdicts/border.html", STEP, context)
    why = selectors.missing(opened, error)
    context = {"why": why, "border": opened.url("season/border/")}
    return show(request, opened, "verdicts/missing.html", STEP, context)


@require_http_methods(["GET"])
@trial_view(STEP, drawn=False)
def verdict_page(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Show the verdict in the fixed order of its six sentences, with its pictures and what it rests on."""
    found = _found(request, opened)
    if isinstance(found, HttpResponse):
        return found
    context = {
        "document": found.document,
        "parts": selectors.two_pages(found.verdict, found.document).first,
        "rests": selectors.rests_on(found.verdict),
        "pictures": opened.url("verdict/pictures/"),
        "photographs": opened.url("season/walk/photos/"),
        "letters": opened.stored.plan.letters,
    }
    return show(request, opened, "verdicts/verdict.html", STEP, context)


@require_http_methods(["GET"])
@trial_view(STEP, drawn=False)
def adviser(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Show what stands behind the verdict."""
    found = _found(request, opened)
    if isinstance(found, HttpResponse):
        return found
    parts = selectors.two_pages(found.verdict, found.document).adviser
    context = {"document": found.document, "parts": parts, "pictures": opened.url("verdict/pictures/")}
    return show(request, opened, "verdicts/adviser.html", STEP, context)


@require_http_methods(["GET"])
@trial_view(STEP, drawn=False)
def picture(request: HttpRequest, opened: Opened, name: str) -> HttpResponse:
    """Draw one picture of the report."""
    found = _found(request, opened)
    drawing = found.drawing(name) if isinstance(found, Computed) else None
    if drawing is None:
        raise Http404
    return svg_response(drawing)


@require_http_methods(["GET"])
@trial_view(STEP, drawn=False)
def report_html(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Show the report as one page that can be saved and handed on."""
    if opened.stored.draw is None and (beside := border_report(opened, _today())) is not None:
        return _one_page(html(beside, border_drawings(beside)))
    found = _found(request, opened)
    if isinstance(found, HttpResponse):
        return found
    drawings = {f.name: found.drawing(f.name) or "" for f in found.document.figures}
    photographs = small_photos(found.document.photographs, photograph_reader(opened.trial))
    return _one_page(html(found.document, drawings, photographs))


def _one_page(page: str) -> HttpResponse:
    response = HttpResponse(page)
    response.csp = REPORT_POLICY  # type: ignore[attr-defined]
    return response


@require_http_methods(["GET"])
@trial_view(STEP, drawn=False)
def report_pdf(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Begin to set the report; hand it over if that takes no time, else show how far it is."""
    if opened.stored.draw is None and (paper_of_border := border_paper(opened, _today())) is not None:
        return pdf_response(paper_of_border, "report.pdf")
    found = _found(request, opened)
    if isinstance(found, HttpResponse):
        return found
    job = jobs.start(
        paper.owner_of(opened.trial.pk, request.user.pk), paper.setting(found, photograph_reader(opened.trial))
    )
    end = time.monotonic() + SOON_S
    while job.state == "running" and time.monotonic() < end:
        time.sleep(0.02)
    if job.state == "done":
        return pdf_response(job.result, "report.pdf")
    return HttpResponseRedirect(opened.url(f"verdict/report/{job.token}/"))


@require_http_methods(["GET", "POST"])
@trial_view(STEP, drawn=False)
def report_progress(request: HttpRequest, opened: Opened, token: str) -> HttpResponse:
    """Show how far the report is, stop it, or hand it over."""
    job = jobs.find(paper.owner_of(opened.trial.pk, request.user.pk), token)
    if job is None or request.method == "POST":
        if job is not None:
            job.stop()
        return HttpResponseRedirect(opened.url("verdict/"))
    if "take" in request.GET and job.state == "done":
        return pdf_response(job.result, "report.pdf")
    return show(request, opened, "verdicts/progress.html", STEP, {"job": job})


@require_http_methods(["GET"])
@trial_view(STEP)
def handed_over(request: HttpRequest, opened: Opened, form: str) -> HttpResponse:
    """Hand out the sign for the field edge, the calendar or the pack for the contractor."""
    if form not in PAPERS or form not in FORMATS:
        raise Http404
    try:
        files = hand_over(opened.stored, form, version=__version__, years=trial_years(opened.trial))
    except InputError as error:
        return not_yet(request, opened.trial, STEP, problems=error.problems)
    name, content = next(iter(files.items()))
    return file_response(content, name, PAPERS[form])
