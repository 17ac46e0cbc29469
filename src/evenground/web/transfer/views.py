"""Pages of moving data: a trial out and in as one zip, records as tables, the whole farm as one file."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import (
    Http404,
    HttpRequest,
    HttpResponse,
    HttpResponseBase,
    HttpResponseRedirect,
    JsonResponse,
    StreamingHttpResponse,
)
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.observations import RECORD_KINDS
from evenground.web import jobs
from evenground.web.accounts.access import Right, trial_for
from evenground.web.accounts.models import Role, User
from evenground.web.transfer import backups, incoming, selectors, work, zips
from evenground.web.transfer.incoming import Coming
from evenground.web.trial_view import file_response
from evenground.web.trials.models import Farm

LARGEST_ZIP_BYTES = 300_000_000
"""What anybody who is signed in may send."""
LARGEST_FARM_BYTES = 100_000_000_000
"""What the person at this machine and owners of farms may send: all photographs of many years; see `incoming` for the
room it takes."""
PIECE_BYTES = 4_000_000
ZIP = "application/zip"


@never_cache
@require_GET
def move(request: HttpRequest, slug: str) -> HttpResponse:
    """Show what of a trial can be taken out."""
    trial = trial_for(request, slug, Right.PLAN)
    context = {
        "trial": trial,
        "step": "",
        "kinds": selectors.kinds_out(trial),
        "files": selectors.files_out(trial),
        "waiting": trial.held.filter(settled_at=None).count(),
    }
    return render(request, "transfer/move.html", context)


@never_cache
@require_GET
def trial_zip(request: HttpRequest, slug: str) -> HttpResponseBase:
    """Hand the whole trial over as a folder in a zip; with ``places=0`` without coordinates."""
    trial = trial_for(request, slug, Right.PLAN)
    without_places = _without_places(request)
    name = f"{trial.slug}{'-without-places' if without_places else ''}.zip"
    return _archive(zips.trial_as_zip(trial, without_places=without_places), name)


@never_cache
@require_GET
def records_table(request: HttpRequest, slug: str, kind: str) -> HttpResponse:
    """Hand the records of a kind over as a table; with ``places=0`` without coordinates."""
    trial = trial_for(request, slug, Right.PLAN)
    if kind not in RECORD_KINDS:
        raise Http404
    content = selectors.records_csv(trial, kind, without_places=_without_places(request))
    return file_response(content, f"{trial.slug}-{kind}.csv", "text/csv; charset=utf-8")


def _without_places(request: HttpRequest) -> bool:
    return request.GET.get("places") == "0"


@never_cache
@login_required
@require_GET
def backup(request: HttpRequest) -> HttpResponse:
    """Show what can be brought in and what can be kept safe."""
    return _backup_page(_person(request), request)


def _backup_page(user: User, request: HttpRequest, problems: tuple[Problem, ...] = (), at: str = "") -> HttpResponse:
    work.clear_up()
    context = {
        "own": selectors.farms_of(user, Role.OWNER),
        "farms": selectors.farms_of(user, Role.OWNER, Role.ADVISER),
        "problems": problems,
        "at": at,
        "largest_mb": LARGEST_ZIP_BYTES // 1_000_000 if _largest(user) == LARGEST_ZIP_BYTES else 0,
        "job": jobs.latest(work.owner_of(user)),
    }
    return render(request, "transfer/backup.html", context, status=422 if problems else 200)


@never_cache
@login_required
@require_GET
def farm_zip(request: HttpRequest, number: int) -> HttpResponseBase:
    """Hand everything of a farm over as one file."""
    farm = get_object_or_404(selectors.farms_of(_person(request), Role.OWNER), pk=number)
    name = f"{slugify(farm.name) or 'farm'}-{timezone.localdate():%Y-%m-%d}.evenground.zip"
    return _archive(backups.back_up(farm), name)


def _archive(pieces: Iterator[bytes], name: str) -> StreamingHttpResponse:
    """Hand an archive over while it is packed."""
    told = {"Content-Disposition": f'attachment; filename="{name}"'}
    return StreamingHttpResponse(pieces, content_type=ZIP, headers=told)


@login_required
@require_POST
def bring(request: HttpRequest) -> HttpResponse:
    """Take a trial folder in that comes as a zip."""
    user = _person(request)
    farm = _chosen_farm(request, user)
    return _take_in(request, user, "bring", lambda coming, progress: work.bring(coming, farm, user, progress))


@login_required
@require_POST
def put_back(request: HttpRequest) -> HttpResponse:
    """Restore a farm from its backup, as a farm of its own."""
    user = _person(request)
    return _take_in(request, user, "put_back", lambda coming, progress: work.put_back(coming, user, progress))


def _take_in(
    request: HttpRequest, user: User, at: str, store: Callable[[Coming, work.Progress], work.Brought]
) -> HttpResponse:
    """Store a small archive now; a large one beside the page, with progress."""
    try:
        coming = _sent(request, user)
        if coming.size > work.AT_ONCE_BYTES:
            work.look_from_outside(coming)
            work.start(user, coming, lambda progress: store(coming, progress), at)
            return HttpResponseRedirect("/backup/work/")
        brought = work.at_once(coming, lambda progress: store(coming, progress))
    except InputError as error:
        return _backup_page(user, request, error.problems, at)
    messages.success(request, brought.words)
    return HttpResponseRedirect(brought.address)


@never_cache
@login_required
@require_http_methods(["GET", "POST"])
def working(request: HttpRequest) -> HttpResponse:
    """Show how far an archive is that comes in, stop it, or say how it ended."""
    user = _person(request)
    job = jobs.latest(work.owner_of(user))
    if job is None:
        return HttpResponseRedirect("/backup/")
    if request.method == "POST":
        job.stop()
        return HttpResponseRedirect("/backup/work/")
    if job.state in ("done", "failed"):
        jobs.take(work.owner_of(user))
    if job.state == "done":
        messages.success(request, job.result.words)
        return HttpResponseRedirect(job.result.address)
    if isinstance(job.error, InputError):
        return _backup_page(user, request, job.error.problems, str(job.about))
    done = int(100 * job.step / job.total) if job.total else 0
    return render(request, "transfer/working.html", {"job": job, "done": done})


@never_cache
@login_required
@require_POST
def begin_pieces(request: HttpRequest) -> JsonResponse:
    """Make room for an archive that is sent piece by piece; ``size`` says how large it will be [B]."""
    user = _person(request)
    said = request.POST.get("size", "")
    size = int(said) if said.isascii() and said.isdigit() and len(said) < 16 else 0
    try:
        coming = incoming.begin(user.pk, size, _largest(user))
    except InputError as error:
        return JsonResponse({"problems": [_in_one(p) for p in error.problems]}, status=413)
    return JsonResponse({"token": coming.token, "piece": PIECE_BYTES})


def _in_one(one: Problem) -> str:
    return " ".join(text for text in (one.message, f"({one.given})" if one.given else "", one.allowed) if text)


@login_required
@require_POST
def add_piece(request: HttpRequest, token: str, at: int) -> JsonResponse:
    """Keep the next piece of an archive; the answer says how much is there now."""
    user = _person(request)
    coming = incoming.find(token, user.pk)
    if coming is None:
        raise Http404
    data = request.read(PIECE_BYTES + 1)
    if len(data) > PIECE_BYTES or coming.size + len(data) > _largest(user) or incoming.room_bytes() < len(data):
        return JsonResponse({"size": coming.size}, status=413)
    return JsonResponse({"size": coming.add(data, at)})


def _person(request: HttpRequest) -> User:
    """Return who is signed in; only behind `login_required`."""
    assert isinstance(request.user, User)
    return request.user


def _chosen_farm(request: HttpRequest, user: User) -> Farm:
    """Return the farm that was chosen; one where the person has a say."""
    said = request.POST.get("farm", "")
    farms = selectors.farms_of(user, Role.OWNER, Role.ADVISER)
    number = int(said) if said.isascii() and said.isdigit() and len(said) < 10 else 0
    return get_object_or_404(farms, pk=number)


def _largest(user: User) -> int:
    """Return how large an archive this person may send [B]."""
    owns = user.local or selectors.farms_of(user, Role.OWNER).exists()
    return max(LARGEST_ZIP_BYTES, LARGEST_FARM_BYTES) if owns else LARGEST_ZIP_BYTES


def _sent(request: HttpRequest, user: User) -> Coming:
    """Return the archive that was sent, in one piece or in many.

    Raises
    ------
    InputError
        If there is none, or it is too large.
    """
    if "kept" in request.POST:
        coming = incoming.find(request.POST["kept"], user.pk)
        if coming is None:
            raise Http404
        return coming
    file = request.FILES.get("file")
    if file is None:
        raise InputError([problem(_("Choose a file first."), field="file")])
    return incoming.keep(file.chunks(), user.pk, file.size or 0, LARGEST_ZIP_BYTES)
