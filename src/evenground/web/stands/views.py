"""Pages of the stand: what was counted and measured, growing space, count sheets."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_http_methods

from evenground.adapters.count_sheet import count_sheet
from evenground.web.drawing import drawn
from evenground.web.stands import selectors
from evenground.web.trial_view import Opened, pdf_response, show, svg_response, trial_view

STEP = "stand"


@require_http_methods(["GET"])
@trial_view(STEP)
def stand_page(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Show how the crop stands."""
    context = {
        "parts": selectors.stand_parts(opened),
        "space_words": selectors.space_words(opened),
        "space_table": selectors.space_table(opened),
    }
    return show(request, opened, "stands/stand.html", STEP, context)


@require_http_methods(["GET"])
@trial_view(STEP, drawn=False)
def space_picture(request: HttpRequest, opened: Opened) -> HttpResponse:  # noqa: ARG001 - a view
    """Draw the growing spaces of the methods."""
    return svg_response(drawn(selectors.space_picture, opened))


@require_http_methods(["GET"])
@trial_view(STEP)
def sheet(request: HttpRequest, opened: Opened) -> HttpResponse:  # noqa: ARG001 - a view
    """Hand out the count sheet."""
    return pdf_response(count_sheet(opened.stored.plan, opened.draw), "count-sheet.pdf")
