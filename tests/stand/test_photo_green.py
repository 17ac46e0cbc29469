"""Excess green and the green of a photograph."""

import numpy as np
import pytest

from evenground.basis.errors import InputError
from evenground.stand.photo.green import excess_green, find_green


@pytest.mark.parametrize(
    ("colour", "index"),
    [
        # from the definition 2 g - r - b with r = R / (R + G + B) (Woebbecke et al. 1995); worked by hand
        ((0, 255, 0), 2.0),
        ((255, 0, 0), -1.0),
        ((0, 0, 255), -1.0),
        ((90, 90, 90), 0.0),
        ((60, 120, 60), 0.5),  # g = 1/2, r = b = 1/4
        ((50, 100, 50), 0.5),  # half the light, same index
        ((130, 105, 80), 0.0),  # brown ground: g is exactly a third
        ((10, 20, 10), 0.0),  # too dark to tell
    ],
)
def test_excess_green_by_hand(colour, index):
    assert excess_green(np.array([[colour]], np.uint8))[0, 0] == pytest.approx(index, abs=1e-6)  # float32


def picture(size=200):
    pixels = np.full((size, size, 3), (130, 105, 80), np.uint8)
    pixels[50:80, 40:120] = (70, 140, 60)
    return pixels


def test_the_green_of_a_plain_picture():
    green = find_green(picture(), 0.004)
    assert green.mask.sum() == 30 * 80
    assert green.share == pytest.approx(0.06)
    # 3 * 140/270 - 1 above 0, counted in 256 bins over 3
    assert green.contrast == pytest.approx(3 * 140 / 270 - 1, abs=3 / 256)


def test_a_change_of_the_lights_strength_changes_nothing():
    dim = (picture() * 0.5).astype(np.uint8)
    assert (find_green(dim, 0.004).mask == find_green(picture(), 0.004).mask).all()


def test_large_pictures_are_looked_at_in_bands_with_the_same_result(monkeypatch):
    noisy = np.clip(picture() + np.random.default_rng(0).normal(0, 12, (200, 200, 3)), 0, 255).astype(np.uint8)
    whole = find_green(noisy, 0.002).mask
    monkeypatch.setattr("evenground.stand.photo.green._BAND_PIXELS", 200 * 7)
    assert (find_green(noisy, 0.002).mask == whole).all()


@pytest.mark.parametrize("colour", [(130, 105, 80), (0, 0, 0), (255, 255, 255), (150, 60, 60)])
def test_nothing_green(colour):
    pixels = np.clip(np.array(colour) + np.random.default_rng(1).normal(0, 3, (120, 120, 3)), 0, 255).astype(np.uint8)
    with pytest.raises(InputError, match="nothing in this picture is green"):
        find_green(pixels, 0.002)


def test_specks_are_no_plants():
    pixels = picture()
    pixels[150, 150] = (70, 140, 60)
    assert not find_green(pixels, 0.003).mask[140:160, 140:160].any()
