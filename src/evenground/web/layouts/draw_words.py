"""The draw in plain words: what chance could have given, what was kept to, and the terms for the adviser."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from evenground.basis.strip import AppliedLimit, Draw
from evenground.web.core_words import core_words
from evenground.web.numbers import number

LIMIT_WORDS: dict[str, str | Promise] = {
    "tramline": gettext_lazy("wheel tracks shared evenly"),
    "covariates": gettext_lazy("known differences of the ground shared evenly"),
    "equal_orders": gettext_lazy("every method as often first as second"),
    "linear_trend": gettext_lazy("no method favoured by a rise across the field"),
    "edge": gettext_lazy("field edge shared evenly"),
    "quadratic_trend": gettext_lazy("no method favoured by a hollow or ridge"),
    "both_together": gettext_lazy("the order of the one thing compared does not go with that of the other"),
}


def orders_said(draw: Draw) -> str:
    """Say in plain words what chance could have given, and how often it alone gives the clearest result."""
    said = _(
        "Chance could have given %(n)s orders. Even the clearest result comes about by chance alone once in %(k)s."
    )
    if draw.split is None:
        return said % {"n": number(draw.allowed_orders), "k": number(round(1.0 / draw.smallest_p))}
    two = _(
        "Chance could have given %(n)s orders. Even the clearest result comes about by chance alone once in %(k)s for "
        "the %(whole)s, and once in %(m)s for the %(within)s."
    )
    split = draw.split
    return two % {
        "n": number(draw.allowed_orders),
        "k": number(round(1.0 / split.whole_smallest_p)),
        "m": number(round(1.0 / split.within_smallest_p)),
        "whole": core_words(split.whole),
        "within": core_words(split.within),
    }


def draw_terms(draw: Draw) -> tuple[str, ...]:
    """Return the same with its terms, for the adviser: smallest p, seed, and how strict each limit was."""
    p, split = _("Smallest possible p: %s."), draw.split
    if split is None:
        lines = [p % f"{draw.smallest_p:.2g}"]
    else:
        smallest = ((split.whole, split.whole_smallest_p), (split.within, split.within_smallest_p))
        lines = [p % ", ".join(f"{value:.2g} ({name})" for name, value in smallest)]
    lines.append(_("Seed of the draw: %s.") % draw.seed)
    return (*lines, *(f"{of}{x.reason}" for of, x in _limits(draw) if x.applied))


def _limits(draw: Draw) -> tuple[tuple[str, AppliedLimit], ...]:
    """Return the limits of a draw; with two factors each with the name of the one whose draw it bound."""
    split = draw.split
    if split is None:
        return tuple(("", x) for x in draw.limits)
    both = ((split.whole, split.limits), (split.within, draw.limits))
    return tuple((f"{core_words(name)}: ", x) for name, limits in both for x in limits)


def kept_limits(draw: Draw) -> tuple[str, ...]:
    """Return in plain words what the draw kept to."""
    return tuple(f"{of}{LIMIT_WORDS.get(x.name, x.name)}" for of, x in _limits(draw) if x.applied)


def dropped_limits(draw: Draw) -> tuple[tuple[str, str], ...]:
    """Return in plain words what the draw did not keep to, each with why."""
    return tuple(
        (f"{of}{LIMIT_WORDS.get(x.name, x.name)}", x.reason.removeprefix("dropped: "))
        for of, x in _limits(draw)
        if not x.applied
    )
