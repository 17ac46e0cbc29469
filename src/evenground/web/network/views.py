"""Pages that connect phones: the few steps, the one-time code."""

from __future__ import annotations

import math

from django.conf import settings
from django.contrib.auth import login
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from evenground.web.accounts import services, slowing
from evenground.web.accounts.forms import CodeForm
from evenground.web.accounts.secrets import code_typed
from evenground.web.accounts.selectors import signed_in
from evenground.web.accounts.squares import square
from evenground.web.network.doorstep import install_steps

CODE_SESSION = "new_code"
NOBODY = "a code"


@never_cache
@login_required
@require_GET
def phones(request: HttpRequest) -> HttpResponse:
    """Show how a phone comes in: trust, address, code."""
    code = request.session.pop(CODE_SESSION, "")
    doorstep, fingerprint = settings.DOORSTEP, settings.AUTHORITY_FINGERPRINT
    pair_address = request.build_absolute_uri(reverse("network:pair_with", args=[code])) if code else ""
    context = {
        "network": settings.NETWORK,
        "doorstep": doorstep,
        "doorstep_square": square(doorstep) if doorstep else "",
        "fingerprint": fingerprint.split(":"),
        "steps": install_steps(),
        "code": code,
        "pair_square": square(pair_address) if code else "",
    }
    return render(request, "network/phones.html", context)


@login_required
@require_POST
def make_code(request: HttpRequest) -> HttpResponse:
    """Make a code for one phone; it is shown once."""
    request.session[CODE_SESSION] = services.make_pairing_code(user=signed_in(request))
    return redirect("network:phones")


@never_cache
@require_http_methods(["GET", "POST"])
def pair(request: HttpRequest, code: str = "") -> HttpResponse:
    """Sign a phone in by its code; by a button, so that a preview of the link does not spend the code."""
    form = CodeForm(request.POST or None, initial={"code": code})
    if request.method == "GET":
        return render(request, "network/pair.html", {"form": form})
    address = request.META.get("REMOTE_ADDR", "")
    wait = slowing.wait_s(NOBODY, address)
    if wait > 0:
        text = _("Too many failed tries. Wait {seconds} s and try again.").format(seconds=math.ceil(wait))
        return render(request, "network/pair.html", {"form": form, "wait": text}, status=429)
    person = services.use_pairing_code(code_typed(form.cleaned_data["code"])) if form.is_valid() else None
    if person is None:
        slowing.failed(NOBODY, address)
        context = {"form": form, "wait": _("There is no such open code. Codes work once, for ten minutes.")}
        return render(request, "network/pair.html", context, status=422)
    slowing.succeeded(NOBODY, address)
    login(request, person, backend="django.contrib.auth.backends.ModelBackend")
    return redirect("/phone/")
