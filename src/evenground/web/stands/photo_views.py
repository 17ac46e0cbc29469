"""Pages that count plants from a photograph: send it, mark the scale, look at the overlay, accept or correct."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect, QueryDict
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.stand_records import SpacingRun
from evenground.stand.photo.limits import LIMITS, doubts
from evenground.stand.photo.run_records import RowTaken, run_records
from evenground.stand.photo.summary import rows_found
from evenground.web import jobs
from evenground.web.accounts.access import Right
from evenground.web.photographs import LARGEST_PHOTO_BYTES, clean_photo
from evenground.web.stands import photos
from evenground.web.trial_view import Opened, show, trial_view
from evenground.web.uploads import Upload, keep, kept, sent_file

STEP = "stand"
LONGEST_NUMBER = 6


@require_http_methods(["GET", "POST"])
@trial_view(STEP, Right.RECORD)
def send(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Take a photograph; what the camera added to it is not kept."""
    problems: tuple[Problem, ...] = ()
    if request.method == "POST":
        try:
            data, name = sent_file(request.FILES.get("file"), largest_bytes=LARGEST_PHOTO_BYTES)
            token = keep(clean_photo(data), name, opened.trial.pk)
            return HttpResponseRedirect(opened.url(f"stand/photo/{token}/"))
        except InputError as error:
            problems = error.problems
    context = {"problems": problems, "limits": LIMITS}
    return show(request, opened, "stands/photo_send.html", STEP, context, status=422 if problems else 200)


@require_http_methods(["GET"])
@trial_view(STEP, Right.RECORD)
def mark(request: HttpRequest, opened: Opened, token: str) -> HttpResponse:
    """Show the photograph, to mark both ends of something of known length."""
    upload = kept(token, opened.trial.pk)
    context = {"token": token, "name": upload.name, "given": request.GET, "problems": ()}
    return show(request, opened, "stands/photo_mark.html", STEP, context)


@require_http_methods(["GET"])
@trial_view(STEP, Right.RECORD)
def picture(request: HttpRequest, opened: Opened, token: str) -> HttpResponse:  # noqa: ARG001 - a view
    """Return the photograph itself."""
    return HttpResponse(kept(token, opened.trial.pk).data, content_type="image/jpeg")


@require_http_methods(["GET", "POST"])
@trial_view(STEP, Right.RECORD)
def plants(request: HttpRequest, opened: Opened, token: str) -> HttpResponse:
    """Find the plants, show them over the photograph, and store the rows somebody accepts."""
    upload = kept(token, opened.trial.pk)
    given = request.POST if request.method == "POST" else request.GET
    try:
        what = photos.asked(given.dict())
        found = _looked(request, opened, upload, what)
    except InputError as error:
        context = {"token": token, "name": upload.name, "given": given, "problems": error.problems}
        return show(request, opened, "stands/photo_mark.html", STEP, context, status=422)
    if isinstance(found, jobs.Job):
        return show(request, opened, "stands/photo_progress.html", STEP, {"job": found, "token": token})
    return _accept(request, opened, upload, what, found, given)


def _looked(request: HttpRequest, opened: Opened, upload: Upload, what: photos.Asked) -> photos.Looked | jobs.Job:
    """Return the plants of a photograph, or the work of finding them while it goes on."""
    key = photos.key_of(upload, what)
    if key in photos.LOOKED:
        return photos.LOOKED.get(key, _never)
    owner = ("photo", opened.trial.pk, request.user.pk, key)
    job = jobs.latest(owner)
    if job is None or job.state == "stopped":
        job = jobs.start(owner, photos.search(upload, what))
    if job.state == "failed":
        if isinstance(job.error, InputError):
            raise job.error
        raise InputError([problem(_("the plants of this photograph could not be found."), field="photo")])
    if job.state == "done":
        return job.result  # type: ignore[no-any-return]
    return job


def _never() -> photos.Looked:
    raise LookupError


