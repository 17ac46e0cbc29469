"""Which dry-matter figure belongs to which strip, and how far one sample may be off."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from evenground.basis.observations import Sample, current
from evenground.harvest.mass import pooled_sd
from evenground.harvest.sensor import is_sensed, sensed_by_strip, sensor_rates

# With fewer degrees of freedom than this an own estimate scatters more than the default is likely to be wrong: on 3
# degrees of freedom the estimated standard deviation is within a factor of two of the truth in about 85 of 100 cases
# (chi-square with 3 degrees of freedom). Judgement, no published rule.
FEWEST_REPEAT_DF = 3


@dataclass(frozen=True)
class SamplingError:
    """How far one sample lies from what it stands for.

    Attributes
    ----------
    sd_fraction : float
        Standard deviation of one sample [kg/kg].
    source : str
        "repeats" or "plan default".
    df : int
        Degrees of freedom of the repeats [1].
    """

    sd_fraction: float
    source: str
    df: int


@dataclass(frozen=True)
class Figure:
    """One dry-matter figure: the mean of the samples taken for the same strip or strips.

    Attributes
    ----------
    taken_for : tuple of int
        Strips the samples stand for.
    serves : tuple of int
        Strips that really use it: those of ``taken_for`` without a sample of their own or a narrower one.
    dry_matter_fraction : float
        Mean [kg/kg].
    sd_fraction : float
        Sampling standard deviation of that mean [kg/kg].
    sd_source : str
        "repeats" or "plan default".
    sample_ids : tuple of str
        Samples in it.
    common : tuple of (str, float)
        Name of an error it has in common with other figures and its standard deviation in proportion [1]; ("", 0)
        where it has none.
    note : str
        What a reader must know, in plain words.
    """

    taken_for: tuple[int, ...]
    serves: tuple[int, ...]
    dry_matter_fraction: float
    sd_fraction: float
    sd_source: str
    sample_ids: tuple[str, ...]
    common: tuple[str, float] = ("", 0.0)
    note: str = ""


def sampling_error(samples: Sequence[Sample], default_sd_points: float) -> SamplingError:
    """Estimate how far one sample is off from samples taken twice, else take the plan's default.

    Parameters
    ----------
    samples : sequence of Sample
        Samples that count; a sensor's figures are no repeats.
    default_sd_points : float
        The plan's figure, in points of dry matter [%].

    Returns
    -------
    SamplingError

    Source: pooled within-group standard deviation over strips that were sampled more than once.
    """
    own = [s for s in samples if not is_sensed(s)]
    groups = [[s.dry_matter_fraction for s in group] for group in _by_strips(own).values()]
    df = sum(len(g) - 1 for g in groups)
    pooled = pooled_sd(groups)
    if pooled is None or df < FEWEST_REPEAT_DF:
        return SamplingError(default_sd_points / 100.0, "plan default", df)
    return SamplingError(pooled, "repeats", df)


def figures(strips: Iterable[int], samples: Sequence[Sample], default_sd_points: float) -> tuple[Figure, ...]:
    """Give every strip the dry-matter figure that was taken most closely for it.

    A strip's own sample comes first, then the sample shared by the fewest strips. Samples for the same strips are
    averaged. A sensor speaks only of strips without a sample, corrected by those that have both. A strip no sample
    names gets none.

    Parameters
    ----------
    strips : iterable of int
        Strip numbers.
    samples : sequence of Sample
        All records, corrections included.
    default_sd_points : float
        Sampling error where repeats cannot tell, in points of dry matter [%].

    Returns
    -------
    tuple of Figure
        Only figures that serve a strip.
    """
    counting = current(samples)
    groups = _by_strips([s for s in counting if not is_sensed(s)])
    error = sampling_error(counting, default_sd_points)
    serves: dict[tuple[int, ...], list[int]] = defaultdict(list)
    without = []
    for strip in strips:
        choices = sorted((key for key in groups if strip in key), key=lambda key: (len(key), key))
        if choices:
            serves[choices[0]].append(strip)
        else:
            without.append(strip)
    sampled = tuple(_figure(key, groups[key], tuple(served), error) for key, served in serves.items())
    return (*sampled, *_sensed(without, counting, sampled))


def _sensed(strips: Iterable[int], samples: Sequence[Sample], sampled: Iterable[Figure]) -> tuple[Figure, ...]:
    """Give strips without a sample what a sensor said of them."""
    said = sensed_by_strip(samples)
    rates = sensor_rates(said, {f.serves[0]: f.dry_matter_fraction for f in sampled if len(f.taken_for) == 1})
    out = []
    for strip in (s for s in strips if s in said):
        name, figure = said[strip]
        rate, ids = rates[name], tuple(s.id for s in samples if is_sensed(s) and s.strips == (strip,))
        value = rate.ratio * figure
        sd, common = rate.own_sd_fraction * value, (rate.label, rate.sd_fraction)
        out.append(Figure((strip,), (strip,), value, sd, "sensor", ids, common, rate.note))
    return tuple(out)


def _by_strips(samples: Iterable[Sample]) -> dict[tuple[int, ...], list[Sample]]:
    groups: dict[tuple[int, ...], list[Sample]] = defaultdict(list)
    for sample in samples:
        groups[tuple(sorted(sample.strips))].append(sample)
    return groups


def _figure(key: tuple[int, ...], group: Sequence[Sample], serves: tuple[int, ...], error: SamplingError) -> Figure:
    mean = float(np.mean([s.dry_matter_fraction for s in group]))
    sd = error.sd_fraction / len(group) ** 0.5
    return Figure(key, serves, mean, sd, error.source, tuple(s.id for s in group))
