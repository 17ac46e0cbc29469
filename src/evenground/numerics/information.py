"""What knowing more is worth when one of two actions must be chosen: adopt (gain in money) or keep (zero)."""

from __future__ import annotations

import math

from scipy.special import ndtr


def unit_normal_loss(u: float) -> float:
    """Return the unit normal loss integral, ``phi(u) - u (1 - Phi(u))``.

    Parameters
    ----------
    u : float
        Distance from the break-even in standard deviations [1].

    Returns
    -------
    float
        Expected excess of a standard normal quantity over u [1].

    Raises
    ------
    ValueError
        If u is not a number.

    Source: Raiffa & Schlaifer, Applied Statistical Decision Theory (1961) (from memory).

    Examples
    --------
    >>> round(unit_normal_loss(1.0), 6)
    0.083315
    """
    if math.isnan(u):
        raise ValueError("u is not a number")
    if math.isinf(u):
        return 0.0 if u > 0 else math.inf
    return max(0.0, math.exp(-0.5 * u * u) / math.sqrt(2 * math.pi) - u * float(ndtr(-u)))


def value_of_perfect_information(mean: float, sd: float) -> float:
    """Return what it is worth to know a normal net gain exactly before choosing.

    Parameters
    ----------
    mean, sd : float
        Mean and standard deviation of the net gain [money per area].

    Returns
    -------
    float
        Expected value of perfect information [money per area], ``sd * L(abs(mean) / sd)``; 0 without uncertainty.

    Raises
    ------
    ValueError
        If a number is not finite or sd is below 0.

    Source: Raiffa & Schlaifer (1961) (from memory).

    Examples
    --------
    >>> round(value_of_perfect_information(-10, 40), 5)
    11.45379
    """
    if not (math.isfinite(mean) and 0 <= sd < math.inf):
        raise ValueError(f"mean must be finite and sd at least 0, got {mean}, {sd}")
    return sd * unit_normal_loss(abs(mean) / sd) if sd > 0 else 0.0


def value_of_sample_information(mean: float, sd: float, standard_error: float) -> float:
    """Return what a trial is worth before it is sown, its cost not counted.

    Answers: by how much does the expected outcome of the choice rise if one more trial with this standard error is seen
    first? The expected net gain after the trial is normal with SD ``sd^2 / sqrt(sd^2 + standard_error^2)``.

    Parameters
    ----------
    mean, sd : float
        Mean and standard deviation of the net gain as known now [money per area].
    standard_error : float
        Standard error of the trial's gain about the long-run net gain, season included [money per area].

    Returns
    -------
    float
        Expected value of sample information [money per area].

    Raises
    ------
    ValueError
        If a number is not finite, sd is below 0 or the standard error is not above 0.

    Source: Raiffa & Schlaifer (1961); Ades, Lu & Claxton, Medical Decision Making 24 (2004) 207-227 (both from memory).

    Examples
    --------
    >>> round(value_of_sample_information(-10, 40, 30), 5)
    8.38448
    """
    if not 0 < standard_error < math.inf:
        raise ValueError(f"the standard error must be above 0 and finite, got {standard_error}")
    after = sd * sd / math.hypot(sd, standard_error) if sd else 0.0
    return value_of_perfect_information(mean, after)
