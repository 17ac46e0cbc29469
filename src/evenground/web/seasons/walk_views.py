"""Pages of the crop walk: scoring with the method hidden, and what was seen."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from evenground.adapters.score_sheet import score_sheet
from evenground.basis.errors import Problem, problem
from evenground.season.score_list import CAUTION, SCALE
from evenground.web.accounts.access import Right
from evenground.web.record_words import field_words, unit_words
from evenground.web.records.services import store_rows
from evenground.web.seasons import walk
from evenground.web.trial_view import Opened, pdf_response, show, trial_view

STEP = "season"


@require_http_methods(["GET", "POST"])
@trial_view(STEP, Right.RECORD)
def score(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Show the strips by number alone, and take what is scored."""
    problems: list[Problem] = []
    who = request.user.get_username()
    now = timezone.localtime()
    if request.method == "POST":
        rows = walk.typed_list(opened, request.POST.dict(), who=who)
        filled = walk.scored(rows)
        if not filled:
            problems = [problem(_("nothing is scored yet."))]
        elif (new := store_rows(store=opened.store, rows=filled)) is not None:
            text = ngettext("%(n)d strip scored.", "%(n)d strips scored.", new) % {"n": new}
            messages.success(request, text)
            return HttpResponseRedirect(opened.url("season/walk/"))
        problems += [p for one in filled for p in one.other_problems]
    else:
        rows = walk.empty_list(opened, now=now, who=who)
    failed = bool(problems) or any(one.row.problems for one in rows)
    context = {
        "heads": [(field_words(n), unit_words(n)) for n in walk.COLUMNS],
        "rows": [(one.spot, one.row, one.row.cells(walk.COLUMNS)) for one in rows],
        "problems": problems,
        "time": request.POST.get("time") or f"{now:%Y-%m-%dT%H:%M}",
        "who": request.POST.get("who", who),
        "hidden": request.method == "GET" or request.POST.get("hidden") == "true",
        "texts": (SCALE, CAUTION),
    }
    return show(request, opened, "seasons/score.html", STEP, context, status=422 if failed else 200)


@require_http_methods(["GET"])
@trial_view(STEP)
def seen(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Show what was seen on crop walks."""
    return show(
        request,
        opened,
        "seasons/walk.html",
        STEP,
        {"parts": walk.seen_parts(opened), "photographs": opened.url("season/walk/photos/")},
    )


@require_http_methods(["GET"])
@trial_view(STEP)
def sheet(request: HttpRequest, opened: Opened) -> HttpResponse:  # noqa: ARG001 - a view
    """Hand out the sheet to score on, methods left out."""
    return pdf_response(score_sheet(opened.stored.plan, opened.draw, opened.stored.records), "crop-walk.pdf")


@require_http_methods(["GET"])
@trial_view(STEP)
def photograph(request: HttpRequest, opened: Opened, name: str) -> HttpResponse:  # noqa: ARG001 - a view
    """Show a photograph of the walk, small and without what the camera added."""
    small = walk.photograph(opened, name)
    if small is None:
        raise Http404
    return HttpResponse(small, content_type="image/jpeg")
