"""What the layout pages show: questions of history, layouts to choose from, ways side by side, strips, work."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from evenground.basis.errors import EvengroundError
from evenground.basis.layout_plan import BAND_KINDS, PLACE_KINDS
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.harvest.markers import markers_left
from evenground.layout.cross_section import not_whole_passes
from evenground.layout.detectable import detectable_of
from evenground.layout.harvest_order import HarvestStep, harvest_order
from evenground.layout.outlook import FewerPasses, Way, fewer_passes
from evenground.layout.row_counts import row_counts
from evenground.layout.summary import wind
from evenground.layout.turned_field import turned_field
from evenground.layout.work_order import work_orders
from evenground.report.document import Column, Table
from evenground.web.layouts.draw_words import draw_terms, dropped_limits, kept_limits, orders_said
from evenground.web.layouts.search import Found
from evenground.web.layouts.services import TEXTS, WISHES
from evenground.web.numbers import as_percent, number
from evenground.web.trial_view import Opened

QUESTIONS: dict[str, str | Promise] = {
    "slurry": gettext_lazy("In which direction were slurry or digestate spread?"),
    "spreader": gettext_lazy("In which direction did the spreader drive?"),
    "tramlines": gettext_lazy("Are there old tramlines, and in which direction?"),
    "ploughing": gettext_lazy("In which direction was it ploughed?"),
    "irrigation": gettext_lazy("Are there irrigation lanes?"),
    "drains": gettext_lazy("In which direction do drains run?"),
    "borders": gettext_lazy("Was there a field or crop border earlier?"),
    "trenches": gettext_lazy("Are there trenches: cables, pipes, filled ditches?"),
    "heaps": gettext_lazy("Did heaps of manure, straw, beet or soil lie there?"),
    "hedges": gettext_lazy("Is or was there a hedge or wood beside it?"),
}
WISH_WORDS: dict[str, tuple[str | Promise, str]] = {
    "blocks": (gettext_lazy("Blocks, or “most”"), ""),
    "most_blocks": (gettext_lazy("At most so many blocks"), ""),
    "heading_deg": (gettext_lazy("Direction, degrees from north, or “best”"), "°"),
    "headland_m": (gettext_lazy("Headland"), "m"),
    "guard_rows": (gettext_lazy("Guard rows on each side of a strip"), gettext_lazy("rows")),  # type: ignore[dict-item]
    "harvester": (gettext_lazy("Harvester"), ""),
    "shortest_strip_m": (gettext_lazy("Shortest strip"), "m"),
    "widest_strip_m": (gettext_lazy("Widest strip"), "m"),
    "obstacle_distance_m": (gettext_lazy("Distance to obstacles"), "m"),
    "sprayer_width_m": (gettext_lazy("Distance between tramlines"), "m"),
    "first_tramline_m": (gettext_lazy("First tramline, from the left edge of strip 1"), "m"),
    "samples_per_strip": (gettext_lazy("Dry-matter samples of each strip"), ""),
    "fixed_edge": (gettext_lazy("Rows are counted from"), ""),
    "fixed_edge_side": (gettext_lazy("That edge lies, looking along the strips"), ""),
}


@dataclass(frozen=True)
class Question:
    """One question of the field's history and its answer."""

    kind: str
    words: str | Promise
    band: bool
    answer: str
    degrees: str


def questions(plan: Plan) -> tuple[Question, ...]:
    """Return the questions of the field's history with what was said."""
    out = []
    for kind in (*BAND_KINDS, *PLACE_KINDS):
        said = getattr(plan.history, kind)
        direction = isinstance(said, float)
        degrees = f"{said:g}" if direction else ""
        answer = "direction" if direction else str(said)
        out.append(Question(kind, QUESTIONS[kind], kind in BAND_KINDS, answer, degrees))
    return tuple(out)


def next_question(asked: tuple[Question, ...]) -> Question | None:
    """Return the first question nobody has answered yet."""
    return next((q for q in asked if q.answer == "not asked"), None)


def wish_rows(plan: Plan) -> list[dict[str, Any]]:
    """Return the wishes as they stand, for a form."""
    out = []
    for name in WISHES:
        value = getattr(plan.layout, name)
        text = "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)
        words, unit = WISH_WORDS[name]
        default = type(plan.layout).model_fields[name].get_default()
        shown = "" if default in (None, "") else f"{default:g}" if isinstance(default, float) else str(default)
        row = {"name": name, "label": words, "unit": unit, "value": text, "default": shown, "text": name in TEXTS}
        out.append(row)
    return out


