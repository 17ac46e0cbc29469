"""Not worse than the baseline: a question of its own, answered with the same interval against a worthwhile loss."""

from __future__ import annotations

from dataclasses import dataclass

from evenground.compare.comparison import MethodComparison


@dataclass(frozen=True)
class NotWorse:
    """Answer to "is the method no worse than the baseline by more than a stated loss?".

    Attributes
    ----------
    shown : bool
        Whether the whole interval lies above minus the loss.
    lowest_gain : float
        Lower end of the interval [outcome unit].
    largest_loss : float
        Loss that would still be accepted [outcome unit].
    level : float
        Level of the interval [1].
    """

    shown: bool
    lowest_gain: float
    largest_loss: float
    level: float


def not_worse(comparison: MethodComparison, largest_loss: float) -> NotWorse:
    """Answer whether a method is no worse than the baseline by more than a stated loss.

    Parameters
    ----------
    comparison : MethodComparison
        Method against baseline.
    largest_loss : float
        Loss that would still be accepted, above zero [outcome unit].

    Returns
    -------
    NotWorse

    Raises
    ------
    ValueError
        If the loss is not above zero.

    Source: Piaggio et al., JAMA 308 (2012) 2594-2604 (from memory).
    """
    if not largest_loss > 0.0:
        raise ValueError(f"the accepted loss must be above zero, {largest_loss} given")
    low = comparison.interval[0]
    return NotWorse(low > -largest_loss, low, largest_loss, comparison.level)
