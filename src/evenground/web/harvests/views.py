"""Pages of harvest day: strips as they come, what is missing, entries in one line, joins and how to correct one."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from evenground.adapters.harvest_pack import IN_SHORT, write_harvest_pack
from evenground.basis.errors import InputError, problem
from evenground.web.accounts.access import Right
from evenground.web.forms_from_records import Row, empty_row, read_rows, typed_row
from evenground.web.harvests import selectors, services, worth
from evenground.web.trial_view import Opened, pdf_response, show, trial_view

STEP = "harvest"
LINES: dict[str, tuple[str, ...]] = {
    "loads": ("strips", "trailer", "time", "part"),
    "weighings": ("trailer", "gross_kg", "tare_kg", "slip_net_kg", "slip", "time"),
    "samples": ("strips", "wet_g", "dry_g", "dry_matter_percent", "time"),
    "stubble": ("strips", "height_cm", "stubs", "time"),
}
"""Kinds that are entered in one line, and the fields of that line; everything else is entered on the records pages."""


@require_http_methods(["GET"])
@trial_view(STEP)
def harvest_page(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Show the day as it stands, with the lines to enter what comes next."""
    return _page(request, opened, {})


def _page(request: HttpRequest, opened: Opened, failed: dict[str, Row], status: int = 200) -> HttpResponse:
    now, who = timezone.localtime(), _name(request)
    lines = {k: failed.get(k) or empty_row(k, k, now=now, who=who) for k in LINES}
    context = {
        "live": selectors.live(opened),
        "lines": [(k, row, row.cells(LINES[k])) for k, row in lines.items()],
        "trailers": selectors.trailers(opened),
        "caution": IN_SHORT,
    }
    return show(request, opened, "harvests/harvest.html", STEP, context, status=status)


def _name(request: HttpRequest) -> str:
    return (request.user.get_full_name() or request.user.get_username()) if request.user.is_authenticated else ""


@require_http_methods(["GET"])
@trial_view(STEP)
def state(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Return what changes while the day goes on, if it changed."""
    found = selectors.live(opened)
    if request.GET.get("version") == found.version:
        return JsonResponse({"version": found.version})
    context = {"live": found, "trial": opened.trial, "may_record": Right.RECORD in opened.rights}
    pieces = {name: render_to_string(f"harvests/{name}.html", context, request) for name in ("open", "live")}
    return JsonResponse({"version": found.version, "pieces": pieces})


@require_http_methods(["POST"])
@trial_view(STEP, Right.RECORD)
def enter(request: HttpRequest, opened: Opened, kind: str) -> HttpResponse:
    """Store one line; what is wrong is said beside it and what was typed stays."""
    if kind not in LINES:
        raise Http404
    row = typed_row(kind, kind, request.POST)
    row.values["who"] = row.values["who"] or _name(request)
    records = read_rows([row])
    try:
        if not row.problems:
            opened.store.append_records(records)
            messages.success(request, _("Stored."))
            return HttpResponseRedirect(opened.url(f"harvest/#enter-{kind}"))
    except InputError as error:
        row.problems += error.problems
    return _page(request, opened, {kind: row}, status=422)


@require_http_methods(["GET", "POST"])
@trial_view(STEP, Right.RECORD)
def join(request: HttpRequest, opened: Opened, weighing_id: str) -> HttpResponse:
    """Show to which load a slip belongs and why, and let somebody who knows better say so."""
    weighing = selectors.weighing_of(opened, weighing_id)
    if weighing is None:
        raise Http404
    context: dict[str, Any] = {"weighing": weighing, "choices": selectors.join_choices(opened, weighing)}
    if request.method == "POST":
        wanted = request.POST.get("load", "")
        try:
            if wanted not in {c.id for c in context["choices"]}:
                raise InputError([problem(_("choose a load."), field="load")])
            services.correct_join(store=opened.store, weighing=weighing, load_id=wanted, who=_name(request))
            messages.success(request, _("Written down as a correction; the old weighing stays on record."))
            return HttpResponseRedirect(opened.url("harvest/#joins"))
        except InputError as error:
            context["problems"] = error.problems
    live = selectors.live(opened)
    context["now"] = next((j for j in (*live.joins, *live.orphans) if j.weighing.id == weighing_id), None)
    status = 422 if context.get("problems") else 200
    return show(request, opened, "harvests/join.html", STEP, context, status=status)


@require_http_methods(["GET"])
@trial_view(STEP, drawn=False)
def worth_page(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Say what a tonne of silage is worth as what it replaces; nothing is stored."""
    found = worth.form({a.name: request.GET[a.name] for a in worth.ASKED if a.name in request.GET})
    status = 422 if any(f.wrong for f in found.fields) else 200
    return show(request, opened, "harvests/worth.html", STEP, {"form": found}, status=status)


@require_http_methods(["GET"])
@trial_view(STEP)
def pack(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Hand out the papers of the day."""
    stored = opened.stored
    try:
        with tempfile.TemporaryDirectory(prefix="evenground-pack-") as folder:
            path = Path(folder) / "harvest-pack.pdf"
            write_harvest_pack(stored.plan, stored.field, opened.draw, stored.records, path)
            return pdf_response(path.read_bytes(), path.name)
    except InputError as error:
        for one in error.problems:
            messages.error(request, one.message)
        return HttpResponseRedirect(opened.url("harvest/"))
