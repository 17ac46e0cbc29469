"""Pages of the plan: question and methods, each part as a form, lists, earlier versions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from evenground.basis.errors import InputError, Problem
from evenground.web.accounts.access import Right
from evenground.web.planning import selectors, services
from evenground.web.planning.known import parts_shown
from evenground.web.planning.parts import LISTS, SECTIONS, PlanPart, part_named, part_of_list
from evenground.web.planning.plan_fields import (
    PlanField,
    default_of,
    read_changes,
    to_default,
    typed_into,
    with_problems,
)
from evenground.web.planning.selectors import Group
from evenground.web.trial_view import Opened, show, trial_view

STEP = "plan"
UNPROCESSABLE = 422


@require_http_methods(["GET"])
@trial_view(STEP, drawn=False)
def plan_page(request: HttpRequest, opened: Opened) -> HttpResponse:
    """Show the question, the methods side by side, and what of the plan is known and missing."""
    plan = opened.stored.plan
    context = {
        "plan": plan,
        "methods": selectors.methods_table(plan),
        "parts": parts_shown(plan),
        "late": selectors.changed_after_draw(opened),
        "draw": opened.stored.draw,
        "versions": opened.trial.plans.count(),
    }
    return show(request, opened, "planning/plan.html", STEP, context)


# A part of the plan


@require_http_methods(["GET"])
@trial_view(STEP, drawn=False)
def part_page(request: HttpRequest, opened: Opened, name: str) -> HttpResponse:
    """Show a part of the plan as a form."""
    part = _part(name)
    return _show_part(request, opened, part, selectors.groups(opened.stored.plan, part))


@require_http_methods(["POST"])
@trial_view(STEP, Right.PLAN, drawn=False)
def change_part(request: HttpRequest, opened: Opened, name: str) -> HttpResponse:
    """Store what was changed in a part of the plan, or bring one value back to its default."""
    part = _part(name)
    groups = selectors.groups(opened.stored.plan, part)
    groups = tuple(replace(g, fields=typed_into(g.fields, request.POST)) for g in groups)
    fields = [f for g in groups for f in g.fields]
    changes, problems = read_changes(fields)
    back = request.POST.get("default", "")
    if back:
        changes[back] = _default(fields, back)
        problems = [p for p in problems if p.field != back]
    try:
        _change(request, opened, changes, problems)
    except InputError as error:
        return _show_part(request, opened, part, groups, error.problems)
    return HttpResponseRedirect(opened.url(f"plan/{part.name}/" if back else "plan/"))


def _part(name: str) -> PlanPart:
    part = part_named(name)
    if part is None:
        raise Http404
    return part


def _default(fields: Sequence[PlanField], path: str) -> object:
    """Return what brings a field back to its default."""
    one = next((f for f in fields if f.path == path), None)
    section = next((s for s in SECTIONS if path.startswith(f"{s}.")), "")
    if one is None or not section:
        raise Http404
    return to_default(one, default_of(SECTIONS[section], path.removeprefix(f"{section}.").split(".")))


def _change(request: HttpRequest, opened: Opened, changes: dict[str, object], problems: Sequence[Problem]) -> None:
    """Store changes, and say so.

    Raises
    ------
    InputError
        If something cannot be read or the plan does not allow it.
    """
    if problems:
        raise InputError(problems)
    if changes:
        services.change(opened=opened, changes=changes)
        messages.success(request, _("Stored. The version before stays readable."))
    else:
        messages.info(request, _("Nothing was changed."))


def _show_part(
    request: HttpRequest,
    opened: Opened,
    part: PlanPart,
    groups: tuple[Group, ...],
    problems: Sequence[Problem] = (),
) -> HttpResponse:
    plan, left, shown = opened.stored.plan, list(problems), []
    for group in groups:
        fields, left = with_problems(group.fields, left)
        shown.append(replace(group, fields=fields))
    context = {
        "part": part,
        "groups": shown,
        "lists": selectors.lists_of(plan, part.lists),
        "problems": left,
        "draw": opened.stored.draw,
        "methods": selectors.methods_table(plan) if part.name == "methods" else None,
    }
    return show(request, opened, "planning/part.html", STEP, context, status=UNPROCESSABLE if problems else 200)


# An entry of a list


@require_http_methods(["GET"])
@trial_view(STEP, drawn=False)
def entry_page(request: HttpRequest, opened: Opened, path: str, index: int) -> HttpResponse:
    """Show one entry of a list, such as a method, as a form."""
    return _show_entry(request, opened, path, index, _fields(opened, path, index))


@require_http_methods(["POST"])
@trial_view(STEP, Right.PLAN, drawn=False)
def change_entry(request: HttpRequest, opened: Opened, path: str, index: int) -> HttpResponse:
    """Store what was changed in an entry of a list, or take it out."""
    fields = typed_into(_fields(opened, path, index), request.POST)
    changes, problems = read_changes(fields)
    try:
        if "remove" in request.POST:
            services.remove(opened=opened, path=path, index=index)
            messages.success(request, _("Taken out. The version before still has it."))
        else:
            _change(request, opened, changes, problems)
    except InputError as error:
        return _show_entry(request, opened, path, index, fields, error.problems)
    return HttpResponseRedirect(opened.url(f"plan/{part_of_list(path).name}/"))


@require_http_methods(["GET", "POST"])
@trial_view(STEP, Right.PLAN, drawn=False)
def new_entry(request: HttpRequest, opened: Opened, path: str) -> HttpResponse:
    """Show empty fields for one more entry of a list, and store it."""
    if path not in LISTS:
        raise Http404
    index = len(selectors.list_values(opened.stored.plan, path))
    fields = selectors.entry_fields(opened.stored.plan, path, index) or ()
    if request.method != "POST":
        return _show_entry(request, opened, path, index, fields)
    try:
        like = request.POST.get("like", "")
        if path == "methods" and like.isdecimal():
            index = services.add_method_like(opened=opened, index=int(like[:4]))
            return HttpResponseRedirect(opened.url(f"plan/entries/{path}/{index}/"))
        fields = typed_into(fields, request.POST)
        changes, problems = read_changes(fields)
        if problems:
            raise InputError(problems)
        boxes: dict[str, object] = {f.path: f.text == "true" for f in fields if f.how == "yes"}
        services.add(opened=opened, path=path, values=services.nested({**boxes, **changes}, f"{path}[{index}]"))
        messages.success(request, _("Stored. The version before stays readable."))
    except InputError as error:
        return _show_entry(request, opened, path, index, fields, error.problems)
    return HttpResponseRedirect(opened.url(f"plan/{part_of_list(path).name}/"))


def _fields(opened: Opened, path: str, index: int) -> tuple[PlanField, ...]:
    """Return the fields of an entry that is there."""
    if path not in LISTS or not 0 <= index < len(selectors.list_values(opened.stored.plan, path)):
        raise Http404
    return selectors.entry_fields(opened.stored.plan, path, index) or ()


def _show_entry(
    request: HttpRequest,
    opened: Opened,
    path: str,
    index: int,
    fields: tuple[PlanField, ...],
    problems: Sequence[Problem] = (),
) -> HttpResponse:
    shown = selectors.list_shown(opened.stored.plan, path)
    fields, others = with_problems(fields, problems)
    context = {
        "part": part_of_list(path),
        "fields": fields,
        "problems": others,
        "shown": shown,
        "index": index,
        "entry": shown.entries[index] if index < len(shown.entries) else None,
        "plan": opened.stored.plan,
        "draw": opened.stored.draw,
    }
    return show(request, opened, "planning/entry.html", STEP, context, status=UNPROCESSABLE if problems else 200)


# Versions


@require_http_methods(["GET"])
@trial_view(STEP, drawn=False)
def versions_page(request: HttpRequest, opened: Opened) -> HttpResponse:
    """List all versions of the plan with what each changed."""
    return show(request, opened, "planning/versions.html", STEP, {"versions": selectors.versions(opened)})


@require_http_methods(["GET"])
@trial_view(STEP, drawn=False)
def version_page(request: HttpRequest, opened: Opened, number: int) -> HttpResponse:
    """Show one version of the plan as it was saved."""
    row = opened.trial.plans.filter(number=number).first()
    if row is None:
        raise Http404
    context = {"version": row, "is_latest": row.number == opened.trial.plans.count()}
    return show(request, opened, "planning/version.html", STEP, context)
