"""Pages of people: sign in and out, password, invitations, roles, day links."""

from __future__ import annotations

import math
from datetime import datetime, time, timedelta

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.decorators import login_required
from django.contrib.auth.views import LoginView, LogoutView, PasswordChangeView
from django.core.exceptions import PermissionDenied, ValidationError
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from evenground.web.accounts import services, slowing
from evenground.web.accounts.access import DAY_LINK_SESSION, Right, trial_for
from evenground.web.accounts.forms import AcceptForm, DayLinkForm, InviteForm
from evenground.web.accounts.models import DayLink, Role, User
from evenground.web.accounts.secrets import hash_of
from evenground.web.accounts.selectors import farms_owned, may_renew, people_of, signed_in
from evenground.web.accounts.squares import square
from evenground.web.trials.models import Farm, Trial

LINK_SESSION = "new_link"


class SignIn(LoginView):
    """Sign in; slowed down after failures, without saying which of name and password was wrong."""

    template_name = "accounts/login.html"
    redirect_authenticated_user = True

    def post(self, request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
        """Check name and password unless this name or address has to wait."""
        name, address = request.POST.get("username", ""), request.META.get("REMOTE_ADDR", "")
        wait = slowing.wait_s(name, address)
        if wait > 0:
            form = self.get_form_class()(request)
            text = _("Too many failed tries. Wait {seconds} s and try again.").format(seconds=math.ceil(wait))
            answer = self.render_to_response(self.get_context_data(form=form, wait=text), status=429)
            answer.headers["Retry-After"] = str(math.ceil(wait))
            return answer
        return super().post(request, *args, **kwargs)

    def form_valid(self, form: Form) -> HttpResponse:
        """Forget earlier failures."""
        slowing.succeeded(self.request.POST.get("username", ""), self.request.META.get("REMOTE_ADDR", ""))
        return super().form_valid(form)  # type: ignore[arg-type]

    def form_invalid(self, form: Form) -> HttpResponse:
        """Remember the failure."""
        slowing.failed(self.request.POST.get("username", ""), self.request.META.get("REMOTE_ADDR", ""))
        return super().form_invalid(form)  # type: ignore[arg-type]


class SignOut(LogoutView):
    """Sign out; pages that this browser keeps in sight of Back go, entries that a phone keeps for the farm stay."""

    def post(self, request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
        """End the session."""
        answer = super().post(request, *args, **kwargs)
        answer.headers["Clear-Site-Data"] = '"cache"'
        return answer


class ChangePassword(PasswordChangeView):
    """Change one's password; every other session of this person ends."""

    template_name = "accounts/password.html"

    def get_success_url(self) -> str:
        """Go back to the people page."""
        messages.success(self.request, _("The password is changed. Other devices have to sign in again."))
        return reverse("accounts:people")


@never_cache
@login_required
@require_GET
def people(request: HttpRequest) -> HttpResponse:
    """Show who may do what on one's farms, and the last link made."""
    user = signed_in(request)
    link = request.session.pop(LINK_SESSION, None)
    context = {
        "farms": [people_of(f) for f in farms_owned(user)],
        "invite": InviteForm(user),
        "link": link,
        "square": square(link["address"]) if link else "",
        "network": settings.NETWORK,
        "renewable": [p for p in _people_around(user) if may_renew(user, p)],
        "memberships": user.memberships.select_related("farm"),
        "shares": user.shares.select_related("trial"),
    }
    return render(request, "accounts/people.html", context)


def _people_around(user: User) -> list[User]:
    """Return oneself and everybody with a role on one's farms, once each."""
    every = {user.pk: user}
    for farm in map(people_of, farms_owned(user)):
        every |= {m.user.pk: m.user for m in farm.members} | {s.user.pk: s.user for s in farm.shares}
    return list(every.values())


@login_required
@require_POST
def invite(request: HttpRequest) -> HttpResponse:
    """Make an invitation; its link is shown once."""
    user = signed_in(request)
    form = InviteForm(user, request.POST)
    if not form.is_valid():
        context = {"farms": [people_of(f) for f in farms_owned(user)], "invite": form}
        return render(request, "accounts/people.html", context, status=422)
    role = Role(form.cleaned_data["role"])
    on_farm = role in (Role.OWNER, Role.ADVISER)
    secret = services.invite(
        label=form.cleaned_data["label"],
        role=role,
        by=user,
        farm=form.cleaned_data["farm"] if on_farm else None,
        trial=None if on_farm else form.cleaned_data["trial"],
    )
    address = request.build_absolute_uri(reverse("accounts:accept", args=[secret]))
    request.session[LINK_SESSION] = {"for": form.cleaned_data["label"], "address": address}
    return redirect("accounts:people")


@login_required
@require_POST
def withdraw(request: HttpRequest) -> HttpResponse:
    """Take somebody's role away, on a farm or in a trial of one's own."""
    user = signed_in(request)
    person = get_object_or_404(User, pk=_number(request.POST.get("user")))
    farm, trial = _of_mine(user, request)
    try:
        services.take_role(user=person, farm=farm, trial=trial)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    return redirect("accounts:people")


@login_required
@require_POST
def renew(request: HttpRequest) -> HttpResponse:
    """Make a link by which somebody who forgot the password sets a new one; it is shown once."""
    user = signed_in(request)
    person = get_object_or_404(User, pk=_number(request.POST.get("user")), is_active=True)
    if not may_renew(user, person):
        raise Http404
    address = request.build_absolute_uri(
        reverse("accounts:accept", args=[services.renew_password(user=person, by=user)])
    )
    request.session[LINK_SESSION] = {"for": person.username, "address": address}
    return redirect("accounts:people")


def _of_mine(user: User, request: HttpRequest) -> tuple[Farm | None, Trial | None]:
    owned = farms_owned(user)
    if "farm" in request.POST:
        return get_object_or_404(owned, pk=_number(request.POST["farm"])), None
    return None, get_object_or_404(Trial, pk=_number(request.POST.get("trial")), farm__in=owned)


def _number(text: str | None) -> int:
    try:
        number = int(text or "")
    except ValueError as error:
        raise Http404 from error
    if not 0 < number < 2**31:
        raise Http404
    return number


@never_cache
@require_http_methods(["GET", "POST"])
def accept(request: HttpRequest, secret: str) -> HttpResponse:
    """Let an invited person in by the link's secret."""
    found = services.open_invitation(secret)
    if found is None:
        return render(request, "accounts/link_over.html", status=404)
    known = request.user if isinstance(request.user, User) and not request.user.local and found.user is None else None
    form = AcceptForm(request.POST or None, initial={"name": found.user.username if found.user else found.label})
    if request.method == "POST" and (known is not None or form.is_valid()):
        data = form.cleaned_data if known is None else {"name": "", "password": ""}
        try:
            person = services.accept_invitation(invitation=found, known=known, **data)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            if known is None:
                login(request, person, backend="django.contrib.auth.backends.ModelBackend")
            return redirect("/")
    status = 422 if request.method == "POST" else 200
    return render(request, "accounts/accept.html", {"form": form, "found": found, "known": known}, status=status)


@never_cache
@require_http_methods(["GET", "POST"])
def day(request: HttpRequest, secret: str) -> HttpResponse:
    """Let a driver or the weighbridge in for today: one trial, loads, weighings and as-sown events."""
    today = timezone.localdate()
    found = DayLink.objects.filter(secret_hash=hash_of(secret), valid_on=today, withdrawn_at=None)
    link = found.select_related("trial").first()
    if link is None:
        return render(request, "accounts/link_over.html", status=404)
    if request.method == "GET":
        # Entering by a button, not by the address alone: a preview of the link in a chat must not open a session.
        return render(request, "accounts/day.html", {"link": link})
    request.session.cycle_key()
    request.session[DAY_LINK_SESSION] = link.pk
    midnight = datetime.combine(today + timedelta(days=1), time())
    request.session.set_expiry(timezone.make_aware(midnight))
    return HttpResponseRedirect("/phone/")


@never_cache
@require_http_methods(["GET", "POST"])
def day_links(request: HttpRequest, slug: str) -> HttpResponse:
    """Make and withdraw the day links of a trial."""
    trial = trial_for(request, slug, Right.SHARE)
    if not isinstance(request.user, User):
        raise PermissionDenied
    form = DayLinkForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        secret = services.make_day_link(trial=trial, by=request.user, **form.cleaned_data)
        address = request.build_absolute_uri(reverse("accounts:day", args=[secret]))
        request.session[LINK_SESSION] = {"for": form.cleaned_data["label"], "address": address}
        return redirect("accounts:day_links", slug=slug)
    link = request.session.pop(LINK_SESSION, None)
    context = {
        "trial": trial,
        "form": form,
        "link": link,
        "square": square(link["address"]) if link else "",
        "links": trial.day_links.filter(valid_on__gte=timezone.localdate(), withdrawn_at=None).order_by("valid_on"),
    }
    return render(request, "accounts/day_links.html", context, status=422 if form.errors else 200)


@require_POST
def withdraw_day_link(request: HttpRequest, slug: str, number: int) -> HttpResponse:
    """End a day link at once."""
    trial = trial_for(request, slug, Right.SHARE)
    link = get_object_or_404(DayLink, pk=number, trial=trial)
    services.withdraw_day_link(link=link, at=timezone.now())
    return redirect("accounts:day_links", slug=slug)
