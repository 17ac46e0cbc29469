"""Pages of the way in: trials, three doors, one trial as a whole, what is due."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from evenground.basis.errors import InputError
from evenground.web.accounts.access import Right, rights_in, trial_for, visible_trials
from evenground.web.accounts.models import User
from evenground.web.accounts.selectors import signed_in
from evenground.web.accounts.services import make_farm
from evenground.web.start import already_sown, weights
from evenground.web.start.forms import NewTrialForm, farms_planned
from evenground.web.start.selectors import due_rows, overview
from evenground.web.start.weights_plan import weights_plan
from evenground.web.trials import services
from evenground.web.trials.models import Door, Trial

FIRST_PAGE = {Door.PLANNED: "plan/", Door.SOWN: "sown/", Door.WEIGHTS: "weights/"}


@login_required
@require_GET
def home(request: HttpRequest) -> HttpResponse:
    """Show the trials one may see, each with its next thing to do; the three doors."""
    user = signed_in(request)
    trials = visible_trials(user)
    here = [(t, overview(t)) for t in trials.filter(put_away_at=None)]
    context = {
        "rows": here,
        "away": trials.exclude(put_away_at=None),
        "doors": Door,
        "may_start": farms_planned(user).exists()
        or user.local
        or not (user.memberships.exists() or user.shares.exists()),
        "several_farms": user.memberships.count() > 1,
    }
    return render(request, "start/home.html", context)


@login_required
@require_http_methods(["GET", "POST"])
def new(request: HttpRequest, door: str = Door.PLANNED) -> HttpResponse:
    """Start a trial by one of the three doors."""
    if door not in Door.values:
        raise Http404
    user = signed_in(request)
    form = NewTrialForm(user, request.POST if request.method == "POST" else None, door=door)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        with transaction.atomic():
            farm = make_farm(name=data["new_farm"], owner=user) if data.get("new_farm") else data["farm"]
            season = data["season"]
            text = weights_plan(season) if door != Door.PLANNED else None
            trial = services.make_trial(farm=farm, name=data["name"], season=season, by=user, door=door, plan_text=text)
        return redirect(f"/trials/{trial.slug}/{FIRST_PAGE[Door(door)]}")
    status = 422 if request.method == "POST" else 200
    return render(request, "start/new.html", {"form": form, "door": Door(door)}, status=status)


@require_GET
def trial_page(request: HttpRequest, slug: str) -> HttpResponse:
    """Show one trial as a whole: eight steps, known, missing, next."""
    trial = trial_for(request, slug, Right.VIEW)
    rights = rights_in(request.user, trial)
    context: dict[str, object] = {
        "trial": trial,
        "found": overview(trial),
        "may_plan": Right.PLAN in rights,
        "may_share": Right.SHARE in rights,
        "held": trial.held.filter(settled_at=None).count(),
        "farms": farms_planned(request.user) if isinstance(request.user, User) else None,
    }
    return render(request, "start/trial.html", context)


@require_POST
def put_away(request: HttpRequest, slug: str) -> HttpResponse:
    """Put a trial away or take it out again; nothing of it is lost."""
    trial = trial_for(request, slug, Right.PLAN)
    services.put_away(trial=trial, away=trial.put_away_at is None)
    return redirect("start:home")


@require_POST
def next_year(request: HttpRequest, slug: str) -> HttpResponse:
    """Start next year's trial from this one."""
    trial = trial_for(request, slug, Right.PLAN)
    made = services.next_year(trial=trial, by=signed_in(request), with_field="with_field" in request.POST)
    messages.success(request, _("Farm, machines, prices and people are kept; the draw and all records are new."))
    return redirect(f"/trials/{made.slug}/plan/")


@require_POST
def pattern(request: HttpRequest, slug: str) -> HttpResponse:
    """Copy question, methods and machines to a new trial on a farm of one's own choice."""
    trial = trial_for(request, slug, Right.PLAN)
    user = signed_in(request)
    number = request.POST.get("farm", "")
    if not number.isdecimal() or len(number) > 9:
        messages.error(request, _("Choose the farm the copy goes to."))
        return redirect(f"/trials/{slug}/")
    farm = get_object_or_404(farms_planned(user), pk=int(number))
    said = "".join(c for c in request.POST.get("name", "") if c.isprintable())  # PostgreSQL keeps no zero bytes
    name = said.strip()[:80] or trial.name
    made = services.as_pattern(trial=trial, farm=farm, name=name, season=trial.season, by=user)
    return redirect(f"/trials/{made.slug}/plan/")


@login_required
@require_GET
def due_page(request: HttpRequest) -> HttpResponse:
    """Show what is late, due or missing across all trials one may see."""
    trials: list[Trial] = list(visible_trials(signed_in(request)).filter(put_away_at=None).select_related("farm"))
    rows = due_rows(trials, timezone.localdate())
    words = {"late": _("late"), "now": _("now"), "soon": _("to come"), "open": _("no date yet")}
    return render(request, "start/due.html", {"rows": [(r, words[r.state]) for r in rows]})


@require_http_methods(["GET", "POST"])
def weights_page(request: HttpRequest, slug: str) -> HttpResponse:
    """Take the weights of strips on one page, and go on to the verdict."""
    trial = trial_for(request, slug, Right.PLAN)
    rows = weights.rows_typed(request.POST) if request.method == "POST" else weights.rows_shown(trial)
    problems: tuple[object, ...] = ()
    if request.method == "POST" and "store" in request.POST:
        try:
            weights.store_weights(trial=trial, by=signed_in(request), rows=rows, said=request.POST)
            page = "verdict/" if request.POST.get("drawn") == "lot" else "season/border/"
            return redirect(f"/trials/{slug}/{page}")
        except InputError as error:
            problems = error.problems
    given = {name: text for name, text in request.POST.items() if isinstance(text, str)}
    context = {"trial": trial, "rows": rows, "problems": problems, **weights.shown(trial, given)}
    return render(request, "start/weights.html", context, status=422 if problems else 200)


@require_http_methods(["GET", "POST"])
def sown_page(request: HttpRequest, slug: str) -> HttpResponse:
    """Take strips that were sown already: how many, which method, drawn by lot or not."""
    trial = trial_for(request, slug, Right.PLAN)
    problems: tuple[object, ...] = ()
    if request.method == "POST":
        try:
            sent = {name: file for name, file in request.FILES.items() if isinstance(file, UploadedFile)}
            page = already_sown.store_strips(trial=trial, by=signed_in(request), said=request.POST, files=sent)
            return redirect(f"/trials/{slug}/{page}")
        except InputError as error:
            problems = error.problems
    given = {name: text for name, text in request.POST.items() if isinstance(text, str)}
    context = {"trial": trial, "problems": problems, "given": given, **already_sown.shown(trial, given)}
    return render(request, "start/sown.html", context, status=422 if problems else 200)
