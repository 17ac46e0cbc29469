"""Dry matter by the harvester's sensor: held against sampled strips, each calibration by itself."""

from __future__ import annotations

import math
import statistics
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from evenground.basis.observations import Sample

# How far a sensor may be off where no sampled strip says, and one strip from it besides, in proportion to the dry
# matter: 2 and 1 points at 33 %. Judgement, no source.
UNCHECKED_SD_FRACTION = 0.06
ONE_STRIP_SD_FRACTION = 0.03
# Two sampled strips can agree with a sensor by chance; none is told to be better than this. Judgement.
LEAST_SD_FRACTION = 0.01


@dataclass(frozen=True)
class SensorRate:
    """What a sensor's figure has to be multiplied by.

    Attributes
    ----------
    ratio : float
        Sampled over sensed dry matter [1].
    sd_fraction : float
        How far it may be off, for all strips of the calibration alike [1].
    own_sd_fraction : float
        How far one strip lies from it besides [1].
    strips : int
        Sampled strips it rests on [1].
    label : str
        What it is called.
    """

    ratio: float
    sd_fraction: float
    own_sd_fraction: float
    strips: int
    label: str

    @property
    def note(self) -> str:
        """What a reader must know, in plain words."""
        if not self.strips:
            return "dry matter by the harvester's sensor, held against no sampled strip"
        said = "1 sampled strip says" if self.strips == 1 else f"{self.strips} sampled strips say"
        return f"dry matter by the harvester's sensor, times {self.ratio:.3f} as {said}"


def is_sensed(sample: Sample) -> bool:
    """Say whether a sample is a sensor's figure."""
    return sample.taken == "sensor"


def sensed_by_strip(samples: Sequence[Sample]) -> dict[int, tuple[str, float]]:
    """Return calibration and mean figure of every strip a sensor spoke of alone [kg/kg].

    A strip cut under two calibrations has none: its parts cannot be told apart.

    Parameters
    ----------
    samples : sequence of Sample
        Samples that count.
    """
    found: dict[int, dict[str, list[float]]] = {}
    for one in samples:
        if is_sensed(one) and len(one.strips) == 1:
            found.setdefault(one.strips[0], {}).setdefault(one.calibration, []).append(one.dry_matter_fraction)
    return {
        strip: (name, statistics.fmean(values))
        for strip, by_calibration in found.items()
        if len(by_calibration) == 1
        for name, values in by_calibration.items()
    }


def sensor_rates(sensed: Mapping[int, tuple[str, float]], sampled: Mapping[int, float]) -> dict[str, SensorRate]:
    """Hold a sensor against sampled strips, each calibration by itself.

    Parameters
    ----------
    sensed : mapping
        Strip to calibration and figure [kg/kg].
    sampled : mapping
        Strip to the figure of a sample of its own [kg/kg].

    Source: ratio estimator, sum over sum; its error from the scatter of the single ratios (Cochran, Sampling
    Techniques, from memory).
    """
    pairs: dict[str, list[tuple[float, float]]] = {name: [] for name, _ in sensed.values()}
    for strip, (name, figure) in sensed.items():
        if strip in sampled:
            pairs[name].append((sampled[strip], figure))
    return {name: _rate(name, found) for name, found in pairs.items()}


def _rate(name: str, pairs: Sequence[tuple[float, float]]) -> SensorRate:
    label = f"sensor of dry matter{' ' + name if name else ''}"
    if not pairs:
        return SensorRate(1.0, UNCHECKED_SD_FRACTION, ONE_STRIP_SD_FRACTION, 0, label)
    ratio = math.fsum(own for own, _ in pairs) / math.fsum(figure for _, figure in pairs)
    if len(pairs) == 1:
        return SensorRate(ratio, ONE_STRIP_SD_FRACTION, ONE_STRIP_SD_FRACTION, 1, label)
    spread = max(LEAST_SD_FRACTION, statistics.stdev(own / figure / ratio for own, figure in pairs))
    return SensorRate(ratio, spread / math.sqrt(len(pairs)), spread, len(pairs), label)
