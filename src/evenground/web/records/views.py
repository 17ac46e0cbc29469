"""Pages of records: what there is, one kind with its corrections, entry, upload, entries held from phones."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from evenground.adapters.number_style import DATE_STYLES, STYLES
from evenground.adapters.record_writing import canonical_columns
from evenground.basis.errors import InputError, problem
from evenground.basis.observations import RECORD_KINDS
from evenground.web.accounts.access import Right
from evenground.web.forms_from_records import MOST_ROWS, Row, correction_row, empty_row, typed_row
from evenground.web.record_words import kind_words
from evenground.web.records import selectors, services
from evenground.web.trial_view import Opened, show, trial_view
from evenground.web.trials.models import HeldEntry

LARGEST_TABLE_BYTES = 3_000_000
STEPS = {
    "stand_counts": "stand",
    "spacing_runs": "stand",
    "depths": "stand",
    "weather": "season",
    "events": "sowing",
    "scores": "season",
    "root_pits": "season",
    "joints": "sowing",
}
"""Step a kind of record belongs to; all others belong to the harvest."""


@require_http_methods(["GET"])
@trial_view("", drawn=False)
def overview(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Show every kind of record, and what waits to be mended."""
    context = {"kinds": selectors.kinds_seen(opened.trial), "held": selectors.held_shown(opened.trial)}
    return show(request, opened, "records/overview.html", "", context)


@require_http_methods(["GET"])
@trial_view("", drawn=False)
def kind_page(request: HttpRequest, opened: Opened, kind: str) -> HttpResponse:
    """Show the records of one kind."""
    every = "all" in request.GET
    table = selectors.shown_table(opened.trial, opened.stored.records, _known(kind), every=every)
    held = selectors.held_shown(opened.trial, kind)
    context = {"kind": kind, "words": kind_words(kind), "table": table, "held": held}
    return show(request, opened, "records/kind.html", STEPS.get(kind, "harvest"), context)


@require_http_methods(["GET", "POST"])
@trial_view("", Right.RECORD, drawn=False)
def add(request: HttpRequest, opened: Opened, kind: str) -> HttpResponse:
    """Enter records of one kind, one or several at once, or the correction of one."""
    _known(kind)
    wanted = request.POST.get("replaces") or request.GET.get("replaces") or ""
    corrected = selectors.one_record(opened.stored.records, kind, wanted) if wanted else None
    if wanted and corrected is None:
        raise Http404
    if request.method == "POST":
        rows, more = _posted_rows(request, kind), "more" in request.POST
        filled = rows if corrected is not None else [row for row in rows if not row.is_empty]
        if more:
            rows.append(_empty(request, kind, len(rows)))
        elif not filled:
            rows[0].problems.append(problem(_("nothing is filled in yet.")))
        elif (stored := services.store_rows(store=opened.store, rows=filled)) is not None:
            return _stored(request, opened, kind, stored)
    elif corrected is not None:
        rows = [correction_row(corrected, "row0", who=_name(request))]
    else:
        rows = [_empty(request, kind, i) for i in range(_wanted_rows(request))]
    context = {
        "kind": kind,
        "words": kind_words(kind),
        "rows": rows[:MOST_ROWS],
        "corrected": corrected,
        "next": _safe_next(request, opened, kind),
        "full": len(rows) >= MOST_ROWS,
    }
    status = 422 if any(row.problems for row in rows) else 200
    return show(request, opened, "records/add.html", STEPS.get(kind, "harvest"), context, status=status)


@require_http_methods(["GET", "POST"])
@trial_view("", Right.RECORD, drawn=False)
def upload(request: HttpRequest, opened: Opened, kind: str) -> HttpResponse:
    """Paste or upload a table: first shown as it was read, stored when that is right."""
    columns = canonical_columns(_known(kind))
    context: dict[str, Any] = {
        "kind": kind,
        "words": kind_words(kind),
        "columns": columns,
        "styles": list(STYLES),
        "date_styles": DATE_STYLES,
        "given": request.POST,
        "next": _safe_next(request, opened, kind),
    }
    if request.method == "POST":
        data, file = _table_of(request)
        try:
            if not data.strip():
                raise InputError([problem(_("there is no table yet: paste one or choose a file."), field="text")])
            if len(data) > LARGEST_TABLE_BYTES:
                raise InputError([problem(_("this table is too large."), allowed=_("at most 3 MB"), field="file")])
            preview = services.read_upload(
                stored=opened.stored,
                kind=kind,
                data=data,
                file=file,
                number_style=request.POST.get("number_style", ""),
                date_style=request.POST.get("date_style", ""),
            )
            if "store" in request.POST and not preview.problems:
                return _stored(request, opened, kind, services.store_upload(store=opened.store, preview=preview))
            context |= {"preview": preview, "text": data.decode("utf-8", errors="replace"), "file": file}
            context |= {"shown": [[row.get(c, "") for c in preview.table.columns] for row in preview.table.rows[:20]]}
            context |= {"problems": preview.problems}
        except InputError as error:
            context |= {"problems": error.problems, "text": request.POST.get("text", "")}
    status = 422 if context.get("problems") else 200
    return show(request, opened, "records/upload.html", STEPS.get(kind, "harvest"), context, status=status)


