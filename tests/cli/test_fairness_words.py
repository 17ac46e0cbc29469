"""Sizes of differences as the command writes them."""

from __future__ import annotations

import pytest

from evenground.cli.fairness import _size


@pytest.mark.parametrize(
    ("bias", "written"),
    [
        (None, "-"),
        ((-0.53, -0.0), "-0.53 to 0.00"),
        ((0.001, 0.4), "0.00 to +0.40"),
        ((-10.0, -0.9), "-10.00 to -0.90"),
    ],
)
def test_nothing_has_no_sign(bias: tuple[float, float] | None, written: str) -> None:
    assert _size(bias) == written
