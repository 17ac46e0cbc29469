"""Invented points on both sides of a border, for tests."""

import numpy as np

from evenground.fairness.border_sides import Measured


def points(*, step=0.8, gap=6.0, turn_deg=20.0, n=300, seed=1, shift=0.0, earlier=False, along=200.0, deep=50.0):
    """Yields around 13 t/ha: a soft wave along the border, scatter, and a step for B; all turned and named."""
    rng = np.random.default_rng(seed)
    side = np.arange(n) % 2 == 1
    depth = np.where(side, 1, -1) * (gap / 2 + rng.uniform(0, deep, n))
    length = rng.uniform(0, along, n) + shift * side
    soil = 0.6 * np.sin(length / 30.0)
    value = 13 + soil + step * side + rng.normal(0, 0.4, n)
    c, s = np.cos(np.deg2rad(turn_deg)), np.sin(np.deg2rad(turn_deg))
    x, y = 500 + c * depth - s * length, 900 + s * depth + c * length
    past = {"earlier_2024": 11 + soil + 0.5 * side + rng.normal(0, 0.3, n)} if earlier else {}
    return Measured("border.csv", tuple("B" if b else "A" for b in side), value, x, y, past)
