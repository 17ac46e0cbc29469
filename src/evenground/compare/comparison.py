"""What the comparison gives back: frozen results with the keys of ``compare --json``."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from evenground.compare.factor_effect import FactorEffect, FactorTest
from evenground.compare.randomisation_result import RandomisationTest, none_if_nan
from evenground.numerics.normal_posterior import GainPosterior

__all__ = [
    "Comparison",
    "FactorEffect",
    "FactorTest",
    "Interval",
    "MethodComparison",
    "Priors",
    "RandomisationTest",
    "StripResidual",
    "none_if_nan",
]

Interval = tuple[float, float]


@dataclass(frozen=True)
class Priors:
    """What was assumed before the data, in the outcome's unit.

    Attributes
    ----------
    gain_mean, gain_sd : float or None
        Long-run gain [outcome unit]; None for a flat prior.
    gain_source : str
        Where it comes from.
    season_sd : float
        Spread of one season's gain about the long run [outcome unit].
    season_source : str
        Where it comes from.
    strip_error_median, strip_error_log_sd : float or None
        Lognormal prior of the strip error [outcome unit; 1]; None for 1/sigma.
    strip_error_source : str
        Where it comes from.
    """

    gain_mean: float | None = None
    gain_sd: float | None = None
    gain_source: str = "flat"
    season_sd: float = 0.0
    season_source: str = "none"
    strip_error_median: float | None = None
    strip_error_log_sd: float | None = None
    strip_error_source: str = "1/sigma"

    def as_dict(self) -> dict[str, Any]:
        """Return the ``prior`` key of the JSON."""
        return {
            "gain": "flat" if self.gain_sd is None else {"mean": self.gain_mean, "sd": self.gain_sd},
            "gain_source": self.gain_source,
            "season_sd": self.season_sd,
            "season_source": self.season_source,
            "strip_error": "1/sigma"
            if self.strip_error_median is None
            else {"median": self.strip_error_median, "log_sd": self.strip_error_log_sd},
            "strip_error_source": self.strip_error_source,
        }


@dataclass(frozen=True)
class MethodComparison:
    """One method against the baseline.

    Attributes
    ----------
    method, baseline : str
        Who is compared.
    gain : float
        Method minus baseline [outcome unit].
    standard_error : float
        Its standard error, shared errors included [outcome unit].
    df, df_satterthwaite : float or None
        Degrees of freedom: Kenward-Roger (blocks random) or residual (blocks fixed); Satterthwaite where it exists [1].
    t, p : float or None
        Two-sided test; None where no p-value may be given.
    interval, interval_simultaneous : (float, float)
        At ``level`` [outcome unit].
    p_simultaneous : float or None
        Adjusted for all comparisons with the baseline [1].
    level : float
        Level of the intervals [1].
    randomisation : RandomisationTest or None
        None where no block can be used or no p-value may be given.
    posterior : GainPosterior
        This season's, the long-run and next season's gain.
    variance_factor, residual_mean_square, residual_df : float
        The likelihood the posterior used: fixed-block analysis, with two factors the gain's own error
        [1; outcome unit squared; 1].
    shared_sd : float
        Standard deviation of the errors several strips share, as they enter the gain [outcome unit].
    no_p_reason : str
        Why no p-value is given, in words; empty where one is.
    gain_with_position : float or None
        Gain with the position along the field as covariate, as sensitivity [outcome unit].
    """

    method: str
    baseline: str
    gain: float
    standard_error: float
    df: float
    df_satterthwaite: float | None
    t: float
    p: float | None
    interval: Interval
    interval_simultaneous: Interval
    p_simultaneous: float | None
    level: float
    randomisation: RandomisationTest | None
    posterior: GainPosterior
    variance_factor: float
    residual_mean_square: float
    residual_df: float
    shared_sd: float = 0.0
    no_p_reason: str = ""
    gain_with_position: float | None = None

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``comparisons`` in the JSON; nothing in it is NaN."""
        test = self.randomisation
        theta = self.posterior.theta
        return {
            "method": self.method,
            "baseline": self.baseline,
            "gain": self.gain,
            "standard_error": self.standard_error,
            "df": self.df,
            "df_satterthwaite": self.df_satterthwaite,
            "t": none_if_nan(self.t),
            "p": self.p,
            "interval": list(self.interval),
            "level": self.level,
            "interval_simultaneous": list(self.interval_simultaneous),
            "p_simultaneous": self.p_simultaneous,
            "p_randomisation": test.p if test else None,
            "p_randomisation_exact": test.exact if test else None,
            "p_randomisation_error": test.error if test else None,
            "p_randomisation_smallest": test.smallest if test else None,
            "reference_set_size": test.size if test else None,
            "posterior": {
                "mean": none_if_nan(theta.mean),
                "sd": none_if_nan(theta.sd),
                "interval": list(theta.interval(self.level)),
                "chance_positive": theta.chance_above(0.0),
            },
            "shared_error_sd": self.shared_sd,
            "no_p_reason": self.no_p_reason or None,
            "gain_with_position": self.gain_with_position,
        }


