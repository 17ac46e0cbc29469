"""Pages of the field: upload, drawing, walking round it, typing its corners, and what stands in it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from evenground.adapters.field_upload import FORMS, LARGEST_UPLOAD_BYTES, read_field_upload
from evenground.adapters.outline_picture import empty_svg, outline_svg
from evenground.basis.errors import InputError, Problem, problem
from evenground.web.accounts.access import Right
from evenground.web.fields import selectors, services
from evenground.web.fields.tiles import FORM, checked_tiles, keep_tiles, tiles_of
from evenground.web.trial_view import Opened, show, svg_response, trial_view
from evenground.web.uploads import keep, kept, sent_file

STEP = "field"
UNPROCESSABLE = 422
DOUBTED = "position_checked"
WALK_STORED = "walk_stored"


@require_http_methods(["GET"])
@trial_view(STEP, drawn=False)
def field_page(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Show the field with its size and what stands in it, and the ways to get it here."""
    return _field_page(request, opened)


def _field_page(
    request: HttpRequest, opened: Opened, problems: Sequence[Problem] = (), given: dict[str, Any] | None = None
) -> HttpResponse:
    field = opened.stored.field
    context = {
        "field": selectors.field_shown(field) if field is not None else None,
        "draw": opened.stored.draw,
        "versions": opened.trial.fields.count(),
        "version": opened.trial.fields.count(),
        "problems": problems,
        "given": given or {},
        "forms": FORMS,
        # The device may forget a walk only once the farm has it.
        "walk_stored": request.session.pop(WALK_STORED, "") == opened.trial.slug,
    }
    return show(request, opened, "fields/field.html", STEP, context, status=UNPROCESSABLE if problems else 200)


@require_http_methods(["GET"])
@trial_view(STEP, drawn=False)
def picture(request: HttpRequest, opened: Opened) -> HttpResponse:  # noqa: ARG001 - a view
    """Draw the field; an empty sheet where there is none."""
    if opened.stored.field is None:
        return svg_response(empty_svg(_("There is no outline yet.")))
    shown = selectors.field_shown(opened.stored.field)
    title = _("Outline of the field, %(area)s, north up") % {"area": shown.area}
    return svg_response(outline_svg(opened.stored.field, title))


