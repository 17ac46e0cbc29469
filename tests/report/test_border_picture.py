"""The picture of a border: its data are those of the answer, its words name them, it is drawn the same each time."""

import re

import numpy as np
import pytest
from tests.fairness.borders import points

from evenground.adapters.charts import draw
from evenground.fairness.border import Setting, border_comparison
from evenground.fairness.border_sides import Measured, sides_of
from evenground.numerics.t_distribution import quantile
from evenground.report.border_picture import border_figure, border_points

LETTERS = ("A", "B")


def answer(measured):
    return border_comparison(sides_of(measured, "A"), Setting())


WEIGHTS = answer(Measured("w.csv", ("A", "B", "A", "B"), np.array([13.0, 14.0, 13.4, 14.2])))
POINTS = answer(points())
ONE = answer(Measured("w.csv", ("A", "B"), np.array([13.0, 14.0])))


def test_every_place_stands_on_its_side():
    shown = border_points(POINTS, LETTERS)
    assert max(shown.first.distance_m) <= 0.0 < min(shown.second.distance_m)
    assert len(shown.first.value) + len(shown.second.value) == POINTS.fit.cells
    assert (shown.step, shown.interval) == (POINTS.step, POINTS.interval)


def test_the_lines_meet_the_border_a_step_apart_and_the_band_is_that_of_the_level():
    shown = border_points(POINTS, LETTERS)
    assert shown.second.line[0][1] - shown.first.line[-1][1] == pytest.approx(POINTS.step)
    error = POINTS.fit.lines.standard_error[1, 0]
    assert shown.second.line[0][2] == pytest.approx(quantile(0.95, POINTS.fit.df) * error)


def test_weights_have_no_distance_and_no_line():
    shown = border_points(WEIGHTS, LETTERS)
    assert shown.first.value == (13.0, 13.4)
    assert shown.second.value == (14.0, 14.2)
    assert (shown.first.distance_m, shown.first.line) == ((), ())


@pytest.mark.parametrize("found", [POINTS, WEIGHTS, ONE], ids=["points", "weights", "one weight a side"])
def test_words_beside_the_picture(found):
    figure = border_figure(found, LETTERS)
    assert f"{found.step:+.2f}" in figure.alt
    assert "at least this wide" in figure.alt
    assert "at least this wide" in figure.caption
    drawn = draw(figure)
    assert drawn == draw(figure)
    said = [t.strip() for t in re.findall(r"<!--(.*?)-->", drawn, re.DOTALL)]
    assert f"step {found.step:+.2f}" in said
    assert {"A", "B", "border"} <= set(said)
    assert ("distance from the border, m" in said) == (found.way == "points")
