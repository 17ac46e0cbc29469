"""Pages of the season: weather and water, what to do when, was it fair, the border comparison."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from evenground.adapters.charts import draw as draw_figure
from evenground.adapters.number_style import DATE_STYLES, STYLES
from evenground.basis.errors import InputError, Problem
from evenground.season.quality import in_runs
from evenground.web.accounts.access import Right
from evenground.web.border_comparison import border_paper, border_picture, border_shown
from evenground.web.drawing import drawn
from evenground.web.record_words import field_words
from evenground.web.seasons import selectors, services
from evenground.web.trial_view import Opened, file_response, pdf_response, show, svg_response, trial_view
from evenground.web.uploads import kept_once, sent_file, sent_or_kept

STEP = "season"
LARGEST_WEATHER_BYTES = 10_000_000  # hours of ten years; more takes more memory to read than a small machine has
LARGEST_BORDER_BYTES = 20_000_000
SHOWN_DOUBTS = 30


@require_http_methods(["GET"])
@trial_view(STEP)
def season_page(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Show what weather and water the crop got, and what is to be done when."""
    context = {
        "page": selectors.season_shown(opened, timezone.localdate()),
        "pictures": opened.url("season/pictures/"),
        "styles": list(STYLES),
        "date_styles": DATE_STYLES,
    }
    return show(request, opened, "seasons/season.html", STEP, context)


@require_http_methods(["GET"])
@trial_view(STEP)
def picture(request: HttpRequest, opened: Opened) -> HttpResponse:  # noqa: ARG001 - a view
    """Draw the season."""
    figure = selectors.season_picture(selectors.summary_of(opened))
    if figure is None:
        raise Http404
    return svg_response(drawn(draw_figure, figure))


@require_http_methods(["GET"])
@trial_view(STEP)
def agenda(request: HttpRequest, opened: Opened) -> HttpResponse:  # noqa: ARG001 - a view
    """Hand out what is to be done as a calendar file."""
    return file_response(selectors.calendar_of(opened), "agenda.ics", "text/calendar; charset=utf-8")


@require_http_methods(["POST"])
@trial_view(STEP, Right.RECORD, drawn=False)
def weather(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Read a station's file and show what it says; keep its days when that is wanted."""
    given = request.POST
    context: dict[str, Any] = {"given": given, "styles": list(STYLES), "date_styles": DATE_STYLES}
    try:
        sent = sent_or_kept(request, opened.trial.pk, largest_bytes=LARGEST_WEATHER_BYTES)
        read = services.read_weather(
            opened=opened,
            data=sent.data,
            file=sent.name,
            number_style=given.get("number_style", ""),
            date_style=given.get("date_style", ""),
        )
        if "store" in given:
            new = services.keep_weather(opened=opened, read=read)
            text = ngettext("%(n)d day of weather stored.", "%(n)d days of weather stored.", new) % {"n": new}
            messages.success(request, text)
            return HttpResponseRedirect(opened.url("season/" if opened.stored.draw is not None else "season/border/"))
        context |= {"read": read, "columns": [(field_words(n), c) for n, c in read.read.columns.items()]}
        context["sent"] = kept_once(sent, opened.trial.pk)
        context["doubts"] = selectors.doubts_table(read.doubted, SHOWN_DOUBTS) if read.doubted else None
        context["more_doubts"] = max(0, len(in_runs(read.doubted)) - SHOWN_DOUBTS)
    except InputError as error:
        context["problems"] = error.problems
    status = 422 if context.get("problems") else 200
    return show(request, opened, "seasons/weather.html", STEP, context, status=status)


@require_http_methods(["GET"])
@trial_view(STEP)
def fairness_page(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Show what should have been alike for all methods, and whether it was."""
    return show(request, opened, "seasons/fairness.html", STEP, {"page": selectors.fairness_shown(opened)})


@require_http_methods(["GET"])
@trial_view(STEP, drawn=False)
def border_page(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Compare two neighbouring areas that were never randomised; the answer is always: cannot tell."""
    return _border(request, opened, ())


@require_http_methods(["GET"])
@trial_view(STEP, drawn=False)
def picture_of_border(request: HttpRequest, opened: Opened) -> HttpResponse:  # noqa: ARG001 - a view
    """Draw both sides of the border and the step between them."""
    picture = border_picture(opened, timezone.localdate())
    if picture is None:
        raise Http404
    return svg_response(picture)


@require_http_methods(["GET"])
@trial_view(STEP, drawn=False)
def paper_of_border(request: HttpRequest, opened: Opened) -> HttpResponse:  # noqa: ARG001 - a view
    """Hand out the report on the border."""
    paper = border_paper(opened, timezone.localdate())
    if paper is None:
        raise Http404
    return pdf_response(paper, "border.pdf")


@require_http_methods(["POST"])
@trial_view(STEP, Right.PLAN, drawn=False)
def keep_border(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Keep a table of yields or weights on both sides of a border."""
    try:
        data, _name = sent_file(request.FILES.get("file"), largest_bytes=LARGEST_BORDER_BYTES)
        services.keep_border(opened=opened, data=data, number_style=request.POST.get("number_style", ""))
    except InputError as error:
        return _border(request, opened, error.problems)
    messages.success(request, _("Read and kept."))
    return HttpResponseRedirect(opened.url("season/border/"))


def _border(request: HttpRequest, opened: Opened, problems: tuple[Problem, ...]) -> HttpResponse:
    context = {
        "styles": list(STYLES),
        "problems": problems,
        "page": border_shown(opened, timezone.localdate()),
        "pictures": opened.url("season/border/pictures/"),
        "drawn": opened.stored.draw is not None,
        "date_styles": DATE_STYLES,
    }
    return show(request, opened, "seasons/border.html", STEP, context, status=422 if problems else 200)
