"""Errors of masses and areas carried to the comparison: the stated ones against simulation of whole harvests."""

from datetime import timedelta

import numpy as np
import pytest
from tests import small_trial as small

from evenground.basis.observations import CutArea, Load, Records, Scale, Weighing
from evenground.compare.compare import compare
from evenground.compare.shared import gain_weights, one_figure_reason, shared_covariance
from evenground.decide.feed_outcomes import feed_outcomes, without_damage
from evenground.decide.strip_values import as_strip_values, fresh_values
from evenground.harvest.mass import SPLIT_SD_FRACTION, scale_sd_fraction
from evenground.harvest.slips import TARE_SD_KG
from evenground.harvest.strips import harvest

PLAN, DRAW = small.plan(), small.draw()
SAMPLES = [small.sample(n, 33.0) for n in range(1, 17)]


def day(tare_a=9_000.0, tare_b=9_000.0, split=0.5, scale_b=1.0, **changes):
    """Trailer 1 carries A, trailer 2 carries B; one tare each in the morning; strips 15 and 16 share a trailer."""
    loads, weighings = [], []
    for k, tare in (("1", tare_a), ("2", tare_b)):
        at = small.AUTUMN - timedelta(hours=1)
        weighings.append(Weighing(id=f"T{k}", time=at, scale=f"s{k}", trailer=k, tare_kg=tare))
    for s in DRAW.strips[:14]:
        k = "1" if s.method == "A" else "2"
        at = small.AUTUMN + timedelta(minutes=40 * s.strip)
        loads.append(Load(id=f"L{s.strip}", time=at, strips=str(s.strip), trailer=k))
        net = (5_600 + 30 * (s.strip * 5 % 7)) * (scale_b if k == "2" else 1.0)
        weighings.append(
            Weighing(
                id=f"W{s.strip}",
                time=at + timedelta(minutes=9),
                load=f"L{s.strip}",
                scale=f"s{k}",
                trailer=k,
                gross_kg=9_000 + net,
            )
        )
    at = small.AUTUMN + timedelta(hours=12)
    loads.append(Load(id="L15", time=at, strips="15+16", trailer="3", split_fraction=split))
    weighings.append(Weighing(id="W15", time=at, load="L15", scale="s1", slip_net_kg=11_400))
    return Records(loads=loads, weighings=weighings, samples=SAMPLES, **changes)


def gain(records):
    return compare(as_strip_values(harvest(PLAN, DRAW, records)), "A", reference={}).comparisons[0].gain


def test_the_stated_error_of_the_gain_is_that_of_simulated_harvests():
    rng = np.random.default_rng(17)
    values = as_strip_values(harvest(PLAN, DRAW, day()))
    stated = shared_covariance(values, gain_weights(values, "A", None))[0, 0] ** 0.5
    off = [scale_sd_fraction("s1", ()), scale_sd_fraction("s2", ())]
    runs = []
    for _ in range(250):
        a, b = rng.normal(0.0, TARE_SD_KG, 2)
        e = rng.normal(0.0, off)
        # a scale that reads high by e is wrong in proportion; only the difference of the two scales counts
        runs.append(gain(day(9_000 + a, 9_000 + b, 0.5 + rng.normal(0.0, SPLIT_SD_FRACTION), 1.0 + e[1] - e[0])))
    # standard error of a standard deviation from 250 runs: 4.5 %
    assert np.std(runs) == pytest.approx(stated, rel=0.12)


def test_a_tare_in_common_is_an_error_and_no_reason_to_give_no_p():
    values = as_strip_values(harvest(PLAN, DRAW, day()))
    labels = {e.label for e in values.shared}
    assert "the tare of trailer 1 at 08:00" in labels
    assert {"scale s1", "scale s2"} <= labels
    assert not any(e.one_figure for e in values.shared)
    assert one_figure_reason(values, "B", "A") == ""


