"""Limits fixed before a draw: which orders of methods are balanced enough to be drawn.

Every limit treats the methods alike, so a set that is closed under swapping two methods of equal number stays closed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_triangular
from scipy.special import gammainc, gammaincinv

Blocks = tuple[tuple[int, ...], ...]
Sums = list[NDArray[np.float64]]


class Limit(Protocol):
    """What an order must keep to be drawn."""

    @property
    def name(self) -> str:
        """Short name for messages and plans."""

    def allows(self, orders: NDArray[np.uint8], blocks: Blocks) -> NDArray[np.bool_]:
        """Return for each order (row) whether it keeps the limit."""

    def sums(self, orders: NDArray[np.uint8], blocks: Blocks, first_block: int) -> Sums:
        """Return for each row, the codes of some blocks from ``first_block`` on, figures that add up over blocks."""

    def keeps(self, sums: Sums) -> NDArray[np.bool_]:
        """Return from the figures of all blocks, added up, whether the limit is kept; any shape."""


@dataclass(frozen=True, slots=True)
class LinearLimit:
    """Each method's share of something that varies along the slots is near its fair share.

    ``abs(sum over slots of weight * (indicator of the method - its mean)) <= bound`` for every method. Used for a
    linear or quadratic trend along the field, for edges and for tramlines.

    Attributes
    ----------
    name : str
        What is balanced.
    weights : tuple of float
        One weight a slot [any unit].
    bound : float
        Largest imbalance allowed [unit of weights times slots], 0 for exact balance.
    """

    name: str
    weights: tuple[float, ...]
    bound: float

    def imbalance(self, orders: NDArray[np.uint8]) -> NDArray[np.float64]:
        """Return the largest imbalance over the methods of each order [unit of weights times slots]."""
        if not len(orders):
            return np.zeros(0)
        w = np.asarray(self.weights, dtype=np.float64)
        centred = w - w.mean()
        # The imbalances of all methods sum to zero, so of two methods one is enough.
        methods = np.unique(orders[:1])
        totals = [np.abs((orders == m) @ centred) for m in (methods[:1] if len(methods) == 2 else methods)]
        worst: NDArray[np.float64] = np.max(totals, axis=0)
        return worst

    def allows(self, orders: NDArray[np.uint8], blocks: Blocks) -> NDArray[np.bool_]:
        """Return for each order whether it keeps the limit."""
        _check_slots(self.name, len(self.weights), blocks)
        return self.keeps([self.imbalance(orders)])

    def sums(self, orders: NDArray[np.uint8], blocks: Blocks, first_block: int) -> Sums:
        """Return each method's part of the weights that blocks from ``first_block`` on hold, less its fair share."""
        _check_slots(self.name, len(self.weights), blocks)
        w = np.asarray(self.weights, dtype=np.float64)
        methods = sorted({m for block in blocks for m in block})
        here = (w - w.mean())[_slots_of(orders, blocks, first_block)]
        return [(orders == m) @ here for m in (methods[:1] if len(methods) == 2 else methods)]

    def keeps(self, sums: Sums) -> NDArray[np.bool_]:
        """Return whether every method's sum over all blocks is within the bound."""
        # A hair above the bound, so that rounding splits no ties.
        most = self.bound + 1e-9 * np.abs(self.weights).sum()
        kept: NDArray[np.bool_] = np.logical_and.reduce([np.abs(one) <= most for one in sums])
        return kept


