"""The ground under the strips: how unlike strips sown alike would be, from the plan's numbers on unevenness."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import ceil, inf, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenground.basis.plan import Plan
from evenground.basis.weighing_ways import own_sd_fraction
from evenground.numerics.power import detectable_gain
from evenground.numerics.strip_covariance import mean_correlation, strip_covariance

Floats = NDArray[np.float64]
LEVEL, POWER = 0.05, 0.8


@dataclass(frozen=True, slots=True)
class Ground:
    """Unevenness of a field and the errors of weighing and sampling, all in percent of the mean, squared.

    Attributes
    ----------
    smooth : float
        Variance at a point of what changes smoothly [%^2].
    reach_across_m, reach_along_m : float
        Distances over which its correlation falls to 1/e [m].
    patch : float
        Variance of the mean of 1 m2 of what does not [%^2 m2]; it falls with area.
    own : float
        Variance each strip adds by itself: weighing, and sampling where each strip has samples [%^2].
    common : float
        Variance of a method's mean that all its strips share: one dry-matter figure a method [%^2].
    """

    smooth: float
    reach_across_m: float
    reach_along_m: float
    patch: float
    own: float
    common: float

    def covariance(self, left_m: ArrayLike, width_m: float, low_m: ArrayLike, high_m: ArrayLike) -> Floats:
        """Return the covariance of the means of cuts, the common part left out.

        Parameters
        ----------
        left_m : array_like, shape (strips,)
            Left edge of each cut [m across].
        width_m : float
            Width of all cuts [m].
        low_m, high_m : array_like, shape (strips,)
            Ends [m along].

        Returns
        -------
        ndarray, shape (strips, strips)
            [%^2]

        Source: `evenground.numerics.strip_covariance`; patches average out with area.
        """
        low, high = np.asarray(low_m, dtype=np.float64), np.asarray(high_m, dtype=np.float64)
        alike = strip_covariance(left_m, width_m, low, high, self.reach_across_m, self.reach_along_m)
        return self.smooth * alike + np.diag(self.patch / (width_m * (high - low)) + self.own)

    def within_blocks(self, low_m: Floats, high_m: Floats, slot_m: float, cut_m: float, per_plot: int = 1) -> Floats:
        """Return the strip error variance within blocks: mean half squared difference of two strips of a block.

        With whole plots: of the means of two whole plots of a block.

        Parameters
        ----------
        low_m, high_m : ndarray, shape (..., strips of a block)
            Ends of the strips, from left to right [m along].
        slot_m, cut_m : float
            Width of a slot and of the weighed cut in it [m].
        per_plot : int
            Strips of a whole plot, side by side [1].

        Returns
        -------
        ndarray, shape (...)
            [%^2]; infinite where a strip has no length.

        Source: expected residual mean square of the block analysis when methods are dealt at random within blocks.
        """
        length = high_m - low_m
        sound = (length > 0).all(axis=-1)
        high = np.where(length > 0, high_m, low_m + 1.0)
        strips = low_m.shape[-1]
        plots, plot = strips // per_plot, np.arange(strips) // per_plot
        point = mean_correlation(0.0, cut_m, 0.0, cut_m, self.reach_across_m)
        own = self.smooth * point * mean_correlation(low_m, high, low_m, high, self.reach_along_m)
        own = own + self.patch / (cut_m * (high - low_m)) + self.own
        # Variances of the plots' means, less the covariances between plots; a mean takes one in per_plot of each strip.
        alone, between = 1.0 / (plots * per_plot**2), 1.0 / (plots * (plots - 1) * per_plot**2)
        total = alone * own.sum(axis=-1)
        for apart in range(1, strips):
            at = apart * slot_m
            across = float(mean_correlation(0.0, cut_m, at, at + cut_m, self.reach_across_m))
            one, two = (slice(None, strips - apart), slice(apart, None))
            along = mean_correlation(
                low_m[..., one], high[..., one], low_m[..., two], high[..., two], self.reach_along_m
            )
            weight = np.where(plot[one] == plot[two], alone, -between)
            total = total + 2.0 * self.smooth * across * (along * weight).sum(axis=-1)
        mean: Floats = np.where(sound, total, inf)
        return mean


def ground_of(plan: Plan) -> Ground:
    """Return the ground a plan speaks of.

    The level is ``layout.strip_error_percent``: the error of neighbouring strips of the size named in ``[unevenness]``.
    What weighing leaves of it is shared out between patches and a smooth surface. Dry-matter samples,
    laboratory values and the way of weighing come on top.

    Parameters
    ----------
    plan : Plan
        Strip error, unevenness, sampling.

    Returns
    -------
    Ground

    Source: definition; defaults in docs/layout.md.
    """
    here, level = plan.unevenness, plan.layout.strip_error_percent**2
    soil = max(level - here.weighing_percent**2, 0.0)
    width, length = here.strip_width_m, here.strip_length_m
    ends = np.zeros(2), np.full(2, length)
    pair = strip_covariance(np.array([0.0, width]), width, *ends, here.reach_across_m, here.reach_along_m)
    sampled = (100.0 * plan.outcome.sample_sd_points / plan.outcome.expected_dry_matter_percent) ** 2
    sampled += plan.outcome.content_error_percent**2
    samples = plan.layout.samples_per_strip
    return Ground(
        smooth=(1.0 - here.patch_share) * soil / float(pair[0, 0] - pair[0, 1]),
        reach_across_m=here.reach_across_m,
        reach_along_m=here.reach_along_m,
        patch=here.patch_share * soil * width * length,
        own=min(here.weighing_percent**2, level)
        + weighing_error_percent(plan) ** 2
        + (sampled / samples if samples else 0.0),
        common=0.0 if samples else sampled,
    )


def weighing_error_percent(plan: Plan) -> float:
    """Return how far one strip's mass may be off by the way it is to be weighed, beyond a weighbridge's error [%].

    Parameters
    ----------
    plan : Plan
        Way of weighing; expected yield and trailers for the number of loads.

    Source: `evenground.basis.weighing_ways`.
    """
    here, dry_t_per_ha = plan.unevenness, plan.outcome.expected_t_per_ha * plan.outcome.dry_share
    fresh_t = dry_t_per_ha / (plan.outcome.expected_dry_matter_percent / 100.0)
    loads = fresh_t * here.strip_width_m * here.strip_length_m / 1e4 / plan.effort.trailer_t
    return 100.0 * own_sd_fraction(plan.layout.weighing, ceil(loads))


def sight_of(plan: Plan) -> Sight:
    """Return what numbers of blocks can see under a plan."""
    grid, common = plan.grid, ground_of(plan).common
    if grid is not None:
        # What a whole plot's mean carries of an error of each method is shared between its methods.
        return Sight((1,) * len(grid.whole_levels), common / grid.per_plot, grid.per_plot)
    numbers = [plan.strips_in_block(plan.baseline.letter)]
    numbers += [plan.strips_in_block(method.letter) for method in plan.methods if not method.baseline]
    return Sight(tuple(numbers), common)


@dataclass(frozen=True, slots=True)
class Sight:
    """What gains a number of blocks can see, as factors of the standard error.

    Attributes
    ----------
    numbers : tuple of int
        Strips of each method in a block [1], the baseline first; with two factors whole plots of each row pattern.
    common : float
        Variance all strips of a method share [%^2]; with two factors that in the mean of a whole plot.
    per_plot : int
        Strips of a whole plot [1]; 1 where every strip is drawn by itself.
    """

    numbers: tuple[int, ...]
    common: float = 0.0
    per_plot: int = 1

    @property
    def strips(self) -> int:
        """Strips of a block [1]."""
        return sum(self.numbers) * self.per_plot

    @property
    def factor(self) -> float:
        """Variance of a block's difference in strip error variances, the largest of all [1]: 2 with one strip each."""
        return 1.0 / self.numbers[0] + 1.0 / min(self.numbers[1:])

    def residual_df(self, blocks: int) -> int:
        """Residual degrees of freedom of the block analysis [1]."""
        return blocks * (sum(self.numbers) - 1) - (len(self.numbers) - 1)

    def gain_percent(self, sum_of_variances: float, blocks: int) -> float:
        """Return the detectable gain for blocks whose strip error variances add up to a sum.

        Parameters
        ----------
        sum_of_variances : float
            Strip error variance within blocks, added over the blocks [%^2].
        blocks : int
            Blocks [1].

        Returns
        -------
        float
            Percent of the mean [%]; infinite with fewer than two blocks.

        Source: the gain is a mean of block differences, each with `factor` times its block's variance.
        """
        if blocks < 2 or not np.isfinite(sum_of_variances):
            return inf
        return detectable_gain(
            sigma=sqrt(sum_of_variances / blocks),
            variance_factor=self.factor / blocks,
            residual_df=self.residual_df(blocks),
            level=LEVEL,
            power=POWER,
            common_variance=2.0 * self.common,
        )

    def quick_percent(self, sum_of_variances: ArrayLike, blocks: ArrayLike) -> Floats:
        """Return the same for many numbers of blocks at once, quickly; exact where strips share no error.

        Parameters
        ----------
        sum_of_variances : array_like
            As `gain_percent`.
        blocks : array_like of int
            Blocks [1].

        Returns
        -------
        ndarray
            [%]

        Source: as `gain_percent`, with the degrees of freedom of the strips alone.
        """
        number = np.atleast_1d(np.asarray(blocks))
        factor = np.array([inf if b < 2 else _factor(self.residual_df(int(b))) for b in number])
        safe = np.maximum(number, 1)
        error = np.sqrt(self.factor * np.asarray(sum_of_variances) / safe**2 + 2.0 * self.common)
        out: Floats = np.where(np.isinf(factor), inf, np.where(np.isinf(factor), 1.0, factor) * error)
        return out


@lru_cache(maxsize=512)
def _factor(df: int) -> float:
    return detectable_gain(sigma=1.0, variance_factor=1.0, residual_df=df, level=LEVEL, power=POWER)
