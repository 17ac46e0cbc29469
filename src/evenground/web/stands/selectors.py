"""What the stand page shows: how many counts are enough, plants, row units, spacing, depth, growing space."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext as _

from evenground.adapters.pattern_picture import alt_text, pattern_svg
from evenground.decide.stand_outcomes import stand_compared
from evenground.report.document import Bullets, Column, Heading, Paragraph, Part, Table
from evenground.report.wording import NONE, sentence
from evenground.sowing.row_geometry import RepeatedPattern, growing_space, patterns_of
from evenground.stand.counts_needed import CountsNeeded
from evenground.stand.row_units import RowUnit
from evenground.stand.stages import StandStages
from evenground.stand.summary import StandSummary, stand_summary
from evenground.web.numbers import as_percent, number, signed
from evenground.web.record_words import choice_words
from evenground.web.stands.measured import Columns, compared_parts, spacing_parts, table
from evenground.web.trial_view import Opened


def stand_parts(opened: Opened) -> tuple[Part, ...]:
    """Return everything known about the stand, in the order it is looked at; parts without records are left out."""
    plan, draw = opened.stored.plan, opened.draw
    found = stand_summary(plan, draw, opened.stored.records)
    parts: list[Part] = [
        Heading(_("How many counts are enough")),
        Bullets(tuple(enough_words(c) for c in found.counts_needed)),
        *_plants(found),
        *_stages(found.method_stages),
        *_units(found.row_units),
        *_spacing(found),
        *spacing_parts(found, plan),
        *_depth(found),
        *_emergence(found),
        *compared_parts(stand_compared(found, plan, draw), plan.advice.level),
        *(Paragraph(sentence(n), "small") for n in found.stand.notes),
    ]
    return tuple(parts)


def enough_words(one: CountsNeeded) -> str:
    """Say how many counts a strip needs so that its plants/m² are known well enough."""
    many = _("more than 10 000 counts") if one.counts is None else _("%d counts") % one.counts
    said = {
        "method": one.method,
        "error": number(100 * one.error_fraction),
        "many": many,
        "length": number(one.count_length_m, 1),
        "cv": number(100 * one.cv, 1),
        "source": one.cv_source,
    }
    return (
        _(
            "%(method)s: to know a strip's plants/m² to within %(error)s %% nine times in ten takes %(many)s of "
            "%(length)s m of row in each strip (single counts vary by %(cv)s %%; %(source)s)."
        )
        % said
    )


def _right(name: str, unit: str = "") -> Column:
    return Column(name, unit, "right")


def _plants(found: StandSummary) -> list[Part]:
    if not any(s.counts for s in found.stand.strips):
        return [Heading(_("Plants")), Paragraph(_("No plants are counted yet."))]
    methods = table(
        _("Plants by method"),
        [
            (Column(_("Method")), lambda m: m.method),
            (_right(_("Expected"), "plants/m²"), lambda m: number(m.expected_plants_per_m2, 1)),
            (_right(_("Counted"), "plants/m²"), lambda m: number(m.plants_per_m2, 1)),
            (_right(_("Standard error"), "plants/m²"), lambda m: number(m.standard_error, 2)),
            (_right(_("Strips counted")), lambda m: str(m.strips_counted)),
            (_right(_("Emerged"), "%"), lambda m: as_percent(m.emergence_fraction)),
        ],
        found.stand.methods,
    )
    strips = table(
        _("Plants by strip"),
        [
            (_right(_("Strip")), lambda s: str(s.strip)),
            (_right(_("Block")), lambda s: str(s.block)),
            (Column(_("Method")), lambda s: s.method),
            (_right(_("Plants"), _("per m²")), lambda s: number(s.plants_per_m2, 1)),
            (_right(_("Counts")), lambda s: str(s.counts)),
            (_right(_("Plants counted")), lambda s: str(s.plants)),
        ],
        found.stand.strips,
    )
    return [Heading(_("Plants")), methods, strips]


def _stages(methods: Sequence[StandStages]) -> list[Part]:
    if not any(m.after_last_hoeing is not None or m.late_fraction is not None or m.lost_per_m2 for m in methods):
        return []
    columns: Columns[StandStages] = [
        (Column(_("Method")), lambda m: m.method),
        (_right(_("Three leaves"), "plants/m²"), lambda m: number(m.three_leaves, 1)),
        (_right(_("After the last hoeing"), "plants/m²"), lambda m: number(m.after_last_hoeing, 1)),
        (_right(_("Late plants"), "%"), lambda m: as_percent(m.late_fraction, 1)),
        (Column(_("Lost"), "plants/m²"), _lost),
    ]
    return [table(_("Over the season"), columns, methods)]


def _lost(one: StandStages) -> str:
    return ", ".join(f"{choice_words(cause)} {number(d, 2)}" for cause, d in one.lost_per_m2.items()) or NONE


def _units(units: Sequence[RowUnit]) -> list[Part]:
    if not units:
        return []
    columns: Columns[RowUnit] = [
        (Column(_("Method")), lambda u: u.method),
        (_right(_("Row unit")), lambda u: str(u.row_unit)),
        (_right(_("Plants"), _("per m²")), lambda u: number(u.plants_per_m2, 1)),
        (Column(_("Against the others"), "%"), _apart),
        (Column(_("Reading")), lambda u: u.state),
    ]
    note = _("A row unit that lies off the others points at a worn disc, a wheel or a blocked tube.")
    return [Heading(_("Row units")), table(_("Row units of each planter"), columns, units, note)]


def _apart(unit: RowUnit) -> str:
    if unit.ratio is None or unit.interval is None:
        return NONE
    low, high = unit.interval
    end = "?" if high is None else signed(100 * (high - 1), 0)
    return f"{signed(100 * (unit.ratio - 1), 0)} ({signed(100 * (low - 1), 0)} … {end})"


def _spacing(found: StandSummary) -> list[Part]:
    if not found.method_spacings:
        return []
    methods = table(
        _("Spacing by method"),
        [
            (Column(_("Method")), lambda m: m.method),
            (_right(_("Strips")), lambda m: str(m.strips)),
            (_right(_("Spaced right"), "%"), lambda m: as_percent(m.quality_of_feed, 1)),
            (_right(_("Misses"), "%"), lambda m: as_percent(m.misses, 1)),
            (_right(_("Doubles"), "%"), lambda m: as_percent(m.multiples, 1)),
            (_right(_("Precision"), "%"), lambda m: as_percent(m.precision, 1)),
            (_right(_("Staggered (1 fully, 0 not)")), lambda m: number(m.stagger, 2)),
        ],
        found.method_spacings,
        _(
            "Spaced right: a gap of half to one and a half times the one wanted; doubles are closer, misses farther "
            "(in the standard ISO 7256-1: quality of feed, multiples, misses)."
        ),
    )
    strips = table(
        _("Spacing by strip"),
        [
            (_right(_("Strip")), lambda s: str(s.strip)),
            (Column(_("Method")), lambda s: s.method),
            (_right(_("Wanted"), "cm"), lambda s: number(100 * s.spacing.target_m, 1)),
            (_right(_("Mean gap"), "cm"), lambda s: number(100 * s.spacing.mean_m, 1)),
            (_right(_("Gaps")), lambda s: str(s.spacing.gaps)),
            (_right(_("Spaced right"), "%"), lambda s: as_percent(s.spacing.by_gaps.quality_of_feed, 1)),
            (_right(_("Misses"), "%"), lambda s: as_percent(s.spacing.by_gaps.misses, 1)),
            (_right(_("Doubles"), "%"), lambda s: as_percent(s.spacing.by_gaps.multiples, 1)),
        ],
        found.spacings,
    )
    return [Heading(_("Spacing in the row")), methods, strips]


def _depth(found: StandSummary) -> list[Part]:
    if not found.method_depths:
        return []
    made = table(
        _("Depth by method"),
        [
            (Column(_("Method")), lambda d: d.method),
            (_right(_("Planned"), "cm"), lambda d: number(d.planned_cm, 1)),
            (_right(_("Found"), "cm"), lambda d: number(d.mean_cm, 1)),
            (_right(_("Scatter in a strip (SD)"), "cm"), lambda d: number(d.sd_cm, 1)),
            (_right(_("More than 1 cm off"), "%"), lambda d: as_percent(d.outside_fraction)),
            (_right(_("Readings")), lambda d: str(d.readings)),
        ],
        found.method_depths,
    )
    return [Heading(_("Depth")), made]


def _emergence(found: StandSummary) -> list[Part]:
    methods = [e for e in found.emergence if e.strip is None]
    if not methods:
        return []
    made = table(
        _("How long it took to come up"),
        [
            (Column(_("Method")), lambda e: e.method),
            (_right(_("Half of the plants were up after"), _("days")), lambda e: number(e.days_to_half, 1)),
            (_right(_("Standard error"), _("days")), lambda e: number(e.standard_error, 1)),
        ],
        methods,
    )
    return [Heading(_("Emergence")), made]


def patterns(opened: Opened) -> tuple[RepeatedPattern, ...]:
    """Return the row pattern of each method at its seed rate, and last the triangle nothing can beat."""
    return patterns_of(opened.stored.plan.methods)


def space_picture(opened: Opened) -> str:
    """Return the picture of the growing spaces as SVG."""
    return pattern_svg(patterns(opened))


def space_words(opened: Opened) -> str:
    """Say what that picture shows."""
    return alt_text(patterns(opened))


def space_table(opened: Opened) -> Table:
    """Return the numbers of that picture."""
    rows = [(p, growing_space(p)) for p in patterns(opened)]
    return table(
        _("Growing space"),
        [
            (Column(_("Pattern")), lambda x: x[0].name),
            (_right(_("To the next plant"), "cm"), lambda x: number(100 * x[1].nearest_neighbour_m, 1)),
            (_right(_("Ground nearest to a plant"), "cm²"), lambda x: number(1e4 * x[1].growing_space_m2)),
            (_right(_("Circles around the plants cover"), "%"), lambda x: as_percent(x[1].circle_share)),
            (_right(_("Compactness (1: a circle)")), lambda x: number(x[1].compactness, 2)),
        ],
        rows,
        _("As the settings say, with every seed in its place; real stands are less even."),
    )