def test_checks_against_a_known_mass_replace_what_scales_are_held_to():
    checks = [
        Scale(id=f"K{i}", time=small.AUTUMN, scale="s1", known_kg=10_000, reading_kg=r)
        for i, r in enumerate((10_030, 9_960))
    ]
    assert scale_sd_fraction("S1", checks) == pytest.approx(((0.003**2 + 0.004**2) / 2) ** 0.5)
    pads = Scale(id="P", time=small.AUTUMN, scale="s2", way="pads")
    assert scale_sd_fraction("s2", [pads]) == 0.01


def test_one_scale_for_all_is_no_error_between_methods():
    got = harvest(PLAN, DRAW, small.whole_season(DRAW))
    assert got.common == ()


def test_nominal_spacing_of_one_method_is_one_error_for_all_its_strips():
    cuts = [CutArea(id=f"A{n}", time=small.AUTUMN, strips=str(n), rows=6, length_m=300) for n in range(1, 17)]
    got = harvest(PLAN, DRAW, small.replaced(small.whole_season(DRAW), cut_areas=cuts))
    by_label = {e.label: e for e in got.common}
    assert set(by_label) == {"nominal row spacing of A", "nominal row spacing of B"}
    assert by_label["nominal row spacing of B"].strips == tuple(s.strip for s in DRAW.strips if s.method == "B")


def test_strips_weighed_together_are_one_row_of_the_comparison():
    draw = small.draw(("AAB", "ABB", "BAA"))
    season = small.whole_season(draw)
    together = [x for x in season.loads if x.strips not in {(1,), (2,)}] + [small.load("1+2")]
    slips = [w for w in season.weighings if w.load not in {"L1-1", "L2-1"}] + [small.weighing("L1+2-1", 11_000.0)]
    got = harvest(PLAN, draw, small.replaced(season, loads=together, weighings=slips))
    for values in (as_strip_values(got), fresh_values(got)):
        assert values.strips[0] == "1+2"
        assert len(values.strips) == 8
    assert as_strip_values(got).outcome[0] == pytest.approx(11.0 * 0.33 / 0.27)


def test_starch_and_energy_a_hectare_with_their_source_in_the_name():
    season = small.whole_season(DRAW)
    sheets = [
        small.lab(n, starch_percent=30.0, energy_mj_per_kg=6.5, energy_system="NEL", energy_edition="first")
        for n in range(1, 17)
    ]
    got = harvest(PLAN, DRAW, small.replaced(season, lab_values=sheets))
    found = {name: (unit, values) for name, unit, values in feed_outcomes(got)}
    unit, starch = found["starch yield (invented laboratory, wet chemistry)"]
    assert unit == "t starch/ha"
    assert starch.outcome[0] == pytest.approx(0.30 * got.strips[0].outcome)
    unit, energy = found["energy yield (invented laboratory, NEL, first)"]
    # 1 t of dry matter at 6.5 MJ/kg is 6.5 GJ
    assert (unit, energy.outcome[0]) == ("GJ/ha", pytest.approx(6.5 * got.strips[0].outcome))


def test_one_sheet_for_a_method_gives_no_p():
    season = small.whole_season(DRAW)
    strips = {m: "+".join(str(s.strip) for s in DRAW.strips if s.method == m) for m in "AB"}
    sheets = [small.lab(strips[m], starch_percent=v) for m, v in (("A", 30.0), ("B", 33.0))]
    got = harvest(PLAN, DRAW, small.replaced(season, lab_values=sheets))
    values = {name: v for name, _, v in feed_outcomes(got)}["starch yield (invented laboratory, wet chemistry)"]
    assert "rest on one figure" in one_figure_reason(values, "B", "A")


def test_the_comparison_without_damaged_blocks_leaves_whole_blocks_out():
    season = small.whole_season(DRAW)
    got = harvest(PLAN, DRAW, small.replaced(season, damage=[small.damage("8", "boar", by_method="no")]))
    assert without_damage(got).strips == tuple(str(n) for n in range(1, 17) if n not in (7, 8))
    assert as_strip_values(got).strips == tuple(map(str, range(1, 17)))
    assert without_damage(harvest(PLAN, DRAW, season)) is None
