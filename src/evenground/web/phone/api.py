"""The end point that phones send to and ask: JSON in, JSON out, the same answer however often it is asked."""

from __future__ import annotations

import functools
import json
import logging
import re
from collections.abc import Callable, Mapping
from typing import Any, NoReturn

from django.core.exceptions import PermissionDenied, RequestDataTooBig, TooManyFilesSent
from django.db import DatabaseError
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.http.multipartparser import MultiPartParserError
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from evenground.basis.errors import InputError
from evenground.basis.observations import RECORD_KINDS
from evenground.web.accounts.access import DAY_LINK_KINDS, NotSignedIn, Right, day_link, request_rights
from evenground.web.phone import selectors
from evenground.web.phone.photos import keep_photo
from evenground.web.phone.services import plain_problem, take_entries
from evenground.web.photographs import LARGEST_PHOTO_BYTES
from evenground.web.trials.models import Trial

MOST_ENTRIES = 500
LARGEST_BODY_BYTES = 2_000_000
EVENTS_OF_THE_DAY = ("sown", "not_sown")
BUSY_S = 5

View = Callable[..., HttpResponse]
logger = logging.getLogger("django.request")


class UnreadableError(ValueError):
    """What was sent is not what this address takes."""


REFUSALS: dict[type[Exception], tuple[int, object]] = {
    NotSignedIn: (401, _("Sign in again; what is on this phone stays there.")),
    Http404: (404, _("There is no such trial.")),
    PermissionDenied: (403, _("You may look at this trial but not enter anything.")),
    RequestDataTooBig: (413, _("This is too large; send less at once.")),
    TooManyFilesSent: (413, _("This is too large; send less at once.")),
    MultiPartParserError: (400, _("This cannot be read.")),
    UnreadableError: (400, _("This cannot be read.")),
}


def answers_json(view: View) -> View:
    """Answer every fault as JSON, in words, and never with a stack trace."""

    @functools.wraps(view)
    def answer(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
        try:
            return view(request, *args, **kwargs)
        except tuple(REFUSALS) as error:
            status, message = next(said for kind, said in REFUSALS.items() if isinstance(error, kind))
            return refusal(status, message)
        except DatabaseError:
            logger.exception("the database did not answer")
            busy = refusal(503, _("The farm's computer is busy; the phone tries again."))
            busy.headers["Retry-After"] = str(BUSY_S)
            return busy

    return answer


def refusal(status: int, message: object) -> JsonResponse:
    """Say no, and why."""
    return JsonResponse({"message": str(message), "now": now()}, status=status)


def now() -> str:
    """Return the farm's time, so that a phone can tell whether its clock is wrong."""
    return timezone.localtime().isoformat(timespec="seconds")


@never_cache
@answers_json
@require_POST
def entries(request: HttpRequest) -> HttpResponse:
    """Take entries of one trial; each is answered for by itself."""
    _somebody(request)
    said = _read(request)
    sent = said.get("entries")
    if (
        not isinstance(sent, list)
        or not isinstance(said.get("trial"), str)
        or not isinstance(said.get("device", ""), str)
    ):
        raise UnreadableError
    if len(sent) > MOST_ENTRIES:
        raise RequestDataTooBig
    trial = trial_named(request, said["trial"])
    rights = request_rights(request, trial)
    person, link = (request.user, None) if request.user.is_authenticated else (None, day_link(request))
    device = f"{link.label}: {said.get('device', '')}" if link is not None else said.get("device", "")
    results = take_entries(
        trial=trial,
        entries=sent,
        by=person,
        device=device,
        may_enter=functools.partial(may_enter, rights),
    )
    return JsonResponse({"results": [r.as_dict() for r in results], "now": now()})


def may_enter(rights: frozenset[Right], kind: str, fields: Mapping[str, object]) -> bool:
    """Say whether somebody with these rights may enter this."""
    if Right.RECORD in rights:
        return True
    if Right.RECORD_DAY not in rights or kind not in DAY_LINK_KINDS:
        return False
    return kind != "events" or fields.get("event") in EVENTS_OF_THE_DAY


def trial_named(request: HttpRequest, slug: str) -> Trial:
    """Return a trial of which the phone may know.

    Raises
    ------
    Http404
        If there is none.
    """
    trial = Trial.objects.filter(slug=slug).select_related("farm").first() if slug.isprintable() else None
    if trial is None or not request_rights(request, trial):
        raise Http404
    return trial


@never_cache
@answers_json
@require_POST
def photos(request: HttpRequest) -> HttpResponse:
    """Take one photograph."""
    _somebody(request)
    if int(request.META.get("CONTENT_LENGTH") or 0) > LARGEST_PHOTO_BYTES + LARGEST_BODY_BYTES:
        raise RequestDataTooBig
    name, file = request.POST.get("id", ""), request.FILES.get("file")
    trial = trial_named(request, request.POST.get("trial", ""))
    if Right.RECORD not in request_rights(request, trial):
        raise PermissionDenied
    if file is None or not re.fullmatch(r"[A-Za-z0-9_-]{1,80}", name):
        raise UnreadableError
    if file.size is None or file.size > LARGEST_PHOTO_BYTES:
        raise RequestDataTooBig
    try:
        state = keep_photo(
            trial=trial,
            name=name,
            data=file.read(),
            by=request.user if request.user.is_authenticated else None,
            keep_place=request.POST.get("keep_place") == "1",
        )
    except InputError as error:
        said = {"id": name, "state": "refused", "problems": [plain_problem(p) for p in error.problems], "now": now()}
        return JsonResponse(said, status=415)
    return JsonResponse({"id": name, "state": state, "problems": [], "now": now()})


@never_cache
@answers_json
@require_safe
def trials(request: HttpRequest) -> HttpResponse:
    """Tell a phone all it needs without reception."""
    _somebody(request)
    return JsonResponse({"trials": selectors.trials_for_phone(request), "kinds": list(RECORD_KINDS), "now": now()})


@never_cache
@answers_json
@require_safe
def kinds(request: HttpRequest) -> HttpResponse:
    """Describe the fields of every kind of record (JSON Schema)."""
    _somebody(request)
    return JsonResponse({"kinds": selectors.kinds_told()})


@never_cache
@answers_json
@require_safe
def held(request: HttpRequest) -> HttpResponse:
    """Tell which entries wait at the farm until somebody has looked at them."""
    _somebody(request)
    return JsonResponse({"held": selectors.held_for_phone(request), "now": now()})


def _somebody(request: HttpRequest) -> None:
    """Let only somebody in who is signed in or came by a day link of today.

    Raises
    ------
    NotSignedIn
        Otherwise.
    """
    if not request.user.is_authenticated and day_link(request) is None:
        raise NotSignedIn


def _read(request: HttpRequest) -> dict[str, Any]:
    """Read the body as a JSON object.

    Raises
    ------
    RequestDataTooBig
        If it is too large.
    UnreadableError
        If it is no JSON object.
    """
    if int(request.META.get("CONTENT_LENGTH") or 0) > LARGEST_BODY_BYTES:
        raise RequestDataTooBig
    body = request.body
    if len(body) > LARGEST_BODY_BYTES:
        raise RequestDataTooBig
    try:
        said = json.loads(body, parse_constant=_no_number)
    except (ValueError, RecursionError) as error:  # also wrong UTF-8, and numbers of thousands of digits
        raise UnreadableError from error
    if not isinstance(said, dict):
        raise UnreadableError
    return said


def _no_number(name: str) -> NoReturn:
    raise ValueError(f"{name} is not a number of JSON.")
