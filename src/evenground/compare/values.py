"""What the comparison takes in: one value per strip, and errors that several strips share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from evenground.basis.errors import CannotCompareError


@dataclass(frozen=True)
class SharedError:
    """An error that sits in several strips at once, such as one dry-matter figure used for all of them.

    Attributes
    ----------
    strips : tuple of str
        Names of the strips it sits in.
    effect_sd : tuple of float
        What one standard deviation of it does to each strip's outcome [outcome unit]; with sign, where it raises one
        strip and lowers another.
    label : str
        What it is, in words for the screen.
    one_figure : bool
        Whether the strips rest on one and the same measured figure, so that a method whose strips all share it has no
        replicate of it. False for an error that only adds to measurements of their own, such as a tare.
    """

    strips: tuple[str, ...]
    effect_sd: tuple[float, ...]
    label: str
    one_figure: bool = True


@dataclass(frozen=True)
class StripValues:
    """Values per strip. The strip is the unit: rows are strips, or plots that name their strip.

    Attributes
    ----------
    strips, methods, blocks : tuple of str
        One entry a row: strip, method as sown, block.
    outcome : tuple of float
        Outcome of each row, finite [outcome unit].
    shared : tuple of SharedError
        Errors several strips have in common.
    """

    strips: tuple[str, ...]
    methods: tuple[str, ...]
    blocks: tuple[str, ...]
    outcome: tuple[float, ...]
    shared: tuple[SharedError, ...] = field(default=())

    def __post_init__(self) -> None:
        lengths = {len(self.strips), len(self.methods), len(self.blocks), len(self.outcome)}
        if len(lengths) != 1:
            raise CannotCompareError("strips, methods, blocks and outcome differ in length.")
        if not np.all(np.isfinite(self.outcome)):
            raise CannotCompareError("an outcome is not a finite number.")

    @property
    def y(self) -> NDArray[np.float64]:
        """Outcome as an array, shape (rows,) [outcome unit]."""
        return np.asarray(self.outcome, dtype=np.float64)

    @property
    def method_order(self) -> tuple[str, ...]:
        """Methods in order of first appearance."""
        return tuple(dict.fromkeys(self.methods))

    @property
    def block_order(self) -> tuple[str, ...]:
        """Blocks in order of first appearance."""
        return tuple(dict.fromkeys(self.blocks))


def codes(names: Sequence[str], order: Sequence[str]) -> NDArray[np.intp]:
    """Return the place of each name in an order, shape (len(names),) [1].

    Raises
    ------
    KeyError
        If a name is not in the order.

    Examples
    --------
    >>> codes(["b", "a", "b"], ["a", "b"]).tolist()
    [1, 0, 1]
    """
    place = {name: i for i, name in enumerate(order)}
    return np.array([place[n] for n in names], dtype=np.intp)
