"""How many dry-matter samples and scoops are enough, and what one sample for a whole method does to a test."""

from __future__ import annotations

import math

from scipy.special import stdtr, stdtrit

# Sampling may add this share to the strip error's variance; the intervals are then 5 % wider. Judgement.
LARGEST_SHARE = 0.1


def sampling_error_percent(sd_points: float, dry_matter_percent: float) -> float:
    """Say what the error of one dry-matter figure is in percent of the yield [%].

    Parameters
    ----------
    sd_points : float
        Standard deviation of the figure, in points of dry matter [%].
    dry_matter_percent : float
        Dry matter [%].

    Raises
    ------
    ValueError
        If the dry matter is not above zero.

    Source: the yield is proportional to the dry matter.

    Examples
    --------
    >>> round(sampling_error_percent(1.0, 33.0), 1)
    3.0
    """
    if not dry_matter_percent > 0.0:
        raise ValueError(f"dry matter must be above 0 %, not {dry_matter_percent}")
    return 100.0 * sd_points / dry_matter_percent


def samples_needed(
    sd_points: float, dry_matter_percent: float, strip_error_percent: float, largest_share: float = LARGEST_SHARE
) -> int:
    """Say how many samples each strip needs so that sampling hardly widens the answer [1].

    Parameters
    ----------
    sd_points : float
        Standard deviation of one sample, in points of dry matter [%].
    dry_matter_percent : float
        Dry matter [%].
    strip_error_percent : float
        Spread of neighbouring strips sown alike [%].
    largest_share : float
        What sampling may add to the variance of a strip, as a share of it [1].

    Raises
    ------
    ValueError
        If the strip error or the share is not above zero.

    Source: the variance of a mean of n samples is that of one over n; Cochran, Sampling Techniques, chapter on
    subsampling (from memory).

    Examples
    --------
    >>> samples_needed(0.5, 33.0, 5.0), samples_needed(1.0, 33.0, 5.0)
    (1, 4)
    """
    if not (strip_error_percent > 0.0 and largest_share > 0.0):
        raise ValueError("the strip error and the share must be above 0")
    one = sampling_error_percent(sd_points, dry_matter_percent) ** 2
    return max(1, math.ceil(one / (largest_share * strip_error_percent**2) - 1e-9))


def scoops_needed(scoop_sd_points: float, drying_sd_points: float, wanted_sd_points: float) -> int | None:
    """Say how many scoops to mix into one sample [1].

    Parameters
    ----------
    scoop_sd_points : float
        How far one scoop lies from the load, in points of dry matter [%].
    drying_sd_points : float
        How far drying and weighing lie from the mixed sample [%]; more scoops do not help against it.
    wanted_sd_points : float
        What one sample may be off [%].

    Returns
    -------
    int or None
        None where drying alone is further off than wanted: then a second bag has to be dried.

    Source: independent errors add as squares.

    Examples
    --------
    >>> scoops_needed(2.0, 0.3, 1.0), scoops_needed(2.0, 1.2, 1.0)
    (5, None)
    """
    left = wanted_sd_points**2 - drying_sd_points**2
    if left <= 0.0:
        return None
    return max(1, math.ceil(scoop_sd_points**2 / left - 1e-9))


def false_alarms_with_one_sample(
    blocks: int, sd_points: float, dry_matter_percent: float, strip_error_percent: float, alpha: float = 0.05
) -> float:
    """Say how often a paired test errs that rests on one dry-matter sample a method and does not know it [1].

    Parameters
    ----------
    blocks : int
        Pairs of strips [1].
    sd_points : float
        Standard deviation of one sample, in points of dry matter [%].
    dry_matter_percent : float
        Dry matter [%].
    strip_error_percent : float
        Spread of neighbouring strips sown alike [%].
    alpha : float
        Level the test claims [1].

    Raises
    ------
    ValueError
        With fewer than two blocks.

    Source: own derivation. The two figures' errors move all differences alike and leave their spread alone, so t is
    inflated by sqrt(1 + n s^2 / sigma^2).

    Examples
    --------
    >>> round(false_alarms_with_one_sample(8, 1.0, 33.0, 5.0), 2)
    0.27
    """
    if blocks < 2:
        raise ValueError("a paired test needs at least two blocks")
    ratio = sampling_error_percent(sd_points, dry_matter_percent) / strip_error_percent
    df = float(blocks - 1)
    reach = float(stdtrit(df, 1.0 - alpha / 2.0)) / math.sqrt(1.0 + blocks * ratio**2)
    return float(2.0 * stdtr(df, -reach))
