"""What was measured of the stand beside what was planned: stagger, room of the plants, methods held together."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

from django.utils.translation import gettext as _

from evenground.basis.plan import Plan
from evenground.decide.side_comparison import SideResult
from evenground.report.document import Column, Heading, Part, Table
from evenground.report.wording import NONE
from evenground.sowing.row_geometry import growing_space, repeated
from evenground.stand.measured_space import MeasuredSpace
from evenground.stand.stagger import Stagger
from evenground.stand.summary import StandSummary
from evenground.web.numbers import as_percent, number, signed, span

Item = TypeVar("Item")
Columns = Sequence[tuple[Column, Callable[[Item], str]]]


def table(caption: str, columns: Columns[Item], items: Sequence[Item], note: str = "") -> Table:
    """Return a table with one row an item; columns in which no item has a value are left out, the first ones stay."""
    kept = [(c, say) for i, (c, say) in enumerate(columns) if i == 0 or any(say(x) not in (NONE, "") for x in items)]
    return Table(caption, tuple(c for c, _say in kept), tuple(tuple(say(x) for _c, say in kept) for x in items), note)


def _right(name: str, unit: str = "") -> Column:
    return Column(name, unit, "right")


def spacing_parts(found: StandSummary, plan: Plan) -> list[Part]:
    """Return the stagger of the twin rows and the room of the measured plants, by strip."""
    twins = [(s.strip, twin) for s in found.spacings for twin in s.staggers]
    rooms = [(s.strip, s.method, s.space) for s in found.spacings if s.space is not None]
    return [*([_staggers(twins)] if twins else []), *([_rooms(rooms, plan)] if rooms else [])]


def _staggers(twins: Sequence[tuple[int, Stagger]]) -> Table:
    columns: Columns[tuple[int, Stagger]] = [
        (_right(_("Strip")), lambda x: str(x[0])),
        (_right(_("Plants")), lambda x: str(x[1].plants)),
        (_right(_("Phase")), lambda x: number(x[1].mean_phase, 2)),
        (_right(_("Staggered")), lambda x: number(x[1].stagger, 2)),
        (Column(_("Between")), lambda x: span(x[1].stagger_interval)),
        (Column(_("What it says")), lambda x: x[1].words),
    ]
    note = _(
        "Phase: where a plant of the second line stands in a gap of the first, 0.5 in the middle. Staggered: 1 every "
        "plant in the middle, 0 the lines do not know of each other, −1 side by side."
    )
    return table(_("The two lines of a twin row"), columns, twins, note)


def _rooms(rooms: Sequence[tuple[int, str, MeasuredSpace]], plan: Plan) -> Table:
    """Show the room of the measured plants beside that of a stand where every plant expected stands in its place."""
    even = {
        m.letter: growing_space(repeated(m.row_pattern, m.seeds_per_m2 * m.expected_emergence_fraction))
        for m in plan.methods
    }
    columns: Columns[tuple[int, str, MeasuredSpace]] = [
        (_right(_("Strip")), lambda x: str(x[0])),
        (Column(_("Method")), lambda x: x[1]),
        (_right(_("Plants")), lambda x: str(x[2].plants)),
        (_right(_("To the next plant"), "cm"), lambda x: number(100 * x[2].nearest_m, 1)),
        (_right(_("If all stood evenly"), "cm"), lambda x: number(100 * even[x[1]].nearest_neighbour_m, 1)),
        (_right(_("Ground nearest to a plant"), "cm²"), lambda x: number(1e4 * x[2].area_m2)),
        (_right(_("Its spread (SD)"), "%"), lambda x: as_percent(x[2].area_cv)),
        (_right(_("Compactness")), lambda x: number(x[2].compactness, 2)),
    ]
    note = _(
        "The ground of a plant depends on plants/m² alone; what the pattern changes is its shape and the distance."
    )
    return table(_("Room of the measured plants"), columns, rooms, note)


def compared_parts(found: Sequence[SideResult], level: float) -> list[Part]:
    """Return the methods held against the baseline, the strip as the unit."""
    if not found:
        return []
    several = len({s.method for s in found}) > 1
    columns: Columns[SideResult] = [
        (Column(_("Compared")), lambda s: f"{s.outcome}, {s.unit.replace('m2', 'm²')}"),
        (Column(_("Method")), lambda s: s.method if several else NONE),
        (_right(_("Difference")), lambda s: signed(s.difference, 2)),
        (Column(_("Probably between")), lambda s: span(s.interval)),
    ]
    methods = " + ".join(dict.fromkeys(s.method for s in found))
    caption = _("%(methods)s against %(baseline)s") % {"methods": methods, "baseline": found[0].baseline}
    note = _("The strip is the unit. Such a range holds the truth in about %(n)s of 20 trials.")
    made = table(caption, columns, found, note % {"n": number(20 * level)})
    return [Heading(_("Do the methods differ?")), made]
