"""What came out for each factor where two were compared at once."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

from evenground.compare.randomisation_result import RandomisationTest, none_if_nan

JudgedBy = Literal["whole plots", "strips within whole plots"]


@dataclass(frozen=True)
class FactorEffect:
    """One step of a factor, or how far it differs between the levels of the other.

    Attributes
    ----------
    factor : str
        What is compared, in words.
    level, against : str
        Levels in words; the effect is the first minus the second. For two factors together: the step of the factor
        within at this whole level, less the same step at the baseline's.
    effect : float
        Averaged over the levels of the other factor [outcome unit].
    standard_error, df, t : float
        Shared errors included [outcome unit; 1; 1].
    p : float or None
        Two-sided; None where no p-value may be given.
    interval : (float, float)
        At ``interval_level`` [outcome unit].
    interval_level : float
        Level of the interval [1].
    judged_by : str
        Whose spread is its error.
    randomisation : RandomisationTest or None
        None where there is none: two factors together, or nothing was sown and weighed as drawn.
    """

    factor: str
    level: str
    against: str
    effect: float
    standard_error: float
    df: float
    t: float
    p: float | None
    interval: tuple[float, float]
    interval_level: float
    judged_by: JudgedBy
    randomisation: RandomisationTest | None = None

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``factor_effects`` in the JSON; nothing in it is NaN."""
        test = self.randomisation
        return {
            "factor": self.factor,
            "level": self.level,
            "against": self.against,
            "effect": self.effect,
            "standard_error": self.standard_error,
            "df": self.df,
            "t": none_if_nan(self.t),
            "p": self.p,
            "interval": list(self.interval),
            "interval_level": self.interval_level,
            "judged_by": self.judged_by,
            "p_randomisation": test.p if test else None,
            "p_randomisation_exact": test.exact if test else None,
            "p_randomisation_error": test.error if test else None,
            "p_randomisation_smallest": test.smallest if test else None,
            "reference_set_size": test.size if test else None,
        }


@dataclass(frozen=True)
class FactorTest:
    """Whether a factor does anything at all, over all its levels.

    Attributes
    ----------
    factor : str
        What is compared, in words.
    f : float
        Mean square of the factor over that of its error [1]; infinite where there is no spread to judge by.
    df, df_error : float
        Degrees of freedom of the two [1].
    p : float
        Two-sided [1].
    """

    factor: str
    f: float
    df: int
    df_error: float
    p: float

    def as_dict(self) -> dict[str, Any]:
        """Return one entry of ``factor_tests`` in the JSON; without any spread F and p are null."""
        sound = math.isfinite(self.f)
        return {
            "factor": self.factor,
            "f": none_if_nan(self.f),
            "df": self.df,
            "df_error": self.df_error,
            "p": self.p if sound else None,
        }