def choices_table(found: Found, plan: Plan) -> list[dict[str, Any]]:
    """Return the layouts to choose from, the best first, as columns with why."""
    every = (found.laid_out.chosen, *found.laid_out.alternatives)
    money = plan.money.currency
    out = []
    for i, one in enumerate(every[:4]):
        sees = "–"
        if one.detectable_t_per_ha is not None and one.detectable_money_per_ha is not None:
            sees = f"{number(one.detectable_t_per_ha, 2)} t/ha ({number(one.detectable_money_per_ha)} {money}/ha)"
        facts = [
            (_("Direction"), f"{number(one.heading_deg)}°, {wind(one.heading_deg)}"),
            (_("The trial can see"), sees),
            (_("Blocks"), number(one.blocks)),
            (_("Strips"), _("%(w)s m wide, %(a)s to %(b)s m long") % _lengths(one)),
            (_("Share of the field"), f"{as_percent(one.area_share)} %"),
            (_("Sowing"), f"{number(one.sowing_h, 1)} h"),
            (_("From the longest strip"), _trailers(one.tonnes_per_strip_t, one.trailers_per_strip)),
            (_("Weighings"), number(one.weighings)),
            (_("The harvest chain waits"), f"{number(one.extra_minutes)} min ({number(one.extra_cost)} {money})"),
        ]
        name = _("Number %(n)s") % {"n": i + 1} if i else _("Best")
        out.append({"name": name, "facts": facts, "why": one.why, "heading": f"{one.heading_deg:.12g}", "best": i == 0})
    return out


def _lengths(one: Any) -> dict[str, str]:  # noqa: ANN401 - a Choice
    return {"w": number(one.width_m, 1), "a": number(one.shortest_m), "b": number(one.longest_m)}


def _trailers(tonnes: float, trailers: int) -> str:
    return _("%(t)s t fresh, trailers: %(n)s") % {"t": number(tonnes, 1), "n": number(trailers)}


def ways_table(found: Found, plan: Plan) -> Table | None:
    """Return the ways to answer the question side by side; None where they cannot be told."""
    if found.extras.outlook is None:
        return None
    money = plan.money.currency
    columns = (
        Column(_("Way")),
        Column(_("Can see"), align="right", unit="t/ha"),
        Column(_("Worth"), align="right", unit=f"{money}/ha"),
        Column(_("Knows how far it may be wrong")),
        Column(_("What could fool it")),
    )
    rows = tuple(_way(w) for w in found.extras.outlook.ways)
    return Table(_("Ways to answer the question, side by side"), columns, rows)


def _way(way: Way) -> tuple[str, ...]:
    knows = _("yes") if way.measures_its_error else _("no")
    seen, worth = number(way.detectable_t_per_ha, 2), number(way.detectable_money_per_ha)
    return (way.name, seen, worth, knows, way.fooled_by)


@dataclass(frozen=True)
class DrawnShown:
    """The drawn layout: strips, limits, work, in tables and lines."""

    strips: Table
    sees: str
    orders: str
    terms: tuple[str, ...]
    kept: tuple[str, ...]
    dropped: tuple[tuple[str, str], ...]
    work: tuple[dict[str, Any], ...]
    harvest: tuple[str, ...]
    earlier: tuple[Draw, ...]
    fewer: tuple[str, ...]
    misfits: tuple[str, ...]


def drawn_shown(opened: Opened) -> DrawnShown:
    """Return what there is to say about the drawn strips and the work on them."""
    plan, draw = opened.stored.plan, opened.draw
    gain = detectable_of(plan, draw)
    sees = "–"
    if gain.t_per_ha is not None and gain.money_per_ha is not None:
        sees = _("%(t)s t/ha (%(m)s %(c)s/ha), four times in five, if strips sown alike differ by %(e)s %%") % {
            "t": number(gain.t_per_ha, 2),
            "m": number(gain.money_per_ha),
            "c": plan.money.currency,
            "e": number(gain.strip_error_percent, 1),
        }
    work, cut = _work(opened)
    return DrawnShown(
        strips=_strip_table(opened),
        sees=sees,
        orders=orders_said(draw),
        terms=draw_terms(draw),
        kept=kept_limits(draw),
        dropped=dropped_limits(draw),
        work=work,
        harvest=cut,
        earlier=opened.stored.draws[:-1],
        fewer=_fewer(plan, draw),
        misfits=not_whole_passes(plan, draw.strips),
    )


def _fewer(plan: Plan, draw: Draw) -> tuple[str, ...]:
    """Return what is left if the new machine sows fewer passes; nothing where the plan fits the strips no more."""
    try:
        fewer = [one for one in fewer_passes(plan, draw) if one.detectable_t_per_ha is not None]
    except EvengroundError:
        return ()
    return tuple(_fewer_words(one, plan.outcome.unit) for one in fewer[:4])


