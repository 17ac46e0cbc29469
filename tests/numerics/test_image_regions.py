"""Thresholds, opening, specks, streaks and peaks, against counting by hand and brute force."""

import numpy as np
import pytest

from evenground.numerics.image_regions import (
    RELIEF_MOST,
    in_relief,
    opened,
    peaks,
    streaks,
    two_classes,
    without_specks,
)


def brute_force(counts):
    """Variance between the parts for every cut, straight from the definition (Otsu 1979, equation 14)."""
    place, best = np.arange(len(counts)), (-1.0, None)
    for cut in range(len(counts) - 1):
        low, high = counts[: cut + 1], counts[cut + 1 :]
        if low.sum() == 0 or high.sum() == 0:
            continue
        means = (low @ place[: cut + 1]) / low.sum(), (high @ place[cut + 1 :]) / high.sum()
        between = low.sum() * high.sum() / counts.sum() ** 2 * (means[1] - means[0]) ** 2
        if between > best[0] * (1 + 1e-12):
            best = (between, cut)
    return best[1]


@pytest.mark.parametrize("seed", range(40))
def test_the_cut_is_the_best_of_all_cuts(seed):
    rng = np.random.default_rng(seed)
    counts = rng.poisson(rng.gamma(0.5, 20.0, rng.integers(3, 80)))
    counts[0] += 1
    counts[-1] += 1
    assert two_classes(counts)[0] == brute_force(counts)


def test_share_and_distance_of_the_upper_part():
    # by hand: five values at 0, five at 1, ten at 4
    assert two_classes([5, 5, 0, 0, 10]) == (1, 0.5, 3.5)


def test_one_value_has_nothing_above_it():
    assert two_classes([0, 7, 0]) == (1, 0.0, 0.0)


@pytest.mark.parametrize("counts", [[0, 0], [1, -1, 2], [1.0, np.nan], [], [[1, 2]]])
def test_histograms_that_cannot_be(counts):
    with pytest.raises(ValueError, match="counts"):
        two_classes(counts)


def test_opening_takes_thin_parts_away_and_keeps_thick_ones():
    mask = np.zeros((20, 20), bool)
    mask[4:10, 4:10] = True
    mask[7, 10:18] = True
    after = opened(mask, 1)
    assert not after[7, 12:].any()
    assert after[5:9, 5:9].all()
    assert opened(mask, 0) is mask


def test_specks_are_told_by_their_size_and_corners_join():
    mask = np.zeros((8, 8), bool)
    mask[0, 0] = mask[1, 1] = mask[2, 2] = True
    mask[6, 6] = mask[6, 7] = True
    after = without_specks(mask, 3)
    assert after.sum() == 3
    assert not after[6].any()


@pytest.mark.parametrize("angle", [0.0, 0.4, 1.2, -0.7, 1.55])
def test_streaks_know_their_direction(angle):
    y, x = np.mgrid[:61, :61] - 30
    stripe = np.exp(-((y * np.cos(angle) - x * np.sin(angle)) ** 2) / 18.0)
    found, clear = streaks(stripe, 1.5, 2.5)
    assert np.cos(2 * (found[30, 30] - angle)) == pytest.approx(1.0, abs=1e-4)  # float32, sampled on a grid
    assert clear[30, 30] > 0.99


def test_a_disc_has_no_direction_in_its_middle():
    y, x = np.mgrid[:41, :41] - 20
    assert streaks(np.exp(-(x**2 + y**2) / 40.0), 1.0, 2.0)[1][20, 20] < 0.01


def test_peaks():
    image = np.zeros((9, 9))
    image[2, 3], image[2, 4], image[7, 7] = 5.0, 4.0, 1.0
    rows, columns, heights = peaks(image, 2, 0.5)
    assert (rows.tolist(), columns.tolist(), heights.tolist()) == ([2, 7], [3, 7], [5.0, 1.0])


def test_relief_shows_a_rib_inside_a_region_and_evens_out_light():
    mask = np.zeros((60, 80), dtype=bool)
    mask[20:40, 10:70] = True
    light = np.linspace(50.0, 150.0, 80)  # three times as bright on the right
    bright = np.where(mask, 1.0, 0.6) * light
    bright[30, 10:70] *= 1.2
    relief = in_relief(mask, bright, 4.0, 2.0)
    assert (relief[~mask] == 0.0).all()
    # the rib stands 2 x 0.2 higher, less its own part in the mean round it (a twelfth)
    assert relief[30, 15:65] - relief[25, 15:65] == pytest.approx(np.full(50, 0.4), abs=0.06)
    # away from rib and ends, the light that changes slowly does not show
    assert relief[25, 20:60] == pytest.approx(np.ones(40), abs=0.1)
    glint = bright.copy()
    glint[25, 40] = 4000.0
    assert in_relief(mask, glint, 4.0, 2.0).max() == pytest.approx(1.0 + RELIEF_MOST)
    assert in_relief(mask, bright, 4.0, 0.0) == pytest.approx(mask.astype(float))