@require_http_methods(["POST"])
@trial_view(STEP, Right.PLAN, drawn=False)
def upload(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Read a file with outlines; one is stored at once, of several one chooses."""
    try:
        data, name = sent_file(request.FILES.get("file"), largest_bytes=LARGEST_UPLOAD_BYTES)
        found = read_field_upload(data, name)
    except InputError as error:
        return _field_page(request, opened, error.problems)
    problems: tuple[Problem, ...] = ()
    if found.whole or len(found.outlines) == 1:
        try:
            services.store_upload(opened=opened, found=found, chosen=[0])
            return _stored(request, opened, found.notes)
        except InputError as error:
            problems = error.problems
        if found.whole or not any(DOUBTED in p.message for p in problems):  # nothing to choose: it is not kept
            return _field_page(request, opened, problems)
    return _choose_page(request, opened, keep(data, name, opened.trial.pk), name, problems)


@require_http_methods(["POST"])
@trial_view(STEP, Right.PLAN, drawn=False)
def choose(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Store the outlines that were chosen of an upload."""
    try:
        sent = kept(request.POST.get("kept", ""), opened.trial.pk)
    except Http404:
        text = _("the file that was sent is not kept any more; send it again.")
        return _field_page(request, opened, [problem(text, field="file")])
    chosen = [int(n) for n in request.POST.getlist("outline") if n.isdecimal() and len(n) < 5]
    found = read_field_upload(sent.data, sent.name)
    try:
        services.store_upload(opened=opened, found=found, chosen=chosen, checked=DOUBTED in request.POST)
    except InputError as error:
        return _choose_page(request, opened, sent.token, sent.name, error.problems)
    return _stored(request, opened, found.notes)


def _choose_page(
    request: HttpRequest, opened: Opened, token: str, name: str, problems: Sequence[Problem] = ()
) -> HttpResponse:
    found = read_field_upload(kept(token, opened.trial.pk).data, name)
    rows = list(zip(found.outlines, selectors.choices(found).rows, strict=True))
    context = {
        "token": token,
        "name": name,
        "rows": [(i, row) for i, (_one, row) in enumerate(rows)],
        "notes": found.notes,
        "problems": problems,
        "doubted": any(DOUBTED in p.message for p in problems),
    }
    return show(request, opened, "fields/choose.html", STEP, context, status=UNPROCESSABLE if problems else 200)


def _stored(request: HttpRequest, opened: Opened, notes: Sequence[str] = ()) -> HttpResponse:
    messages.success(request, _("The field is stored. The outline before stays as it was."))
    for note in notes:
        messages.info(request, note[:1].upper() + note[1:])
    return HttpResponseRedirect(opened.url("field/"))


@require_http_methods(["POST"])
@trial_view(STEP, Right.PLAN, drawn=False)
def corners(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Store an outline typed corner by corner."""
    first = request.POST.get("order") != "lon"
    try:
        outline = services.read_corners(request.POST.get("corners", "")[:100_000], latitude_first=first)
        services.store_outlines(opened=opened, outlines=[outline], checked=DOUBTED in request.POST)
    except InputError as error:
        return _field_page(request, opened, error.problems, request.POST.dict())
    return _stored(request, opened)


# Drawing ------------------------------------------------------------------------------------------------------------


@require_http_methods(["GET"])
@trial_view(STEP, Right.PLAN, drawn=False)
def draw(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Show the map to draw the field on."""
    return _draw_page(request, opened)


def _draw_page(request: HttpRequest, opened: Opened, problems: Sequence[Problem] = (), text: str = "") -> HttpResponse:
    tiles = tiles_of(request)
    context = {
        "problems": problems,
        "tiles": tiles,
        "tiles_form": FORM,
        "roles": selectors.ROLES.items(),
        "kinds": selectors.KINDS.items(),
        "features": text or None,
        "stored": selectors.features(opened),
        "draw": opened.stored.draw,
    }
    response = show(request, opened, "fields/draw.html", STEP, context, status=UNPROCESSABLE if problems else 200)
    response.csp_tiles = tiles.origin if tiles else ""  # type: ignore[attr-defined]
    return response


@require_http_methods(["GET"])
@trial_view(STEP, drawn=False)
def features(request: HttpRequest, opened: Opened) -> HttpResponse:  # noqa: ARG001 - a view
    """Hand the field over as GeoJSON, for the map."""
    return JsonResponse(selectors.features(opened))


@require_http_methods(["POST"])
@trial_view(STEP, Right.PLAN, drawn=False)
def save(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Store the field as it was drawn."""
    text = request.POST.get("features", "")
    try:
        services.store_drawing(opened=opened, text=text)
        services.tell_history(opened=opened, text=text)
    except InputError as error:
        return _draw_page(request, opened, error.problems, text)
    return _stored(request, opened)


@require_http_methods(["POST"])
@trial_view(STEP, Right.PLAN, drawn=False)
def tiles(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Keep the address of a background for the map, or none."""
    address = request.POST.get("address", "")
    try:
        keep_tiles(request, checked_tiles(address, request.POST.get("thanks", "")) if address.strip() else None)
    except InputError as error:
        return _draw_page(request, opened, error.problems)
    return HttpResponseRedirect(opened.url("field/draw/"))


# Walking round ------------------------------------------------------------------------------------------------------


@require_http_methods(["GET"])
@trial_view(STEP, Right.PLAN, drawn=False)
def walk(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Show the page that records a walk round the field."""
    return show(request, opened, "fields/walk.html", STEP, {"places": ""})


@require_http_methods(["POST"])
@trial_view(STEP, Right.PLAN, drawn=False)
def walked(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Show what a walk gave, and store it when that is wanted."""
    places = request.POST.get("places", "")
    try:
        found = services.read_walk(places)
        if "store" in request.POST:
            checked = DOUBTED in request.POST
            services.store_outlines(opened=opened, outlines=[found.outline], checked=checked)
            request.session[WALK_STORED] = opened.trial.slug
            return _stored(request, opened)
    except InputError as error:
        context: dict[str, Any] = {"places": places, "problems": error.problems}
        return show(request, opened, "fields/walk.html", STEP, context, status=UNPROCESSABLE)
    field = selectors.as_field(found.outline)
    drawing = outline_svg(field, _("The outline as walked, north up"))
    context = {
        "found": found,
        "field": selectors.field_shown(field),
        "places": places,
        # Made of numbers and words of this program only.
        "drawing": mark_safe(drawing),
    }
    return show(request, opened, "fields/walked.html", STEP, context)
