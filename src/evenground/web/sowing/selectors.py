"""What the sowing pages show: settings side by side, what differs, what to buy, and how each strip was sown."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from evenground.adapters.pattern_picture import alt_text
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.report.cab_card import CabCard, cab_cards
from evenground.report.document import Bullets, Column, Fact, Facts, Heading, Note, Paragraph, Part, Table
from evenground.report.driven_passes import driven_passes
from evenground.report.wording import NONE, sentence
from evenground.sowing.agreements import answer_sentences
from evenground.sowing.hopper_fills import Fill
from evenground.sowing.row_geometry import patterns_of
from evenground.sowing.seed_lot import lot_sentences, lots_of_method
from evenground.sowing.settings import MethodSettings, cautions, rate_sentence, settings
from evenground.sowing.sown_strips import SownStrip, in_sentences, sown_strips
from evenground.sowing.starter import AMERICAN_ONLY, EUROPE, StarterSettings
from evenground.web.numbers import as_percent, moment, number
from evenground.web.trial_view import Opened

Said = Callable[[MethodSettings], str]
Line = tuple[str | Promise, str, Said]


def _starter(say: Callable[[StarterSettings], str]) -> Said:
    return lambda s: NONE if s.starter is None else say(s.starter)


MACHINE: tuple[Line, ...] = (
    (gettext_lazy("Planter"), "", lambda s: s.machine),
    (gettext_lazy("Row spacing"), "cm", lambda s: number(100 * s.row_spacing_m, 1)),
    (gettext_lazy("Lines in a row"), "", lambda s: str(s.lines_per_row)),
    (gettext_lazy("Seed rate"), "seeds/m²", lambda s: number(s.seeds_per_m2, 2)),
    (gettext_lazy("Seed to seed in the line"), "cm", lambda s: number(100 * s.in_line_spacing_m, 1)),
    (gettext_lazy("Seeds in a metre of row"), "", lambda s: number(s.seeds_per_m_of_row, 2)),
    (gettext_lazy("Seeds in a metre of line"), "", lambda s: number(s.seeds_per_m_of_line, 2)),
    (gettext_lazy("Plants wanted"), "plants/m²", lambda s: number(s.target_plants_per_m2, 1)),
    (gettext_lazy("Emergence expected"), "%", lambda s: as_percent(s.expected_emergence_fraction)),
    (gettext_lazy("Plants expected"), "plants/m²", lambda s: number(s.expected_plants_per_m2, 1)),
    (gettext_lazy("Depth"), "cm", lambda s: number(s.depth_cm, 1)),
    (gettext_lazy("Speed"), "km/h", lambda s: number(s.speed_km_per_h, 1)),
    (gettext_lazy("100 m take"), "s", lambda s: number(s.timed_run_s, 1)),
    (gettext_lazy("Kernels a second and metering unit"), "", lambda s: number(s.kernels_per_second, 1)),
    (gettext_lazy("The metering bears"), gettext_lazy("kernels/s"), lambda s: number(s.metering_limit_per_s, 1)),
    (gettext_lazy("Which is reached at"), "km/h", lambda s: number(s.speed_at_limit_km_per_h, 1)),
    (gettext_lazy("Metering units"), "", lambda s: str(s.metering_units)),
    (gettext_lazy("Starter"), "kg/ha", lambda s: number(s.starter_kg_per_ha)),
    (gettext_lazy("Starter a minute"), "kg", _starter(lambda f: number(f.kg_per_min, 2))),
    (gettext_lazy("Starter a minute and hose"), "kg", _starter(lambda f: number(f.kg_per_min_per_hose, 3))),
    (gettext_lazy("Starter in 100 m"), "kg", _starter(lambda f: number(f.calibration_100_m_kg, 2))),
    (gettext_lazy("Starter in 20 turns of the wheel"), "kg", _starter(lambda f: number(f.calibration_20_turns_kg, 2))),
)  # type: ignore[assignment]

TO_BUY: tuple[Line, ...] = (
    (gettext_lazy("Thousand-kernel weight"), "g", lambda s: number(s.thousand_kernel_weight_g)),
    (gettext_lazy("Seed"), "kg/ha", lambda s: number(s.seed_kg_per_ha, 1)),
    (gettext_lazy("Units of seed per hectare"), "", lambda s: number(s.units_per_ha, 2)),
    (gettext_lazy("Ground of all its strips"), "m²", lambda s: number(s.strips_area_m2)),
    (gettext_lazy("Units of seed to buy"), "", lambda s: number(s.units_to_buy)),
    (gettext_lazy("They weigh"), "kg", lambda s: number(s.seed_to_buy_kg)),
    (gettext_lazy("Starter to buy"), "kg", _starter(lambda f: number(f.kg_for_strips))),
    (gettext_lazy("Fill seed"), "", lambda s: _fills(s.seed_fills)),
    (gettext_lazy("Fill starter"), "", lambda s: _fills(s.starter_fills)),
    (gettext_lazy("Passes a strip"), "", lambda s: number(s.passes_per_strip)),
    (gettext_lazy("Time for its strips"), "h", lambda s: number(s.hours, 1)),
    (gettext_lazy("Pace"), "ha/h", lambda s: number(s.field_capacity_ha_per_h, 2)),
)


def _fills(fills: Sequence[Fill]) -> str:
    said = [
        (
            _("before pass %(pass)s (strip %(strip)s) %(kg)s kg of %(lot)s")
            if f.lot
            else _("before pass %(pass)s (strip %(strip)s) %(kg)s kg")
        )
        % {"pass": f.before_pass, "strip": f.before_strip, "kg": number(f.kg), "lot": f.lot}
        for f in fills
    ]
    return "; ".join(said) or NONE


@dataclass(frozen=True)
class SowingPage:
    """The settings of all methods, the cards made from them, and what the picture of their growing spaces shows."""

    found: tuple[MethodSettings, ...]
    cards: tuple[CabCard, ...]
    parts: tuple[Part, ...]
    agreements: tuple[str, ...]
    room: str


def sowing_page(opened: Opened) -> SowingPage:
    """Return settings side by side with what differs, limits, depth, what to buy and the cautions."""
    plan, draw = opened.stored.plan, opened.stored.draw
    driven = driven_passes(plan, draw, opened.stored.field)
    found = settings(plan, draw, driven.areas if driven else None)
    parts: tuple[Part, ...] = (
        *_differences(found),
        _side_by_side(_("What to set"), MACHINE, found),
        Paragraph(" ".join((rate_sentence(plan), *lot_sentences(plan, draw)))),
        *_lots(plan, draw),
        Heading(_("Depth")),
        Facts(tuple(Fact(s.method, " ".join(s.depth)) for s in found)),
        *_starter_parts(found),
        _side_by_side(_("What to buy and how long it takes"), TO_BUY, found),
        *_notes(found),
        Heading(_("Take care")),
        Bullets(cautions(plan)),
    )
    return SowingPage(
        found,
        cab_cards(plan, draw, found, driven),
        parts,
        answer_sentences(plan, draw),
        alt_text(patterns_of(plan.methods)),
    )


def _side_by_side(caption: str, lines: Sequence[Line], found: Sequence[MethodSettings]) -> Table:
    """Return the lines as a table, one column a method; lines in which methods differ say so."""
    rows = []
    for label, unit, say in lines:
        values = [say(s) for s in found]
        if set(values) != {NONE}:
            differs = _("differs") if len(set(values)) > 1 else ""
            rows.append((f"{label}{f', {unit}' if unit else ''}", *values, differs))
    methods = tuple(Column(f"{s.method} {s.name}") for s in found)
    return Table(caption, (Column(_("Setting")), *methods, Column(_("Alike?"))), tuple(rows))


def _differences(found: Sequence[MethodSettings]) -> list[Part]:
    asked = [f"{s.method}: {d.sentence}." for s in found for d in s.differences if d.part_of_question]
    wrong = [f"{s.method}: {d.sentence}." for s in found for d in s.differences if not d.part_of_question]
    parts: list[Part] = []
    if wrong:
        parts.append(Note(_("Make alike what the trial does not ask about."), " ".join(wrong)))
    if asked:
        parts += [Heading(_("What differs between the methods")), Bullets(tuple(asked))]
    return parts


def _starter_parts(found: Sequence[MethodSettings]) -> list[Part]:
    starters = [(s.method, s.starter) for s in found if s.starter is not None]
    if not starters:
        return []
    limits = dict.fromkeys(
        _("Published limit %(kg)s kg/ha N + K₂O %(where)s: %(source)s.")
        % {"kg": number(x.salts_kg_per_ha, 1), "where": x.placement, "source": x.source}
        for _letter, f in starters
        for x in f.limits
    )
    facts = Facts(tuple(Fact(letter, f.sentence) for letter, f in starters))
    told = [*limits, *((AMERICAN_ONLY, EUROPE) if limits else ())]
    return [Heading(_("Starter near the seed")), facts, *(Paragraph(text, "small") for text in told)]


def _lots(plan: Plan, draw: Draw | None) -> list[Part]:
    """Say which seed lot goes into which strips; nothing where there is one lot, or no draw yet."""
    said = [(m.letter, lots_of_method(plan, draw, m.letter)) for m in plan.methods]
    return (
        [Facts(tuple(Fact(letter, " ".join(lots)) for letter, lots in said))] if any(lots for _m, lots in said) else []
    )


def _notes(found: Sequence[MethodSettings]) -> list[Part]:
    return [Paragraph(sentence(text), "small") for text in dict.fromkeys(n for s in found for n in s.notes)]


@dataclass(frozen=True)
class AsSown:
    """How the strips were sown."""

    strips: tuple[SownStrip, ...]
    waiting: tuple[SownStrip, ...]
    parts: tuple[Part, ...]


def as_sown_page(opened: Opened) -> AsSown:
    """Return how each strip was sown, which have no entry yet, and what both mean for the comparison."""
    strips = sown_strips(opened.stored.plan, opened.draw, opened.stored.records)
    waiting = tuple(s for s in strips if not s.entries and not s.not_sown)
    return AsSown(strips, waiting, (*_meaning(strips), sown_table(strips)))


def _meaning(strips: Sequence[SownStrip]) -> list[Part]:
    said = [sentence(text) for text in in_sentences(strips)]
    return [Bullets(tuple(said))] if said else [Paragraph(_("Every strip was sown as drawn."))]


def sown_table(strips: Sequence[SownStrip]) -> Table:
    """Return a table of strips as sown; columns nobody filled are left out."""
    columns: list[tuple[Column, Callable[[SownStrip], str]]] = [
        (Column(_("Strip"), "", "right"), lambda s: str(s.strip)),
        (Column(_("Block"), "", "right"), lambda s: str(s.block)),
        (Column(_("Drawn")), lambda s: s.drawn),
        (Column(_("Sown")), lambda s: _("not sown") if s.not_sown else s.sown if s.entries else NONE),
        (Column(_("Begun")), lambda s: moment(s.first)),
        (Column(_("Speed"), "km/h", "right"), lambda s: number(s.speed_km_per_h, 1)),
        (Column(_("Stops"), "", "right"), lambda s: number(s.stops)),
        (Column(_("Row units off"), "", "right"), lambda s: number(s.rows_off)),
        (Column(_("Row left out"), "m", "right"), lambda s: number(s.rows_off_m)),
        (Column(_("Driven lifted"), "m", "right"), lambda s: number(s.lifted_m)),
        (Column(_("Sown twice"), "m²", "right"), lambda s: number(s.overlap_m2)),
        (Column(_("Sown"), "%", "right"), lambda s: as_percent(s.sown_fraction)),
        (Column(_("Seed rate"), "seeds/m²", "right"), lambda s: number(s.seeds_per_m2, 1)),
        (Column(_("Seed lot")), lambda s: ", ".join(s.seed_lots) or NONE),
        (Column(_("Joints"), "cm", "right"), lambda s: number(100 * s.joints.mean_m if s.joints else None)),
    ]
    kept = [(c, say) for i, (c, say) in enumerate(columns) if i < 4 or any(say(s) != NONE for s in strips)]
    rows = tuple(tuple(say(s) for _column, say in kept) for s in strips)
    return Table(_("Strips as sown"), tuple(c for c, _say in kept), rows)
