"""What a tonne of silage is worth as the grain and rough feed it replaces: the little form beside the plan's money."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from evenground.decide.feed_value import BoughtFeed, SilageWorth, silage_worth
from evenground.web.numbers import number, plain

Words = str | Promise


@dataclass(frozen=True)
class Asked:
    """One number of the form: its name, label, unit, what stands there at first, and what is possible."""

    name: str
    label: Words
    unit: Words
    first: str
    low: float
    high: float


PER_T: Words = gettext_lazy("money a tonne")
ASKED = (
    Asked("grain_price", gettext_lazy("Grain, as bought"), PER_T, "", 0.0, 10_000.0),
    Asked("grain_dry", gettext_lazy("Dry matter of the grain"), "%", "87", 1.0, 100.0),
    Asked("rough_price", gettext_lazy("Hay, straw or other rough feed, as bought"), PER_T, "", 0.0, 10_000.0),
    Asked("rough_dry", gettext_lazy("Dry matter of the rough feed"), "%", "90", 1.0, 100.0),
    Asked("share", gettext_lazy("Grain in the dry matter of the silage"), "%", "", 0.0, 100.0),
    Asked("dry", gettext_lazy("Dry matter of the silage"), "%", "33", 1.0, 100.0),
    Asked("lost", gettext_lazy("Lost in chopping and in the clamp"), "%", "0", 0.0, 100.0),
    Asked("carrying", gettext_lazy("Chopping, carrying and clamping, as fed"), PER_T, "0", 0.0, 10_000.0),
)


@dataclass(frozen=True)
class Field:
    """One number as it is shown: what was asked, what was typed, and what is wrong with it."""

    asked: Asked
    text: str
    wrong: str


@dataclass(frozen=True)
class Form:
    """The form as it was sent, and the answer once every number is there."""

    fields: tuple[Field, ...]
    answer: tuple[str, ...]


def form(sent: Mapping[str, str]) -> Form:
    """Read the form and answer it.

    Parameters
    ----------
    sent : mapping
        What was typed, by name; empty at first.
    """
    values = {a.name: _read(a, sent.get(a.name, "" if sent else a.first)) for a in ASKED}
    fields = tuple(Field(a, sent.get(a.name, a.first), _wrong(a, values[a.name]) if sent else "") for a in ASKED)
    known = {name: value for name, value in values.items() if value is not None}
    if not sent or any(f.wrong for f in fields):
        return Form(fields, ())
    return Form(fields, _words(_worth(known), known["dry"]))


def _read(asked: Asked, text: str) -> float | None:
    """Return a number that is possible; a comma may stand for the point."""
    try:
        value = float(text.strip().replace(",", "."))
    except ValueError:
        return None
    return value if math.isfinite(value) and asked.low <= value <= asked.high else None


def _wrong(asked: Asked, value: float | None) -> str:
    if value is not None:
        return ""
    return _("A number from %(low)s to %(high)s is needed.") % {"low": plain(asked.low), "high": plain(asked.high)}


def _worth(values: Mapping[str, float]) -> SilageWorth:
    return silage_worth(
        BoughtFeed(values["grain_price"], values["grain_dry"]),
        BoughtFeed(values["rough_price"], values["rough_dry"]),
        values["share"] / 100.0,
        values["dry"],
        values["lost"] / 100.0,
        values["carrying"],
    )


def _words(found: SilageWorth, dry_matter_percent: float) -> tuple[str, ...]:
    replaced = _("A tonne of dry matter replaces grain for %(grain)s and rough feed for %(rough)s: %(whole)s together.")
    fed = _("That is %(fed)s a tonne as fed, at %(dry)s %% dry matter.")
    standing = _(
        "Standing in the field, after losses and carrying: %(fed)s a tonne as fed, %(dry)s a tonne of dry matter."
    )
    return (
        replaced % {"grain": number(found.grain), "rough": number(found.rough), "whole": number(found.per_t_dry)},
        fed % {"fed": number(found.per_t_fed, 1), "dry": plain(dry_matter_percent)},
        standing % {"fed": number(found.standing_per_t_fed, 1), "dry": number(found.standing_per_t_dry)},
    )
