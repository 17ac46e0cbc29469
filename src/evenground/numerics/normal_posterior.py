"""What one season's gain says about this season, the long run and the next season, when the strip error is not known.

The gain is normal given the strip error sigma; sigma is taken out by one quadrature over its logarithm. Every answer is
therefore a mixture of normal distributions with known weights, exact given sigma, without random numbers.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

Floats = NDArray[np.float64]
# Nodes whose weight is below exp(-38) = 3e-17 of the largest are left out.
_DEPTH = 38.0
_WIDEST = 300.0
_SQRT_2PI = math.sqrt(2 * math.pi)


@dataclass(frozen=True, slots=True)
class GainData:
    """What the trial gives: the gain and the two parts of its error.

    Attributes
    ----------
    gain : float
        Estimated gain of the fixed-block analysis [outcome unit].
    variance_factor : float
        Variance of the gain per unit of strip variance [1], for example 2 / n for n pairs.
    residual_mean_square : float
        Residual mean square of the fixed-block analysis [outcome unit squared]; ignored with 0 degrees of freedom.
    residual_df : float
        Its degrees of freedom [1], 0 or more.
    common_variance : float
        Variance of an error all blocks share, for example of one dry-matter figure per method [outcome unit squared].
    """

    gain: float
    variance_factor: float
    residual_mean_square: float
    residual_df: float
    common_variance: float = 0.0

    def __post_init__(self) -> None:
        numbers = (self.gain, self.variance_factor, self.residual_df, self.common_variance)
        if not all(map(math.isfinite, numbers)):
            raise ValueError("gain, variance factor, degrees of freedom and common variance must be finite numbers")
        if self.variance_factor <= 0 or self.residual_df < 0 or self.common_variance < 0:
            raise ValueError("the variance factor must be above 0, degrees of freedom and common variance at least 0")
        if self.residual_df > 0 and not 0 <= self.residual_mean_square < math.inf:
            raise ValueError(f"the residual mean square must be a number of at least 0: {self.residual_mean_square}")


@dataclass(frozen=True, slots=True)
class GainPrior:
    """What is held likely about the gain before the trial.

    Attributes
    ----------
    mean : float
        Mean of the long-run gain [outcome unit].
    sd : float
        Its standard deviation [outcome unit]; infinite for a flat prior.
    season_sd : float
        Standard deviation of a season's gain around the long-run gain, omega [outcome unit].
    """

    mean: float = 0.0
    sd: float = math.inf
    season_sd: float = 0.0

    def __post_init__(self) -> None:
        if not math.isfinite(self.mean) or not self.sd > 0 or not 0 <= self.season_sd < math.inf:
            raise ValueError(f"mean must be finite, sd above 0 and season_sd at least 0; given {self}")

    @property
    def flat(self) -> bool:
        """Whether every gain is held equally likely."""
        return math.isinf(self.sd)


@dataclass(frozen=True, slots=True)
class ErrorPrior:
    """What is held likely about the strip error sigma before the trial: lognormal.

    Attributes
    ----------
    median : float
        Median of sigma [outcome unit].
    log_sd : float
        Standard deviation of log sigma [1].
    """

    median: float
    log_sd: float

    def __post_init__(self) -> None:
        if not (0 < self.median < math.inf and 0 < self.log_sd < math.inf):
            raise ValueError(f"median and log_sd must be above 0 and finite; given {self}")


@dataclass(frozen=True, slots=True)
class Mixture:
    """A mixture of normal distributions.

    Attributes
    ----------
    weights, means, sds : ndarray, shape (nodes,)
        Weight [1], mean and standard deviation [outcome unit] of each part; weights sum to 1.
    mean, sd : float
        Mean and standard deviation [outcome unit]; nan where they do not exist (flat prior with 1 or 2 residual df).
    """

    weights: Floats
    means: Floats
    sds: Floats
    mean: float
    sd: float

    def chance_above(self, x: float) -> float:
        """Return the probability that the quantity is above ``x`` [1]."""
        return float(self.weights @ ndtr((self.means - x) / self.sds))

    def density(self, x: ArrayLike) -> Floats:
        """Return the probability density at each x [1 / outcome unit]."""
        grid = np.asarray(x, dtype=np.float64)[..., np.newaxis]
        z = (grid - self.means) / self.sds
        values: Floats = np.exp(-0.5 * z * z) @ (self.weights / (self.sds * _SQRT_2PI))
        return values

    def quantile(self, p: float) -> float:
        """Return the value that is exceeded with probability ``1 - p`` [outcome unit]."""
        if not 0 < p < 1:
            raise ValueError(f"p must lie between 0 and 1, got {p}")
        ends = self.means + ndtri(p) * self.sds
        # A quantile of a mixture lies between the smallest and the largest quantile of its parts.
        start = float(self.weights @ self.means) if p == 0.5 else float(ends[_middle(self.weights)])
        return _root(self._distance_to(p), start, float(ends.min()), float(ends.max()))

    def interval(self, level: float) -> tuple[float, float]:
        """Return the equal-tailed interval that holds the quantity with probability ``level`` [outcome unit]."""
        if not 0 < level < 1:
            raise ValueError(f"level must lie between 0 and 1, got {level}")
        return self.quantile((1 - level) / 2), self.quantile((1 + level) / 2)

    def _distance_to(self, p: float) -> Callable[[float], tuple[float, float]]:
        """Return a function that gives distribution function minus p, and density."""
        scaled = self.weights / (self.sds * _SQRT_2PI)

        def at(x: float) -> tuple[float, float]:
            z = (x - self.means) / self.sds
            # The smaller tail is summed, so that far quantiles keep their digits.
            off = self.weights @ ndtr(z) - p if p <= 0.5 else (1 - p) - self.weights @ ndtr(-z)
            return float(off), float(scaled @ np.exp(-0.5 * z * z))

        return at


@dataclass(frozen=True, slots=True)
class GainPosterior:
    """The three gains after the trial.

    Attributes
    ----------
    theta : Mixture
        This season's gain on this field [outcome unit].
    mu : Mixture
        The long-run gain on this field [outcome unit].
    next_season : Mixture
        Next season's gain on this field [outcome unit].
    sigma : ndarray, shape (nodes,)
        Values of the strip error at which the quadrature looked [outcome unit].
    weights : ndarray, shape (nodes,)
        Posterior weight of each [1].
    """

    theta: Mixture
    mu: Mixture
    next_season: Mixture
    sigma: Floats
    weights: Floats

    @property
    def sigma_median(self) -> float:
        """Posterior median of the strip error [outcome unit], to the spacing of the nodes."""
        return float(self.sigma[_middle(self.weights)])


def gain_posterior(data: GainData, prior: GainPrior | None = None, error: ErrorPrior | None = None) -> GainPosterior:
    """Return the posterior of this season's, the long-run and next season's gain.

    Answers: given what the strips showed and what was held likely before, where does the gain lie? Likelihood
    ``gain ~ N(theta, f sigma^2 + common variance)`` and ``df * s^2 / sigma^2 ~ chi-square(df)``; ``theta = mu + N(0,
    omega^2)``, next season the same with a new draw; ``mu ~ N(m, s0^2)`` or flat; sigma lognormal, or 1 / sigma.

    Parameters
    ----------
    data : GainData
        Gain, variance factor, residual mean square, its degrees of freedom, common variance.
    prior : GainPrior or None
        Prior of the gain; None for flat without differences between seasons.
    error : ErrorPrior or None
        Lognormal prior of the strip error; None for 1 / sigma.

    Returns
    -------
    GainPosterior
        Three mixtures. With a flat prior and 1 / sigma theta is the t interval of the fixed-block analysis.

    Raises
    ------
    ValueError
        If neither residual degrees of freedom nor a prior tell the strip error, or the mean square is zero under
        1 / sigma (the posterior would not be proper).

    Source: Gelman et al., Bayesian Data Analysis (2013), sections 2.5, 3.2 and 5.4 (chapter numbers from memory).

    Examples
    --------
    >>> posterior = gain_posterior(GainData(0.6, 2 / 8, 0.25, 7))
    >>> [round(x, 3) for x in posterior.theta.interval(0.90)]
    [0.126, 1.074]
    """
    prior = prior or GainPrior()
    if error is None and (data.residual_df <= 0 or data.residual_mean_square <= 0):
        raise ValueError("without a prior the strip error needs residual degrees of freedom and a mean square above 0")
    sigma, weights = _strip_error(data, prior, error)
    variance = data.variance_factor * sigma**2 + data.common_variance
    season = prior.season_sd**2
    if prior.flat:
        return _without_prior(data, season, sigma, weights, known=error is not None)
    mu_mean, mu_variance = _combine(data.gain, variance + season, prior.mean, prior.sd**2)
    theta_mean, theta_variance = _combine(data.gain, variance, prior.mean, prior.sd**2 + season)
    return GainPosterior(
        _mixture(weights, theta_mean, theta_variance),
        _mixture(weights, mu_mean, mu_variance),
        _mixture(weights, mu_mean, mu_variance + season),
        sigma,
        weights,
    )


def _combine(gain: float, variance: Floats, mean: float, prior_variance: float) -> tuple[Floats, Floats]:
    """Return mean and variance of a normal quantity after one normal observation of it."""
    share = prior_variance / (prior_variance + variance)
    return mean + share * (gain - mean), share * variance


def _mixture(weights: Floats, means: Floats, variances: Floats) -> Mixture:
    """Return a mixture whose moments exist, because a prior bounds the gain or the strip error."""
    centre = float(weights @ means)
    spread = float(weights @ (variances + (means - centre) ** 2))
    return Mixture(weights, means, np.sqrt(variances), centre, math.sqrt(spread))


def _without_prior(data: GainData, season: float, sigma: Floats, weights: Floats, *, known: bool) -> GainPosterior:
    """Return the posterior under a flat prior on the gain: everything lies around the estimate."""
    df = data.residual_df
    centre = data.gain if known or df > 1 else math.nan
    # Under 1 / sigma the mean of sigma^2 has a closed form; the nodes would cut its slow tail.
    square = float(weights @ sigma**2) if known else data.residual_mean_square * df / (df - 2) if df > 2 else math.nan
    parts = []
    for seasons in range(3):
        added = data.common_variance + seasons * season
        sds = np.sqrt(data.variance_factor * sigma**2 + added)
        sd = math.sqrt(data.variance_factor * square + added)
        parts.append(Mixture(weights, np.full_like(sigma, data.gain), sds, centre, sd))
    return GainPosterior(parts[0], parts[1], parts[2], sigma, weights)


def _log_weight(u: Floats, data: GainData, prior: GainPrior, error: ErrorPrior | None) -> Floats:
    """Return the log posterior density of u = log sigma, up to a constant."""
    square = np.exp(2 * u)
    total = np.zeros_like(u)
    if data.residual_df > 0:
        total -= data.residual_df * (u + data.residual_mean_square / (2 * square))
    if error is not None:
        total -= 0.5 * ((u - math.log(error.median)) / error.log_sd) ** 2
    if not prior.flat:
        spread = prior.sd**2 + prior.season_sd**2 + data.variance_factor * square + data.common_variance
        total -= 0.5 * (np.log(spread) + (data.gain - prior.mean) ** 2 / spread)
    return total


def _strip_error(data: GainData, prior: GainPrior, error: ErrorPrior | None) -> tuple[Floats, Floats]:
    """Return nodes of sigma and their posterior weights.

    The trapezoidal rule on log sigma converges faster than any power of the step for such smooth, fading functions
    (Trefethen & Weideman, SIAM Review 56 (2014) 385-458, from memory), so that a step of half the narrowest feature
    gives full precision.
    """
    low, high, step = _range(data, prior, error)
    u = np.linspace(low, high, int(min(max(math.ceil((high - low) / step), 24), 4000)) + 1)
    log_weight = _log_weight(u, data, prior, error)
    weight = np.exp(log_weight - log_weight.max())
    kept = weight > math.exp(-_DEPTH)
    return np.exp(u[kept]), weight[kept] / weight[kept].sum()


def _range(data: GainData, prior: GainPrior, error: ErrorPrior | None) -> tuple[float, float, float]:
    """Return where log sigma has weight, and a step fine enough for every feature in there."""
    low, high = _bracket(data, prior, error)
    step = (high - low) / 200
    # Zoom in until the part that carries weight fills a good share of the coarse grid.
    for _ in range(6):
        u = np.linspace(low, high, 201)
        log_weight = _log_weight(u, data, prior, error)
        carries = np.flatnonzero(log_weight > log_weight.max() - _DEPTH)
        step = float(u[1] - u[0])
        low, high = float(u[max(carries[0] - 1, 0)]), float(u[min(carries[-1] + 1, 200)])
        if len(carries) > 60:
            break
    top = float(u[int(log_weight.argmax())])
    curvature = 4.0 + (0.0 if error is None else error.log_sd**-2)
    if data.residual_df > 0:
        curvature += 2 * data.residual_df * max(1.0, data.residual_mean_square * math.exp(-2 * top))
    return low, high, min(step * 2, 0.12, 0.6 / math.sqrt(curvature))


def _bracket(data: GainData, prior: GainPrior, error: ErrorPrior | None) -> tuple[float, float]:
    """Return ends between which all the weight lies, generously."""
    ends = []
    if error is not None:
        # The other factors are bounded, or fade towards small sigma, or fall by at most df + 1 per unit of log sigma.
        reach = 9.0 * error.log_sd + (data.residual_df + 1) * error.log_sd**2
        ends += [math.log(error.median) - reach, math.log(error.median) + reach]
    if data.residual_df > 0 and data.residual_mean_square > 0:
        centre = 0.5 * math.log(data.residual_mean_square)
        ends += [centre - 3.0, centre + (0.0 if error else _DEPTH / min(data.residual_df, _DEPTH) + 3.0)]
    low, high = min(ends), max(ends)
    if not prior.flat and data.gain != prior.mean:
        # A gain far from its prior pulls sigma up, but hardly past the value that makes it one standard error.
        surprise = math.log(abs(data.gain - prior.mean)) - 0.5 * math.log(data.variance_factor)
        high = max(high, surprise + 1.0 + (9.0 * error.log_sd if error else _DEPTH / min(data.residual_df, _DEPTH)))
    # Squares of sigma must stay inside the range of floating point numbers.
    return max(low, -_WIDEST), min(high, _WIDEST)


def _middle(weights: Floats) -> int:
    """Return the place of the weighted median."""
    return min(int(np.searchsorted(np.cumsum(weights), 0.5)), len(weights) - 1)


def _root(function: Callable[[float], tuple[float, float]], start: float, low: float, high: float) -> float:
    """Return the zero of a rising function by Newton steps kept inside a shrinking bracket."""
    x = min(max(start, low), high)
    for _ in range(200):
        value, slope = function(x)
        low, high = (x, high) if value < 0 else (low, x)
        step = value / slope if slope > 0 else math.inf
        new = x - step
        if not low <= new <= high:
            new = 0.5 * (low + high)
        if abs(new - x) <= 1e-13 * (abs(x) + abs(new)) or high - low <= 1e-300:
            return new
        x = new
    return x
