"""The data of the pictures: dots count chances, the map is true to the globe."""

from __future__ import annotations

import numpy as np
import pyproj
import pytest
from tests.report import fixture_verdict

from evenground.report.picture_data import belief_curves, block_lines, residuals_along, strip_map, twenty_dots
from evenground.report.wording import of_twenty

VERDICT = fixture_verdict.verdict()


def test_dots_count_the_chance_that_it_pays() -> None:
    dots = twenty_dots(VERDICT, VERDICT.main)
    assert len(dots.gains) == 20
    assert list(dots.gains) == sorted(dots.gains)
    assert dots.paying == of_twenty(VERDICT.main.chance_it_pays)


def test_dots_of_a_skewed_gain_still_count_within_one() -> None:
    """Each dot stands for a twentieth, so any chance is met to half a dot, one where it falls on an edge."""
    dots = twenty_dots(VERDICT, VERDICT.main)
    mu = VERDICT.main.comparison.posterior.mu
    for x in np.linspace(-0.5, 1.5, 41):
        assert abs(sum(g > x for g in dots.gains) - 20 * mu.chance_above(float(x))) <= 0.5 + 1e-9


def test_map_lengths_agree_with_the_geodesic() -> None:
    """Outside: Karney's geodesic, as carried by PROJ; the plane is true to 1e-7 within 5 km, so 1e-6 is asked."""
    geod = pyproj.Geod(ellps="WGS84")
    picture = strip_map(VERDICT, fixture_verdict.field())
    for strip, drawn in zip(VERDICT.draw.strips, picture.strips, strict=True):
        lon, lat = zip(*strip.outline, strict=True)
        on_globe = np.asarray(geod.inv(lon[:-1], lat[:-1], lon[1:], lat[1:])[2])
        on_map = np.hypot(*np.diff(np.asarray(drawn.ring), axis=0).T)
        assert on_map == pytest.approx(on_globe, rel=1e-6)


def test_strips_run_up_the_page_and_north_points_north() -> None:
    picture = strip_map(VERDICT, fixture_verdict.field())
    # The invented outlines were made in a plane some 100 m away, whose north differs by 1e-5: 3 mm over a strip.
    for strip in picture.strips:
        xs, ys = np.asarray(strip.ring).T
        assert np.ptp(xs) == pytest.approx(fixture_verdict.WIDTH, abs=0.01)
        assert np.ptp(ys) == pytest.approx(fixture_verdict.LENGTH, abs=0.01)
    lefts = [min(x for x, _ in strip.ring) for strip in picture.strips]
    assert lefts == sorted(lefts)
    # Strips head 20 degrees east of north, so north lies 20 degrees to the left of up.
    assert picture.north == pytest.approx((-np.sin(np.radians(20)), np.cos(np.radians(20))))


def test_map_without_a_field_still_stands() -> None:
    picture = strip_map(VERDICT, None)
    assert picture.boundary == ()
    assert len(picture.strips) == 16


def test_map_labels_weights_and_losses() -> None:
    picture = strip_map(VERDICT, fixture_verdict.field())
    labels = {strip.strip: (strip.letter, strip.label, strip.weighed) for strip in picture.strips}
    assert labels[1] == ("A", "12.9", True)
    assert labels[fixture_verdict.LOST] == ("A", "lost", False)
    # Outline with one hole: two rings.
    assert len(picture.boundary) == 2


def test_block_lines_leave_a_gap_for_the_lost_strip() -> None:
    picture = block_lines(VERDICT)
    assert picture.letters == ("A", "B")
    lines = dict(picture.blocks)
    assert lines[1] == (12.9, 13.6)
    assert lines[5] == (None, 12.9)


def test_belief_curves_hold_all_the_chance() -> None:
    """The law: a density integrates to 1; the grid covers 99.5 % of the widest curve, so 0.99 to 1."""
    picture = belief_curves(VERDICT, VERDICT.main)
    assert [curve.label for curve in picture.curves] == ["this season", "long run", "next season"]
    for curve in picture.curves:
        assert 0.99 < np.trapezoid(curve.density, picture.grid) < 1.0001


def test_residuals_come_in_field_order() -> None:
    numbers = [int(r.strip) for r in residuals_along(VERDICT).residuals]
    assert numbers == sorted(numbers)
    assert fixture_verdict.LOST not in numbers
