"""Pages of sowing: settings and cab cards, answers of the people, three taps a pass, the planter's log."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from evenground.adapters.cab_card import cab_card_pdf
from evenground.adapters.number_style import STYLES
from evenground.basis.errors import InputError, Problem
from evenground.web.accounts.access import Right
from evenground.web.forms_from_records import Row, empty_row, new_id, read_rows
from evenground.web.sowing import selectors, services
from evenground.web.sowing.calibration import calibrated
from evenground.web.trial_view import Opened, pdf_response, show, trial_view
from evenground.web.uploads import kept_once, sent_or_kept

STEP = "sowing"
LARGEST_LOG_BYTES = 20_000_000
TAPPED = ("event", "method", "speed_km_per_h", "stops", "rows_off", "seed_lot", "note")


@require_http_methods(["GET"])
@trial_view(STEP, drawn=False)
def settings_page(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Show settings side by side, what to buy, and what both drivers said."""
    return _settings(request, opened, ())


@require_http_methods(["POST"])
@trial_view(STEP, Right.PLAN, drawn=False)
def agree(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Write down what somebody said to the settings."""
    try:
        services.record_agreement(opened=opened, said=_said(request))
    except InputError as error:
        return _settings(request, opened, error.problems)
    messages.success(request, _("Written down."))
    return HttpResponseRedirect(opened.url("sowing/#agreed"))


def _settings(request: HttpRequest, opened: Opened, problems: tuple[Problem, ...]) -> HttpResponse:
    page = selectors.sowing_page(opened)
    context = {
        "page": page,
        "run": calibrated(opened, page.found, request.GET),
        "drawn": opened.stored.draw is not None,
        "settings_told": opened.stored.plan.trial.settings_told,
        "letters": opened.stored.plan.letters,
        "problems": problems,
        "given": request.POST,
    }
    return show(request, opened, "sowing/settings.html", STEP, context, status=422 if problems else 200)


def _said(request: HttpRequest) -> dict[str, object]:
    given = request.POST
    agrees = {"yes": True, "no": False}.get(given.get("agrees", ""))
    said: dict[str, object] = {
        "who": given.get("who", ""),
        "role": given.get("role", ""),
        "methods": tuple(given.getlist("methods")),
        "words": given.get("words", ""),
        "said_on": given.get("said_on") or None,
    }
    return said if agrees is None else {**said, "agrees": agrees}


@require_http_methods(["GET"])
@trial_view(STEP, drawn=False)
def cab_card(request: HttpRequest, opened: Opened, letter: str) -> HttpResponse:  # noqa: ARG001 - a view
    """Hand out the cab card of one method as PDF."""
    cards = selectors.sowing_page(opened).cards
    card = next((c for c in cards if c.letter == letter), None)
    if card is None:
        raise Http404
    return pdf_response(cab_card_pdf(card, tuple(c.letter for c in cards)), f"cab-card-{letter}.pdf")


@require_http_methods(["GET"])
@trial_view(STEP)
def as_sown(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Show how each strip was sown."""
    return _as_sown(request, opened, None)


@require_http_methods(["POST"])
@trial_view(STEP, Right.RECORD)
def sown(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Take what is tapped while strips are sown: one tap for a strip sown as drawn."""
    given = request.POST
    if any(e.id == given.get("id") for e in opened.stored.records.events):  # tapped twice
        return HttpResponseRedirect(opened.url("sowing/as-sown/"))
    row = _tapped(request, opened)
    records = read_rows([row])
    try:
        if not row.problems:
            opened.store.append_records(records)
            messages.success(request, _("Strip %(strip)s written down.") % {"strip": row.values["strips"]})
            return HttpResponseRedirect(opened.url("sowing/as-sown/"))
    except InputError as error:
        row.problems += error.problems
    return _as_sown(request, opened, row)


def _tapped(request: HttpRequest, opened: Opened) -> Row:
    """Return the entry that was tapped; a strip sown without another word was sown as drawn."""
    strip = request.POST.get("strip", "")
    values = {n: v for n in TAPPED if (v := request.POST.get(n, "").strip())}
    values |= {"strips": strip, "event": values.get("event", "sown"), "id": request.POST.get("id") or new_id()}
    if values["event"] == "sown" and "method" not in values:
        values["method"] = next((x.method for x in opened.draw.strips if str(x.strip) == strip), "")
    return empty_row("events", strip, now=timezone.localtime(), who=_name(request), values=values)


def _as_sown(request: HttpRequest, opened: Opened, failed: Row | None) -> HttpResponse:
    page = selectors.as_sown_page(opened)
    context = {
        "page": page,
        "waiting": [(s, new_id()) for s in page.waiting],
        "letters": opened.stored.plan.letters,
        "planters": [m.id for m in opened.stored.plan.machines if m.kind == "planter"],
        "problems": failed.problems if failed is not None else (),
        "failed": failed,
        "styles": list(STYLES),
    }
    return show(request, opened, "sowing/as_sown.html", STEP, context, status=422 if failed is not None else 200)


def _name(request: HttpRequest) -> str:
    return (request.user.get_full_name() or request.user.get_username()) if request.user.is_authenticated else ""


@require_http_methods(["POST"])
@trial_view(STEP, Right.RECORD)
def planter_log(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Read a planter's log and show what it says; keep it when that is wanted."""
    given, context = request.POST, dict[str, Any](letters=opened.stored.plan.letters, given=request.POST)
    context["planters"] = [m.id for m in opened.stored.plan.machines if m.kind == "planter"]
    context["styles"] = list(STYLES)
    try:
        sent = sent_or_kept(request, opened.trial.pk, largest_bytes=LARGEST_LOG_BYTES)
        read = services.read_log(
            opened=opened,
            data=sent.data,
            file=sent.name,
            method=given.get("method", ""),
            machine=given.get("machine", ""),
            number_style=given.get("number_style", ""),
        )
        if "store" in given:
            new = opened.store.append_records(read.entries)
            text = ngettext("%(n)d entry is new and stored.", "%(n)d entries are new and stored.", new) % {"n": new}
            messages.success(request, text)
            return HttpResponseRedirect(opened.url("sowing/as-sown/"))
        context |= {"read": read, "table": selectors.sown_table(read.strips)}
        context["sent"] = kept_once(sent, opened.trial.pk)
    except InputError as error:
        context["problems"] = error.problems
    status = 422 if context.get("problems") else 200
    return show(request, opened, "sowing/log.html", STEP, context, status=status)
