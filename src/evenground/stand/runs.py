"""The spacing runs of a trial: how evenly each strip and each method stands, the strip as unit, and the stagger."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from evenground.basis.method import Method
from evenground.basis.observations import Records, SpacingRun, current
from evenground.basis.plan import Plan
from evenground.basis.strip import Draw
from evenground.stand.measured_space import MeasuredSpace, measured_space
from evenground.stand.plants import mean_and_error, sown_methods
from evenground.stand.spacing import Spacing, exact, gaps_of, spacing
from evenground.stand.stagger import Stagger, stagger


@dataclass(frozen=True)
class StripSpacing:
    """The spacing of one strip, all its runs together.

    Attributes
    ----------
    strip : int
        Which strip.
    method : str
        Method as really sown.
    spacing : Spacing
        What its gaps say.
    staggers : tuple of Stagger
        One for each twin row of which both lines were measured.
    space : MeasuredSpace or None
        Room of the measured plants; of twin rows only where both lines were measured.
    """

    strip: int
    method: str
    spacing: Spacing
    staggers: tuple[Stagger, ...]
    space: MeasuredSpace | None = None

    @property
    def stagger(self) -> float | None:
        """Mean stagger of its twin rows, weighted by their plants [1]; None where none was measured."""
        plants = sum(s.plants for s in self.staggers)
        return sum(s.stagger * s.plants for s in self.staggers) / plants if plants else None

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``spacing_strips`` of ``stand --json``."""
        space = None if self.space is None else self.space.as_dict()
        own = {"strip": self.strip, "method": self.method}
        twins = {"stagger": self.stagger, "staggers": [s.as_dict() for s in self.staggers]}
        return {**own, **self.spacing.as_dict(), **twins, "growing_space": space}


@dataclass(frozen=True)
class MethodSpacing:
    """The spacing of one method: means of its strips.

    Attributes
    ----------
    method : str
        Which.
    strips : int
        Number of strips measured [1].
    quality_of_feed, misses, multiples, precision, stagger : float or None
        Means of the strips: shares of the gaps, precision, stagger [1]; None where no strip tells.
    errors : dict of str to float
        Their standard errors, from the spread of the strips [1].
    """

    method: str
    strips: int
    quality_of_feed: float | None
    misses: float | None
    multiples: float | None
    precision: float | None
    stagger: float | None
    errors: dict[str, float]

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``spacing_methods`` of ``stand --json``."""
        return dict(self.__dict__)


def target_gap_m(method: Method) -> float:
    """Return the gap within one line that seeds/m2 and row pattern ask for [m].

    Parameters
    ----------
    method : Method
        The method; a twin row shares its seeds between two lines.

    Source: geometry, 1 / (seeds per m2 x row spacing / lines per row).
    """
    pattern = method.row_pattern
    return pattern.lines_per_row / (method.seeds_per_m2 * pattern.row_spacing_m)


def strip_spacings(plan: Plan, draw: Draw, records: Records) -> tuple[StripSpacing, ...]:
    """Return the spacing of every strip with a run, by strip number.

    Parameters
    ----------
    plan : Plan
        Methods; their seeds/m2 and row pattern give the target gap.
    draw : Draw
        The strips.
    records : Records
        Spacing runs and events, corrections included; a run that names several strips is left out.
    """
    sown = sown_methods(draw, records)
    methods = {m.letter: m for m in plan.methods}
    runs: dict[int, list[SpacingRun]] = {}
    for run in current(records.spacing_runs):
        if len(run.strips) == 1 and run.strips[0] in sown:
            runs.setdefault(run.strips[0], []).append(run)
    return tuple(_of_strip(n, methods[sown[n]], runs[n]) for n in sorted(runs))


def method_spacings(plan: Plan, strips: Sequence[StripSpacing]) -> tuple[MethodSpacing, ...]:
    """Return the means of every measured method, in the order of the plan.

    Parameters
    ----------
    plan : Plan
        Names the methods.
    strips : sequence of StripSpacing
        Of the strips.
    """
    out = []
    for m in plan.methods:
        mine = [s for s in strips if s.method == m.letter]
        if mine:
            figures = {
                "quality_of_feed": [s.spacing.by_gaps.quality_of_feed for s in mine],
                "misses": [s.spacing.by_gaps.misses for s in mine],
                "multiples": [s.spacing.by_gaps.multiples for s in mine],
                "precision": [s.spacing.precision for s in mine if s.spacing.precision is not None],
                "stagger": [v for s in mine if (v := s.stagger) is not None],
            }
            found = {name: mean_and_error(values) for name, values in figures.items()}
            means = {name: mean for name, (mean, _) in found.items()}
            errors = {name: error for name, (_, error) in found.items() if error is not None}
            out.append(MethodSpacing(m.letter, len(mine), **means, errors=errors))
    return tuple(out)


def positions_m(run: SpacingRun) -> tuple[Fraction, ...]:
    """Return where the plants of a run stand along the row, from the start of line 1's tape [m].

    Gaps are laid end to end from the first plant, which stands at the run's offset.
    """
    unit = Fraction(1, 100) if run.unit == "cm" else Fraction(1)
    start = exact(run.offset_cm) / 100
    readings = [exact(r) * unit for r in run.readings]
    if run.reads == "positions":
        return tuple(start + r for r in readings)
    out = [start]
    for gap in readings:
        out.append(out[-1] + gap)
    return tuple(out)


def _of_strip(strip: int, method: Method, runs: Sequence[SpacingRun]) -> StripSpacing:
    target = exact(target_gap_m(method))
    gaps = [g for run in runs for g in gaps_of(positions_m(run))]
    twins = _twins(runs)
    staggers = [stagger(positions_m(one), positions_m(two), target) for one, two in twins]
    pattern = method.row_pattern
    rows = twins if pattern.kind == "twin" else [(run,) for run in runs]
    lines = [[[float(p) for p in positions_m(run)] for run in row] for row in rows]
    space = measured_space(lines, pattern.row_spacing_m, pattern.twin_gap_m or 0.0)
    found = tuple(s for s in staggers if s is not None)
    return StripSpacing(strip, method.letter, spacing(gaps, target), found, space)


def _twins(runs: Sequence[SpacingRun]) -> list[tuple[SpacingRun, SpacingRun]]:
    """Find the twin rows of which both lines were measured: same name of the run, same row unit, lines 1 and 2."""
    lines: dict[tuple[str, int | None], dict[int, SpacingRun]] = {}
    for run in runs:
        if run.run:
            lines.setdefault((run.run, run.row_unit), {})[run.line] = run
    return [(both[1], both[2]) for both in lines.values() if set(both) == {1, 2}]