@dataclass(frozen=True, slots=True)
class EqualOrdersLimit:
    """Any two methods stand in either sequence (AB, BA) equally often.

    Attributes
    ----------
    most_apart : int
        Largest difference between the numbers of AB and BA blocks [1]: 0, or 1 for an odd number of blocks. Where a
        block holds a method several times its mean place counts; equal mean places count for neither.
    name : str
        Name for messages.
    """

    most_apart: int = 0
    name: str = "equal numbers of AB and BA"

    def allows(self, orders: NDArray[np.uint8], blocks: Blocks) -> NDArray[np.bool_]:
        """Return for each order whether it keeps the limit."""
        _check_slots(self.name, orders.shape[1], blocks)
        return self.keeps(self.sums(orders, blocks, 0))

    def sums(self, orders: NDArray[np.uint8], blocks: Blocks, first_block: int) -> Sums:
        """Return for every two methods AB blocks minus BA blocks among the blocks from ``first_block`` on."""
        pairs = combinations(sorted({m for block in blocks for m in block}), 2)
        here = _blocks_of(orders, blocks, first_block)
        return [self._lead(orders, here, one, other) for one, other in pairs]

    def keeps(self, sums: Sums) -> NDArray[np.bool_]:
        """Return whether no two methods are further apart than allowed."""
        kept: NDArray[np.bool_] = np.logical_and.reduce([np.abs(one) <= self.most_apart for one in sums])
        return kept

    def _lead(self, orders: NDArray[np.uint8], blocks: Blocks, one: int, other: int) -> NDArray[np.float64]:
        """Return AB blocks minus BA blocks of each order."""
        lead = np.zeros(len(orders))
        start = 0
        for block in blocks:
            part = orders[:, start : start + len(block)]
            start += len(block)
            n_one, n_other = block.count(one), block.count(other)
            if n_one and n_other:
                place = np.arange(len(block))
                # Whole numbers: equal mean places give exactly zero.
                lead += np.sign(n_one * ((part == other) @ place) - n_other * ((part == one) @ place))
        return lead


@dataclass(frozen=True, slots=True)
class MahalanobisLimit:
    """The methods' means of some covariates lie close together, all covariates at once.

    ``M = d' C**-1 d <= bound`` for every two methods, d the difference of their covariate means and C its covariance
    over all orders of the plan without limits.

    Attributes
    ----------
    name : str
        What is balanced.
    covariates : tuple of tuple of float
        For each slot its covariates [any units; M has none].
    bound : float
        Largest M allowed [1]; see `mahalanobis_bound`.

    Source: Morgan & Rubin, Annals of Statistics 40 (2012) 1263-1282 (formula from memory); covariance within blocks by
    the finite-population formula for permutations.
    """

    name: str
    covariates: tuple[tuple[float, ...], ...]
    bound: float

    def distance(self, orders: NDArray[np.uint8], blocks: Blocks, one: int, other: int) -> NDArray[np.float64]:
        """Return M between two methods for each order [1]."""
        x = np.asarray(self.covariates, dtype=np.float64)
        numbers = Counter(m for block in blocks for m in block)
        difference = ((orders == other) @ x) / numbers[other] - ((orders == one) @ x) / numbers[one]
        # The mean over all orders is not zero where blocks hold the methods in different shares.
        mean, covariance = _permutation_moments(x, blocks, {one: -1 / numbers[one], other: 1 / numbers[other]})
        scaled = solve_triangular(self._root(covariance), (difference - mean).T, lower=True)
        m: NDArray[np.float64] = (scaled**2).sum(axis=0)
        return m

    def allows(self, orders: NDArray[np.uint8], blocks: Blocks) -> NDArray[np.bool_]:
        """Return for each order whether it keeps the limit."""
        return self.keeps(self.sums(orders, blocks, 0))

    def sums(self, orders: NDArray[np.uint8], blocks: Blocks, first_block: int) -> Sums:
        """Return for every two methods what blocks from ``first_block`` on add to d, scaled so that M is a square."""
        _check_slots(self.name, len(self.covariates), blocks)
        x = np.asarray(self.covariates, dtype=np.float64)
        numbers = Counter(m for block in blocks for m in block)
        slots, here = _slots_of(orders, blocks, first_block), _blocks_of(orders, blocks, first_block)
        out: Sums = []
        for one, other in combinations(sorted(numbers), 2):
            weight = {one: -1 / numbers[one], other: 1 / numbers[other]}
            _, covariance = _permutation_moments(x, blocks, weight)
            mean, _ = _permutation_moments(x[slots], here, weight)
            part = x[slots]
            d = ((orders == other) @ part) / numbers[other] - ((orders == one) @ part) / numbers[one] - mean
            out += [*solve_triangular(self._root(covariance), d.T, lower=True)]
        return out

    def keeps(self, sums: Sums) -> NDArray[np.bool_]:
        """Return whether M is within the bound for every two methods."""
        each = len(self.covariates[0])
        pairs = [sums[start : start + each] for start in range(0, len(sums), each)]
        # A hair above the bound, so that rounding splits no ties.
        most = self.bound * (1 + 1e-9) + 1e-12
        squares = [np.sum([one * one for one in pair], axis=0) for pair in pairs]
        kept: NDArray[np.bool_] = np.logical_and.reduce([square <= most for square in squares])
        return kept

    def _root(self, covariance: NDArray[np.float64]) -> NDArray[np.float64]:
        if np.linalg.matrix_rank(covariance) < len(covariance):
            raise ValueError(f"{self.name}: the covariates depend on each other within blocks; leave one out")
        root: NDArray[np.float64] = np.linalg.cholesky(covariance).astype(np.float64)
        return root