@dataclass(frozen=True)
class StripResidual:
    """What is left of one strip after method and block.

    Attributes
    ----------
    strip, method, block : str
        Which strip.
    fitted, residual : float
        Value expected from method and block, and observed minus that [outcome unit].
    gain_without : float or None
        The first comparison's gain if this strip's block were left out [outcome unit].
    """

    strip: str
    method: str
    block: str
    fitted: float
    residual: float
    gain_without: float | None


@dataclass(frozen=True)
class Comparison:
    """The whole comparison.

    Attributes
    ----------
    strips, blocks : int
        Strips and blocks used [1].
    baseline : str
        Baseline method.
    method_means : dict of str to float
        Model-adjusted means [outcome unit].
    block_effects : {"random", "fixed"}
        How blocks were treated.
    block_variance : float or None
        Block variance estimated without a bound [outcome unit squared]; None where there is none.
    residual_variance : float
        [outcome unit squared].
    priors : Priors
        Used for the posteriors.
    comparisons : tuple of MethodComparison
        In order of first appearance.
    residuals : tuple of StripResidual
        One a strip.
    notes : tuple of str
        What a reader must know, in plain words.
    seed : int
        Seed used where a test was sampled.
    plot_variance : float or None
        With two factors: variance of whole plots within blocks [outcome unit squared].
    factor_effects : tuple of FactorEffect
        With two factors: what came out for each.
    factor_tests : tuple of FactorTest
        With two factors: whether each does anything at all.
    """

    strips: int
    blocks: int
    baseline: str
    method_means: dict[str, float]
    block_effects: str
    block_variance: float | None
    residual_variance: float
    priors: Priors
    comparisons: tuple[MethodComparison, ...]
    residuals: tuple[StripResidual, ...]
    notes: tuple[str, ...]
    seed: int
    plot_variance: float | None = None
    factor_effects: tuple[FactorEffect, ...] = ()
    factor_tests: tuple[FactorTest, ...] = ()

    def against_baseline(self, method: str) -> MethodComparison:
        """Return the comparison of a method with the baseline.

        Raises
        ------
        KeyError
            If the method is not in the comparison.
        """
        for one in self.comparisons:
            if one.method == method:
                return one
        raise KeyError(method)

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON of ``compare``."""
        return {
            "strips": self.strips,
            "blocks": self.blocks,
            "baseline": self.baseline,
            "method_means": self.method_means,
            "block_effects": self.block_effects,
            "variance_components": {
                "block": self.block_variance,
                **({} if self.plot_variance is None else {"whole_plot": self.plot_variance}),
                "residual": self.residual_variance,
            },
            "prior": self.priors.as_dict(),
            "comparisons": [c.as_dict() for c in self.comparisons],
            **({"factor_effects": [e.as_dict() for e in self.factor_effects]} if self.factor_effects else {}),
            **({"factor_tests": [t.as_dict() for t in self.factor_tests]} if self.factor_tests else {}),
            "notes": list(self.notes),
            "seed": self.seed,
        }
