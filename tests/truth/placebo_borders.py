"""Borders where both sides were sown alike: simulated ones whose spread is as assumed, and real ones in open fields."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from evenground.fairness.border import BorderAnswer, Setting, border_comparison
from evenground.fairness.border_sides import Sides
from evenground.fairness.border_spread import MEANS_PERCENT, PRIOR_DF, SPREAD_PERCENT
from evenground.fairness.explanations import of_sowing
from tests.truth.table import Cell, Floats, Limits, Row, Share, Table
from tests.truth.uniformity import SOURCES, Source, grid

COVERS, HOLDS, WEIGHTS = "range covers the gain [%]", "range holds 0 [%]", "range from means alone holds 0 [%]"
FIELDS = 400
"""Fields of each row of the simulated table."""
MEAN, GAIN = 13.0, 0.6
DEPTH, ALONG = (a.ravel() for a in np.meshgrid((np.arange(8) - 3.5) * 6.0, np.arange(12) * 6.0, indexing="ij"))


@dataclass(frozen=True)
class Ground:
    """A simulated field: percent of the mean, and metres."""

    smooth: float
    nugget: float
    reach: float

    @property
    def root(self) -> Floats:
        """Root of the covariance of the plots [t/ha]."""
        apart = np.hypot(ALONG[:, None] - ALONG, DEPTH[:, None] - DEPTH)
        covariance = self.smooth**2 * np.exp(-apart / self.reach) + self.nugget**2 * np.eye(len(DEPTH))
        return np.asarray(MEAN / 100.0 * np.linalg.cholesky(covariance))


@dataclass(frozen=True)
class Case:
    """One row: what is meant by the spread, how large it really is, and whether a sowing day differs."""

    spread: str
    factor: float
    ground: str
    days_later: float | None = None


GROUNDS = {"reach 10 m": Ground(6.0, 4.0, 10.0), "reach 40 m": Ground(6.0, 4.0, 40.0)}
CASES = (
    Case("as assumed", 1.0, "reach 10 m"),
    Case("as assumed", 1.0, "reach 40 m"),
    Case("half of it", 0.5, "reach 40 m"),
    Case("double", 2.0, "reach 40 m"),
    Case("as assumed, sown 6 days later", 1.0, "reach 40 m", 6.0),
)


def covered(rng: np.random.Generator, share: float, case: Case) -> Share:
    """Count how often the range holds the gain of the method."""
    root, explained = GROUNDS[case.ground].root, of_sowing(case.days_later, None, MEAN)
    low, high = explained.bias_t_per_ha or (0.0, 0.0)
    hits = []
    for _ in range(max(20, round(FIELDS * share))):
        spread = SPREAD_PERCENT / 100.0 * MEAN * np.sqrt(PRIOR_DF / rng.chisquare(PRIOR_DF)) * case.factor
        step = rng.normal(GAIN, spread) + rng.uniform(low, high)
        value = MEAN + root @ rng.standard_normal(len(DEPTH)) + step * (DEPTH > 0)
        answer = border_comparison(Sides("A", "B", value, DEPTH > 0, ALONG, DEPTH), Setting((explained,)))
        hits.append(answer.interval[0] <= GAIN <= answer.interval[1])
    return Share.count(hits)


def simulated(rng: np.random.Generator, share: float) -> Table:
    """Build the table of simulated borders."""
    rows = []
    for case in CASES:
        exact = case.factor == 1.0 and case.days_later is None
        limits = Limits(0.90, 0.90, 0.02) if exact else Limits(0.90, 1.0, 0.02) if case.factor <= 1.0 else None
        labels = (case.spread, case.ground)
        rows.append(Row(labels, (Cell(covered(rng, share, case), "90" if exact else "", limits),)))
    return Table(
        "8. Borders: simulated",
        "How often does the range of a border comparison, never randomised, hold the true gain?",
        f"A field of 8 x 12 plots of 6 m, mean {MEAN:g} t/ha, errors with exponential correlation (SD 6 %) and a "
        f"nugget (SD 4 %), gain {GAIN:g} t/ha, and a step of the ground at the border: normal, its standard deviation "
        f"{SPREAD_PERCENT:g} % of the mean with the uncertainty of {PRIOR_DF:g} pieces, as the range assumes, or that "
        "times a factor. With a sowing day that differs its effect is drawn evenly from the published range. Limits: "
        "90 % where everything is as assumed, with 2 points for the approximate degrees of freedom; at least that "
        "where the ground is kinder or known differences are taken off at both ends.",
        ("steps of the ground", "field"),
        (COVERS,),
        tuple(rows),
        note="Where the ground is twice as rough as assumed the range is too narrow: it is at least this wide.",
    )


@dataclass(frozen=True)
class Placebo:
    """One border in a real field: where, and what came out."""

    field: str
    across: str
    line: int
    deep: int
    answer: BorderAnswer
    means: BorderAnswer


def placebos(source: Source) -> Iterator[Placebo]:
    """Cut a field in two at every line with three rows of plots or more to both sides, windows side by side."""
    cells = np.array([[np.nan if c is None else float(c) for c in line] for line in grid(source)])
    for across, plots in (("rows", cells), ("columns", cells.T)):
        deep = min(6, max(3, len(plots) // 4))
        for line in range(deep, len(plots) - deep + 1, deep):
            row, column = np.nonzero(~np.isnan(plots))
            depth = row - line + 0.5
            near = np.abs(depth) < deep
            value, side = plots[row, column][near], depth[near] > 0
            sides = Sides("A", "B", value, side, column[near].astype(float), depth[near])
            means = Sides("A", "B", np.array([value[~side].mean(), value[side].mean()]), np.array([False, True]))
            answers = (border_comparison(s, Setting()) for s in (sides, means))
            yield Placebo(source.name, across, line, deep, *answers)


def real(rng: np.random.Generator, share: float) -> Table:
    """Build the table of real borders."""
    found = [one for source in SOURCES for one in placebos(source)]
    return Table(
        "9. Borders: real fields sown alike",
        "What step does a border show where there is none, and does the range hold 0?",
        "The open uniformity trials of table 6. Each field is cut at every line that has a window of 3 to 6 rows of "
        "plots (a quarter of the field) to both sides. Steps and half widths in percent of the mean of the window; "
        "nothing is known besides, so the spread of neighbouring pieces is the default: 8 % for steps at the border, "
        f"{MEANS_PERCENT:g} % for means alone. (all): each cell is one border.",
        ("field", "across", "line", "window", "step [%]", "range ± [%]", "means differ by [%]"),
        (HOLDS, WEIGHTS),
        tuple(_row(one) for one in found),
        note="The range adds the error of the step to a spread that was itself found with such errors, on purpose. The "
        f"{MEANS_PERCENT:g} % for means alone come from these very fields, so that they hold here says little.",
        findings=tuple(_findings(found)),
    )


def _row(one: Placebo) -> Row:
    mean = one.answer.mean_t_per_ha / 100.0
    low, high = one.answer.interval
    numbers = (one.answer.step / mean, (high - low) / 2.0 / mean, one.means.step / mean)
    labels = (one.field, one.across, str(one.line), str(one.deep), *(f"{n:.1f}" for n in numbers))
    return Row(labels, tuple(Cell(Share.count([holds(a)], exact=True)) for a in (one.answer, one.means)))


def holds(answer: BorderAnswer) -> bool:
    """Whether the range holds 0."""
    return answer.interval[0] <= 0.0 <= answer.interval[1]


def _findings(found: list[Placebo]) -> Iterator[str]:
    for source in SOURCES:
        mine = [p for p in found if p.field == source.name]
        step, means = (
            np.sqrt(np.mean([(100.0 * a.step / a.mean_t_per_ha) ** 2 for a in answers]))
            for answers in ([p.answer for p in mine], [p.means for p in mine])
        )
        yield f"{source.name}, {len(mine)} borders: steps {step:.1f} %, means {means:.1f} % apart (root mean square)."
    held = [holds(p.answer) for p in found], [holds(p.means) for p in found]
    yield f"The range holds 0 at {sum(held[0])} of {len(found)} borders; the one from means alone at {sum(held[1])}."
