"""Pages of moving data: a trial out and in as one zip, records as tables, the whole farm as one file."""

from __future__ import annotations

from dataclasses import replace

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from evenground.basis.errors import InputError, Problem, problem
from evenground.basis.observations import RECORD_KINDS
from evenground.web.accounts.access import Right, trial_for
from evenground.web.accounts.models import Membership, Role, User
from evenground.web.transfer import backups, selectors, zips
from evenground.web.trial_view import file_response
from evenground.web.trials.models import Farm

LARGEST_ZIP_BYTES = 300_000_000
LARGEST_ROWS_BYTES = 40_000_000
LIMITS_HERE = replace(backups.LIMITS, whole_bytes=350_000_000, file_bytes=60_000_000)
"""What anybody who is signed in may ask of this machine's memory: as many photographs as can be sent, and all records
of hundreds of trials."""
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
    archive = zips.trial_as_zip(trial, without_places=without_places)
    return FileResponse(archive, as_attachment=True, filename=name, content_type=ZIP)


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
    context = {
        "own": selectors.farms_of(user, Role.OWNER),
        "farms": selectors.farms_of(user, Role.OWNER, Role.ADVISER),
        "problems": problems,
        "at": at,
        "largest_mb": LARGEST_ZIP_BYTES // 1_000_000,
    }
    return render(request, "transfer/backup.html", context, status=422 if problems else 200)


@never_cache
@login_required
@require_GET
def farm_zip(request: HttpRequest, number: int) -> HttpResponseBase:
    """Hand everything of a farm over as one file."""
    farm = get_object_or_404(selectors.farms_of(_person(request), Role.OWNER), pk=number)
    name = f"{slugify(farm.name) or 'farm'}-{timezone.localdate():%Y-%m-%d}.evenground.zip"
    return FileResponse(backups.back_up(farm), as_attachment=True, filename=name, content_type=ZIP)


@login_required
@require_POST
def bring(request: HttpRequest) -> HttpResponse:
    """Take a trial folder in that comes as a zip."""
    user = _person(request)
    farm = _chosen_farm(request, user)
    try:
        trial = zips.take_zip(farm=farm, file=_sent(request), by=user)
    except InputError as error:
        return _backup_page(user, request, error.problems, "bring")
    messages.success(request, _("The trial is here."))
    return HttpResponseRedirect(f"/trials/{trial.slug}/")


@login_required
@require_POST
def put_back(request: HttpRequest) -> HttpResponse:
    """Restore a farm from its backup, as a farm of its own."""
    user = _person(request)
    try:
        with transaction.atomic():
            farm = backups.restore(file=_sent(request), by=user, limits=LIMITS_HERE, most_rows_bytes=LARGEST_ROWS_BYTES)
            Membership.objects.create(user=user, farm=farm, role=Role.OWNER)
    except InputError as error:
        return _backup_page(user, request, error.problems, "put_back")
    text = _("Everything is back, as the farm “{name}”. Nothing that was here was changed.")
    messages.success(request, text.format(name=farm.name))
    return HttpResponseRedirect("/backup/")


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


def _sent(request: HttpRequest) -> UploadedFile:
    """Return the file that was sent.

    Raises
    ------
    InputError
        If there is none, or it is too large.
    """
    file = request.FILES.get("file")
    if file is None:
        raise InputError([problem(_("Choose a file first."), field="file")])
    if (file.size or 0) > LARGEST_ZIP_BYTES:
        given, allowed = f"{(file.size or 0) / 1e6:.0f} MB", f"{LARGEST_ZIP_BYTES / 1e6:g} MB"
        raise InputError([problem(_("This file is too large."), field="file", given=given, allowed=allowed)])
    return file