def _fewer_words(one: FewerPasses, unit: str) -> str:
    given = {"p": one.passes, "b": one.blocks, "t": number(one.detectable_t_per_ha, 2), "u": unit}
    said = _("%(p)s passes: %(b)s blocks, can see %(t)s %(u)s") % given
    return said if one.smallest_p <= 0.05 else said + _("; the randomisation test cannot reach 5 %")


def earlier_yields_said(found: Found) -> tuple[str, ...]:
    """Return what earlier yields of this field say of its unevenness, while the plan can still take it up."""
    return tuple(
        _(
            "%(layer)s (%(n)s points): strips of this field sown alike differ by %(e)s %%, likeness reaches %(a)s m "
            "across and %(l)s m along the strips, share of patches %(s)s."
        )
        % {
            "layer": one.layer,
            "n": number(one.points),
            "e": number(one.strip_error_percent, 1),
            "a": number(one.reach_across_m),
            "l": number(one.reach_along_m),
            "s": number(one.patch_share, 2),
        }
        for one in found.extras.estimated
    )


@dataclass(frozen=True)
class MarkerShown:
    """A marker still in the ground, and what the form that ticks it off is filled with."""

    words: str
    query: str


def markers_shown(opened: Opened) -> tuple[MarkerShown, ...]:
    """Return the markers that were set and not ticked off as taken out."""
    out = []
    for one in markers_left(opened.stored.records.events):
        given = {"event": "marker_out", "strips": "+".join(map(str, one.strips)), "what": one.what}
        out.append(MarkerShown(one.words, urlencode({**given, "next": opened.url("layout/")})))
    return tuple(out)


@dataclass(frozen=True)
class StripShown:
    """A strip in the row of strips: its number, letter, pattern, and whether a block begins with it."""

    strip: int
    method: str
    pattern: int
    begins: bool


def order_shown(opened: Opened) -> tuple[StripShown, ...]:
    """Return the strips in their order in the field."""
    strips, letters = sorted(opened.draw.strips, key=lambda s: s.strip), opened.stored.plan.letters
    before = [None, *(s.block for s in strips[:-1])]
    return tuple(
        StripShown(s.strip, s.method, letters.index(s.method), b is not None and b != s.block)
        for s, b in zip(strips, before, strict=True)
    )


def _strip_table(opened: Opened) -> Table:
    counted: dict[int, str] = {}
    if opened.stored.field is not None:
        try:
            turned = turned_field(opened.stored.field, opened.draw)
            counted = {c.strip: c.words for c in row_counts(opened.stored.plan, turned)}
        except EvengroundError:
            counted = {}
    columns = (
        Column(_("Strip"), align="right"),
        Column(_("Block"), align="right"),
        Column(_("Method")),
        Column(_("Width"), align="right", unit="m"),
        Column(_("Length"), align="right", unit="m"),
        Column(_("Weighed cut"), align="right", unit="m²"),
        Column(_("Found by rows")),
    )
    rows = tuple(
        (
            number(s.strip),
            number(s.block),
            s.method,
            number(s.width_m, 1),
            number(s.length_m),
            number(s.cut_area_m2),
            counted.get(s.strip, "–"),
        )
        for s in opened.draw.strips
    )
    return Table(_("The strips as drawn"), columns, rows)


def _work(opened: Opened) -> tuple[tuple[dict[str, Any], ...], tuple[str, ...]]:
    """Return the order of passes of each machine and the order of harvest; nothing where the plan fits no more."""
    if opened.stored.field is None:
        return (), ()
    try:
        turned = turned_field(opened.stored.field, opened.draw)
        orders = work_orders(opened.stored.plan, turned)
        cut = harvest_order(opened.stored.plan, turned)
    except EvengroundError:
        return (), ()
    work = tuple(
        {
            "machine": o.machine,
            "hours": number(o.hours, 1),
            "area": number(o.area_ha, 2),
            "passes": " → ".join(f"{p.line.strip}{p.line.method}" for p in o.passes),
            "notes": o.notes,
        }
        for o in orders
    )
    return work, tuple(_step(s) for s in cut.steps)


def _step(step: HarvestStep) -> str:
    where = (
        "" if step.strip is None else _(" strip %(strip)s %(method)s") % {"strip": step.strip, "method": step.method}
    )
    tonnes = "" if step.fresh_t is None else _(", some %(t)s t") % {"t": number(step.fresh_t, 1)}
    pause = _(" A break may follow.") if step.break_allowed else ""
    reason = step.reason[:1].upper() + step.reason[1:]
    return f"{step.work.capitalize()}{where.rstrip()}{tonnes}. {_('Trailer')}: {step.trailer}. {reason}.{pause}"