def allowed(limits: Sequence[Limit], orders: NDArray[np.uint8], blocks: Blocks) -> NDArray[np.bool_]:
    """Return for each order whether it keeps every limit.

    Parameters
    ----------
    limits : sequence of Limit
        May be empty.
    orders : ndarray of uint8, shape (orders, slots)
        Method codes.
    blocks : tuple of tuple of int
        Methods of each block, as in `OrderPlan`.

    Returns
    -------
    ndarray of bool, shape (orders,)

    Source: definition.
    """
    kept = np.ones(len(orders), dtype=np.bool_)
    for limit in limits:
        # Only what is still in play is looked at: the limits that come first thin out the rest.
        kept[kept] = limit.allows(orders[kept], blocks) if kept.any() else False
    return kept


def mahalanobis_bound(covariates: int, share: float) -> float:
    """Return the bound on M that about this share of all orders keeps.

    Parameters
    ----------
    covariates : int
        Number of covariates [1].
    share : float
        Share of the orders to keep, between 0 and 1 [1].

    Returns
    -------
    float
        Quantile of chi-square with as many degrees of freedom as covariates [1].

    Raises
    ------
    ValueError
        If the share is not between 0 and 1 or there is no covariate.

    Source: Morgan & Rubin, Annals of Statistics 40 (2012) 1263-1282 (formula from memory).

    Examples
    --------
    >>> round(mahalanobis_bound(10, 0.001), 7)
    1.4787435
    """
    if not 0 < share < 1 or covariates < 1:
        raise ValueError(f"share must lie between 0 and 1 and covariates be at least 1, got {share}, {covariates}")
    return float(2 * gammaincinv(covariates / 2, share))


def imbalance_left(covariates: int, bound: float) -> float:
    """Return the variance of a covariate difference under the limit, as a share of that without.

    Parameters
    ----------
    covariates : int
        Number of covariates [1].
    bound : float
        Largest M allowed [1].

    Returns
    -------
    float
        v_a, between 0 and 1 [1]; the gain's variance falls by ``(1 - v_a) * R**2``.

    Raises
    ------
    ValueError
        If the bound is not above zero or there is no covariate.

    Source: Morgan & Rubin, Annals of Statistics 40 (2012) 1263-1282 (formula from memory).

    Examples
    --------
    >>> round(imbalance_left(2, mahalanobis_bound(2, 0.1)), 7)
    0.0517554
    """
    if bound <= 0 or covariates < 1:
        raise ValueError(f"bound must be above 0 and covariates at least 1, got {bound}, {covariates}")
    return float(gammainc(covariates / 2 + 1, bound / 2) / gammainc(covariates / 2, bound / 2))


def _permutation_moments(
    x: NDArray[np.float64], blocks: Blocks, weight: dict[int, float]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return mean and covariance of sum(c * x) when each block's weights c are dealt to its slots at random."""
    k = x.shape[1]
    mean, covariance = np.zeros(k), np.zeros((k, k))
    start = 0
    for block in blocks:
        part = x[start : start + len(block)]
        start += len(block)
        c = np.array([weight.get(m, 0.0) for m in block])
        mean += c.sum() * part.mean(axis=0)
        if len(block) > 1:
            off = part - part.mean(axis=0)
            covariance += ((c - c.mean()) ** 2).sum() * (off.T @ off) / (len(block) - 1)
    return mean, covariance


def _blocks_of(orders: NDArray[np.uint8], blocks: Blocks, first_block: int) -> Blocks:
    """Return the blocks whose slots the columns of orders are, from ``first_block`` on."""
    last, slots = first_block, orders.shape[1]
    while slots > 0:
        slots -= len(blocks[last])
        last += 1
    return blocks[first_block:last]


def _slots_of(orders: NDArray[np.uint8], blocks: Blocks, first_block: int) -> slice:
    start = sum(map(len, blocks[:first_block]))
    return slice(start, start + orders.shape[1])


def _check_slots(name: str, given: int, blocks: Blocks) -> None:
    slots = sum(map(len, blocks))
    if given != slots:
        raise ValueError(f"{name}: {given} slots given, the plan has {slots}")