def _accept(
    request: HttpRequest, opened: Opened, upload: Upload, what: photos.Asked, looked: photos.Looked, given: QueryDict
) -> HttpResponse:
    """Show the overlay; on the wish of somebody store its rows as spacing runs."""
    problems: list[Problem] = []
    found = looked.found
    changes = given.get("changes", "")
    try:
        made_by_hand = photos.read_changes(changes)
        found = photos.with_changes(looked, made_by_hand)
        if request.method == "POST" and "accept" in request.POST:
            made = run_records(
                found,
                _taken(request.POST, len(found.rows.rows)),
                opened.stored.records.spacing_runs,
                key=photos.key_of_runs(upload),
                at=_taken_at(request.POST),
                who=request.user.get_username(),
                note=photos.note_of(made_by_hand),
            )
            messages.success(request, _told(made, opened.store.append_records(made)))
            return HttpResponseRedirect(opened.url("stand/"))
    except InputError as error:
        problems = [*error.problems]
    context: dict[str, Any] = {
        "token": upload.token,
        "what": what,
        "found": found,
        "rows": rows_found(found),
        "doubts": doubts(found),
        "limits": LIMITS,
        "changes": changes,
        "taken_at": given.get("taken_at") or f"{timezone.localtime():%Y-%m-%dT%H:%M}",
        "overlay": f"{what.query}&changes={_quoted(changes)}" if not problems else what.query,
        "ruler": photos.RULER_PX,
        "scale": photos.overlay_scale(looked.photo),
        "strips": sorted(s.strip for s in opened.draw.strips),
        "given": given,
        "problems": problems,
    }
    return show(request, opened, "stands/photo_plants.html", STEP, context, status=422 if problems else 200)


def _told(made: list[SpacingRun], new: int) -> str:
    """Say how many runs were stored, and how many of them correct an earlier one."""
    if new == 0:
        return _("Nothing new: these runs are stored already.")
    text = ngettext("%(n)d run stored.", "%(n)d runs stored.", new) % {"n": new}
    corrected = sum(run.replaces is not None for run in made)
    if not corrected:
        return text
    more = ngettext(
        "%(n)d of them corrects what this photograph gave before.",
        "%(n)d of them correct what this photograph gave before.",
        corrected,
    )
    return f"{text} {more % {'n': corrected}}"


def _quoted(text: str) -> str:
    quoted = QueryDict(mutable=True)
    quoted["c"] = text
    return quoted.urlencode()[2:]


def _taken_at(given: QueryDict) -> datetime:
    """Read when the photograph was taken, in the farm's time."""
    try:
        return datetime.fromisoformat(given.get("taken_at", "")).replace(tzinfo=None)
    except ValueError as error:
        text = _("say when the photograph was taken.")
        raise InputError([problem(text, field="taken_at", given=given.get("taken_at", ""))]) from error


def _taken(given: QueryDict, rows: int) -> list[RowTaken]:
    """Read which rows are kept, and to which strip and row unit each belongs."""
    taken, problems = [], []
    for row in range(1, rows + 1):
        strip, unit = given.get(f"strip-{row}", ""), given.get(f"unit-{row}", "")
        if not strip:
            continue
        if not all(one.isdecimal() and len(one) <= LONGEST_NUMBER for one in (strip, unit or "0")):
            text = _("strip and row unit are whole numbers.")
            problems.append(problem(text, field=f"strip-{row}", given=f"{strip} {unit}".strip()[:80]))
            continue
        taken.append(RowTaken(row, int(strip), int(unit) if unit else None))
    if not taken and not problems:
        problems = [problem(_("say for at least one row which strip it is in."), field="strip")]
    if problems:
        raise InputError(problems)
    return taken


@require_http_methods(["GET"])
@trial_view(STEP, Right.RECORD)
def overlay(request: HttpRequest, opened: Opened, token: str) -> HttpResponse:
    """Draw the plants that were found over the photograph."""
    upload = kept(token, opened.trial.pk)
    try:
        looked = _looked(request, opened, upload, photos.asked(request.GET.dict()))
        if isinstance(looked, jobs.Job):
            raise Http404
        found = photos.with_changes(looked, photos.read_changes(request.GET.get("changes", "")))
    except InputError as error:
        raise Http404 from error
    return HttpResponse(photos.overlay(looked, found), content_type="image/png")


@require_http_methods(["POST"])
@trial_view(STEP, Right.RECORD)
def stop(request: HttpRequest, opened: Opened, token: str) -> HttpResponse:
    """Stop looking for plants."""
    upload = kept(token, opened.trial.pk)
    try:
        owner = ("photo", opened.trial.pk, request.user.pk, photos.key_of(upload, photos.asked(request.POST.dict())))
    except InputError as error:
        raise Http404 from error
    job = jobs.latest(owner)
    if job is not None:
        job.stop()
    return HttpResponseRedirect(opened.url(f"stand/photo/{token}/"))