@require_http_methods(["GET", "POST"])
@trial_view("", Right.RECORD, drawn=False)
def held_entry(request: HttpRequest, opened: Opened, number: int) -> HttpResponse:
    """Mend an entry that came from a phone and could not be stored, or leave it out with a reason."""
    held = get_object_or_404(HeldEntry, pk=number, trial=opened.trial, settled_at=None)
    kind = held.kind if held.kind in RECORD_KINDS else ""
    problems = []
    row = empty_row(kind, "row0", now=timezone.localtime()) if kind else None
    if request.method == "POST" and "leave_out" in request.POST:
        reason = request.POST.get("reason", "").strip()
        if reason:
            person = request.user if request.user.is_authenticated else None
            services.leave_out_held(held=held, reason=reason, by=person)
            messages.success(request, _("Left out. What came stays on record, with your reason."))
            return HttpResponseRedirect(opened.url("records/"))
        problems = [problem(_("say in a few words why it is left out."), field="reason")]
    elif request.method == "POST" and row is not None:
        row = typed_row(kind, "row0", request.POST)
        if services.mend_held(store=opened.store, held=held, row=row):
            return _stored(request, opened, kind, 1)
    elif row is not None:
        row.values |= {k: v for k, v in services.held_values(held).items() if k in row.values}
    context = {"held": held, "row": row, "words": kind_words(held.kind), "problems": problems}
    return show(request, opened, "records/held.html", "", context, status=422 if problems else 200)


def _known(kind: str) -> str:
    if kind not in RECORD_KINDS:
        raise Http404
    return kind


def _name(request: HttpRequest) -> str:
    """Return how the person at the page is called in records."""
    return (request.user.get_full_name() or request.user.get_username()) if request.user.is_authenticated else ""


def _empty(request: HttpRequest, kind: str, number: int) -> Row:
    given = {k: str(v) for k, v in request.GET.items() if k in RECORD_KINDS[kind].model_fields}
    return empty_row(kind, f"row{number}", now=timezone.localtime(), who=_name(request), values=given)


def _wanted_rows(request: HttpRequest) -> int:
    text = request.GET.get("n", "1")
    return min(max(int(text), 1), MOST_ROWS) if text.isdecimal() and len(text) < 4 else 1


def _posted_rows(request: HttpRequest, kind: str) -> list[Row]:
    keys = sorted({k.split("-")[0] for k in request.POST if k.startswith("row")}, key=lambda k: (len(k), k))
    rows = [typed_row(kind, key, request.POST) for key in keys[:MOST_ROWS]]
    return rows or [_empty(request, kind, 0)]


def _table_of(request: HttpRequest) -> tuple[bytes, str]:
    """Return the table that was sent and its name: a file, or pasted text."""
    sent = request.FILES.get("file")
    if sent is not None:
        if (sent.size or 0) > LARGEST_TABLE_BYTES:
            return b"x" * (LARGEST_TABLE_BYTES + 1), str(sent.name)
        return sent.read(), str(sent.name)
    name = request.POST.get("file_name", "") or _("pasted table")
    return request.POST.get("text", "").encode(), name


def _safe_next(request: HttpRequest, opened: Opened, kind: str) -> str:
    """Return the page of this trial to go back to."""
    asked = request.POST.get("next") or request.GET.get("next") or ""
    inside = asked.startswith(opened.url()) and url_has_allowed_host_and_scheme(asked, allowed_hosts=None)
    return asked if inside else opened.url(f"records/{kind}/")


def _stored(request: HttpRequest, opened: Opened, kind: str, count: int) -> HttpResponse:
    text = ngettext("%(n)d record stored.", "%(n)d records stored.", count) % {"n": count}
    messages.success(request, text if count else _("Nothing new: all of it was stored before."))
    return HttpResponseRedirect(_safe_next(request, opened, kind))
