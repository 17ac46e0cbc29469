"""Starch or energy as the main outcome: everything from the strip to the advice is counted in it, never mixed."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from pydantic import ValidationError
from tests import small_trial as small

from evenground.basis.canonical import canonical_text
from evenground.basis.errors import CannotCompareError
from evenground.basis.observations import Weighing
from evenground.compare.compare import compare
from evenground.decide.feed_outcomes import feed_outcomes
from evenground.decide.strip_values import as_strip_values, yield_values
from evenground.decide.verdict import verdict
from evenground.decide.verdict_json import as_dict
from evenground.harvest.strips import harvest
from evenground.layout.detectable import detectable_of

DRAW = small.draw()
STARCH = {"counted": "starch", "expected_starch_percent": 32.0}
ENERGY = {
    "counted": "energy",
    "expected_energy_mj_per_kg": 11.0,
    "energy_system": "ME",
    "energy_edition": "first",
}
STARCH_PRICES = {"starch_value_short_year_per_t": 400.0, "starch_value_full_year_per_t": 200.0}
PRICES = {"yield": {}, "starch": STARCH_PRICES}
GJ_PRICES = {"value_short_year_per_gj": 18.0, "value_full_year_per_gj": 8.0}


def starch(strips, value, n=1, **changes):
    return small.lab(strips, n, starch_percent=value, **changes)


def energy(strips, value, system="ME", edition="first", n=1, **changes):
    return small.lab(strips, n, energy_mj_per_kg=value, energy_system=system, energy_edition=edition, **changes)


def season(sheets, **kinds):
    return small.replaced(small.whole_season(DRAW), lab_values=sheets, **kinds)


def of(outcome, sheets, draw=DRAW, money=None, **kinds):
    plan = small.plan(outcome=outcome, money=money or PRICES.get(outcome["counted"], GJ_PRICES))
    return verdict(small.stored(plan, draw, season(sheets, **kinds)), today=date(2025, 12, 1), version="0")


def each(make, letters="AB", values=(32.0, 32.0)):
    """One sheet a strip, with a value by method and a small scatter that is the same for every strip number."""
    by = dict(zip(letters, values, strict=True))
    return [make(s.strip, by[s.method] * (1.0 + 0.01 * ((s.strip * 5) % 4 - 1.5))) for s in DRAW.strips]


def test_a_strip_gives_the_starch_in_its_dry_matter():
    plan = small.plan(outcome=STARCH, money=STARCH_PRICES)
    got = harvest(plan, DRAW, season(each(starch)))
    for s in got.strips:
        # by hand: dry matter per hectare is fresh mass x share / area, and the sheet's percent of that is starch
        dry = s.fresh_t * s.dry_matter_fraction / (s.cut_area_m2 / 10_000)
        assert s.yield_t_per_ha == pytest.approx(dry, rel=1e-12)
        assert s.outcome == pytest.approx(dry * s.content / 100, rel=1e-12)
    assert got.unit == "t starch/ha"


def test_energy_is_counted_in_gigajoules_with_its_system_in_the_unit():
    got = as_dict(of(ENERGY, each(energy, values=(11.0, 11.0))))
    assert got["unit"] == "GJ/ha (ME, first)"
    assert got["outcome"] == "energy yield"
    assert got["sentence"].startswith("In this field, in 2025, B gave")
    assert "GJ energy per hectare more than A" in got["sentence"]
    first = got["strips_harvested"][0]
    # 1 MJ/kg is 1 GJ/t, so some 13 t of dry matter at 11 MJ/kg are some 143 GJ
    assert first["outcome"] == pytest.approx(first["yield_t_per_ha"] * first["content"], rel=1e-12)
    assert " t " not in got["methods"][0]["sentences"][2]


def test_gain_price_and_what_it_must_reach_are_in_one_unit():
    plan = small.plan(
        outcome=ENERGY,
        money={**GJ_PRICES, "chance_short_year": 0.5, "harvest_cost_per_t_fresh": 4.0},
        methods=[small.method("A"), small.method("B", extra_cost_per_ha=90.0)],
    )
    got = verdict(
        small.stored(plan, DRAW, season(each(energy, values=(11.0, 11.0)))), today=date(2025, 12, 1), version="0"
    )
    # by hand: a gigajoule is 1/11 t of dry matter, 1/(11 x 0.33) t fresh to carry; 13 EUR less 4 x that
    value = 13.0 - 4.0 / (11.0 * 0.33)
    assert got.main.budget.value_per_t == pytest.approx(value, rel=1e-12)
    assert got.main.worthwhile_gain == pytest.approx(90.0 / value, rel=1e-12)
    assert "GJ more to pay" in got.main.sentences[2]
    assert "a gigajoule brings" in got.main.sentences[2]
    # priors are percent of what was expected: 13 t x 11 MJ/kg
    assert got.comparison.priors.gain_sd == pytest.approx(0.035 * 143.0)


def test_more_starch_in_the_same_dry_matter_is_a_gain():
    plan, sheets = (
        small.plan(outcome=STARCH, money=STARCH_PRICES),
        [starch(s.strip, {"A": 30.0, "B": 36.0}[s.method]) for s in DRAW.strips],
    )
    records = small.replaced(small.whole_season(DRAW, gain_t_per_ha=0.0), lab_values=sheets)
    got = verdict(small.stored(plan, DRAW, records), today=date(2025, 12, 1), version="0")
    # by hand, pair by pair: the design is complete, so the gain is the mean of the pairs
    grown = {(s.block, s.method): s.yield_t_per_ha for s in got.harvest.strips}
    pairs = [0.36 * grown[b, "B"] - 0.30 * grown[b, "A"] for b in range(1, 9)]
    assert got.main.comparison.gain == pytest.approx(np.mean(pairs), rel=1e-9)
    sides = {s.outcome: s for s in got.side_results}
    # the strips' fixed scatter leaves some gain in the dry matter too, but hardly any
    assert abs(sides["yield"].difference) < 0.3
    assert sides["yield"].unit == "t dry matter/ha"
    assert not any(name.startswith("starch yield") for name in sides)


def test_the_feed_is_told_in_dry_matter_whatever_is_counted():
    herd = {"heads": 60, "intake_kg": 8.0, "storage_loss_percent": 0.0, "crop_cost_per_ha": 1800.0}
    records = season(each(energy, values=(11.0, 11.0)))
    plans = [small.plan(herd=herd), small.plan(herd=herd, outcome=ENERGY, money=GJ_PRICES)]
    dry, counted = (
        verdict(small.stored(p, DRAW, records), today=date(2025, 12, 1), version="0").main.feed for p in plans
    )
    assert counted.tonnes == pytest.approx(dry.tonnes)
    assert counted.costs[0].per_t == pytest.approx(dry.costs[0].per_t)


def test_a_strip_without_a_value_stays_missing_and_keeps_its_dry_matter():
    got = of(STARCH, [sheet for sheet in each(starch) if sheet.strips != (7,)])
    strip = got.harvest.strips[6]
    assert (strip.outcome, strip.state) == (None, "missing")
    assert strip.yield_t_per_ha is not None
    assert any("no laboratory value of starch names strip 7" in note for note in strip.notes)


def test_values_of_another_energy_system_are_never_converted():
    with pytest.raises(CannotCompareError, match="never converted"):
        of(ENERGY, each(lambda n, v: energy(n, v, system="NEL"), values=(6.6, 6.6)))
    mixed = [energy(s.strip, 6.6, system="NEL") if s.strip == 7 else energy(s.strip, 11.0) for s in DRAW.strips]
    got = of(ENERGY, mixed)
    assert got.harvest.strips[6].outcome is None
    assert any("invented laboratory, NEL, first" in note for note in got.harvest.strips[6].notes)


def test_an_edition_is_another_system():
    with pytest.raises(CannotCompareError, match="never converted"):
        of(ENERGY, each(lambda n, v: energy(n, v, edition="second"), values=(11.0, 11.0)))


def test_two_laboratories_are_asked_for_and_the_named_one_counts():
    two = [
        *each(starch, values=(32.0, 33.0)),
        *each(lambda n, v: starch(n, v, n=2, lab="another one"), values=(40.0, 41.0)),
    ]
    with pytest.raises(CannotCompareError, match=r"2 sources .*outcome\.laboratory"):
        of(STARCH, two)
    got = of({**STARCH, "laboratory": "Another one"}, two)
    assert got.harvest.strips[0].content > 39.0
    assert "starch yield (invented laboratory, wet chemistry)" in {s.outcome for s in got.side_results}


def test_without_any_value_it_says_what_is_missing():
    with pytest.raises(CannotCompareError, match="starch is counted, and no laboratory value"):
        of(STARCH, [])


def test_one_value_a_method_enters_once_and_gives_no_p():
    by_method = {m: "+".join(str(s.strip) for s in DRAW.strips if s.method == m) for m in "AB"}
    got = of(ENERGY, [energy(by_method["A"], 11.0), energy(by_method["B"], 11.1)])
    one = got.main.comparison
    assert one.p is None
    assert "laboratory value of energy" in one.no_p_reason
    # 0.1 MJ/kg on some 13 t for each of two figures: sqrt 2 x 1.3 GJ
    assert one.shared_sd == pytest.approx(1.3 * 2**0.5, rel=0.05)
    assert any("laboratory values of energy" in point for point in got.weak_points)


def test_repeats_say_how_far_a_value_is_off():
    pairs = [starch("1+2+3", v, n) for n, v in enumerate((30.0, 34.0, 32.0, 36.0), start=1)]
    got = harvest(small.plan(outcome=STARCH, money=STARCH_PRICES), DRAW, season(pairs))
    # standard deviation of 30, 34, 32, 36 is sqrt(20/3); of their mean half that
    assert got.counted.value.shared_sds == (pytest.approx((20 / 3) ** 0.5 / 2),)
    assert got.counted.value.sd_source == "repeats"


def test_shared_values_against_simulation():
    """One starch value a group of strips: the interval with the shared error covers, without it it does not.

    Outside check: truth known by construction. 300 runs; standard error of a coverage near 0.9 is 0.017.
    """
    rng = np.random.default_rng(11)
    plan = small.plan(outcome={**STARCH, "starch_sd_points": 2.0}, money=STARCH_PRICES)
    groups = [
        "+".join(str(s.strip) for s in DRAW.strips if s.method == m and s.block > 4 * h) for m in "AB" for h in (0,)
    ]
    inside = plain = 0
    runs = 300
    for _ in range(runs):
        tonnes = {s.strip: 13.0 * rng.normal(1.0, 0.03) * s.cut_area_m2 / 1e4 / 0.33 for s in DRAW.strips}
        sheets = [starch(group, 32.0 + rng.normal(0.0, 2.0)) for group in groups]
        records = small.replaced(small.whole_season(DRAW, tonnes=tonnes), lab_values=sheets)
        values = as_strip_values(harvest(plan, DRAW, records))
        one = compare(values, "A", reference={}).comparisons[0]
        inside += one.interval[0] <= 0.0 <= one.interval[1]
        bare = compare(type(values)(values.strips, values.methods, values.blocks, values.outcome), "A", reference={})
        low, high = bare.comparisons[0].interval
        plain += low <= 0.0 <= high
    assert plain / runs < 0.6
    assert inside / runs > 0.85


def test_the_layout_knows_what_laboratory_values_cost():
    plain, counted = small.plan(), small.plan(outcome={**STARCH, "starch_sd_points": 1.6}, money=STARCH_PRICES)
    one, other = detectable_of(plain, DRAW), detectable_of(counted, DRAW)
    # 1.6 points of 32 % are 5 %, added as a square to every strip
    assert other.strip_error_percent == pytest.approx((one.strip_error_percent**2 + 25.0) ** 0.5, rel=1e-9)
    factor = 0.32 * other.standard_error_percent / one.standard_error_percent
    assert other.t_per_ha == pytest.approx(one.t_per_ha * factor, rel=1e-6)
    assert "laboratory value of starch" in other.source


def test_the_layout_knows_what_weighing_without_a_weighbridge_costs():
    found = {
        way: detectable_of(small.plan(layout={"weighing": way}), DRAW)
        for way in ("weighbridge", "pads", "counter", "trailers", "hand_cut")
    }
    base = found["weighbridge"].strip_error_percent
    # pads 1 %, counter 5 %, hand cuts 10 %; one trailer of up to 16 t a strip: 10 %
    for way, percent in (("pads", 1.0), ("counter", 5.0), ("trailers", 10.0), ("hand_cut", 10.0)):
        assert found[way].strip_error_percent == pytest.approx((base**2 + percent**2) ** 0.5, rel=1e-9)
        assert way.replace("_", " ") in found[way].source
    assert "weighed by" not in found["weighbridge"].source


def test_what_has_to_be_said_beforehand_is_asked_all_at_once():
    with pytest.raises(ValidationError) as caught:
        small.plan(outcome={"counted": "energy"})
    text = str(caught.value)
    assert "energy is counted, so this has to be said before the harvest" in text
    with pytest.raises(ValidationError, match="one more gigajoule"):
        small.plan(outcome=ENERGY)
    with pytest.raises(ValidationError, match="in gigajoules"):
        small.plan(outcome=ENERGY, money=GJ_PRICES, advice={"worthwhile_loss_t_per_ha": 0.3})
    with pytest.raises(ValidationError, match="swap the two values"):
        small.plan(outcome=ENERGY, money={"value_short_year_per_gj": 8.0, "value_full_year_per_gj": 18.0})


def test_a_tonne_of_starch_has_a_price_of_its_own():
    """With starch at 400 and 200 and a short year in four of ten one tonne is worth 0.4 x 400 + 0.6 x 200 = 280."""
    with pytest.raises(ValidationError, match="one more tonne of starch"):
        small.plan(outcome=STARCH)
    swapped = {"starch_value_short_year_per_t": 200.0, "starch_value_full_year_per_t": 400.0}
    with pytest.raises(ValidationError, match="swap the two values"):
        small.plan(outcome=STARCH, money=swapped)
    priced = small.plan(outcome=STARCH, money={**STARCH_PRICES, "chance_short_year": 0.4})
    assert priced.value_of_one == pytest.approx(280.0)
    dear = small.plan(outcome=STARCH, money={**STARCH_PRICES, "value_short_year_per_t": 900.0})
    assert dear.values == (400.0, 200.0), "the price of a tonne of dry matter plays no part"


def test_not_worse_is_asked_in_gigajoules():
    plan = small.plan(outcome=ENERGY, money=GJ_PRICES, advice={"worthwhile_loss_gj_per_ha": 4.0})
    got = verdict(
        small.stored(plan, DRAW, season(each(energy, values=(11.0, 11.0)))), today=date(2025, 12, 1), version="0"
    )
    assert got.main.not_worse.largest_loss == 4.0


def drawn_under(plan):
    return DRAW.model_copy(update={"plan_text": canonical_text(plan)})


DECISION = small.event("1+2", "product_changed", when=small.DAY, note="too dry, starch is what we feed")


def test_an_outcome_changed_after_the_draw_keeps_the_earlier_one_beside_it():
    draw = drawn_under(small.plan())
    events = [*small.whole_season(DRAW).events, DECISION]
    got = of(STARCH, each(starch), draw, events=events)
    (side,) = [s for s in got.side_results if s.outcome == "yield, as named before the harvest"]
    assert side.unit == "t dry matter/ha"
    as_named = of({"counted": "yield"}, each(starch), draw)
    assert side.difference == pytest.approx(as_named.main.comparison.gain, rel=1e-9)
    changed = [p for p in got.weak_points if "main outcome was changed" in p]
    assert changed == [
        "the main outcome was changed after the draw, from t dry matter/ha to t starch/ha, before anything was weighed"
    ]
    assert not any("as named before" in s.outcome for s in as_named.side_results)


def test_a_change_nobody_decided_or_after_the_weights_is_a_weak_point():
    draw = drawn_under(small.plan())
    silent = of(STARCH, each(starch), draw)
    assert any("no decision is recorded" in p for p in silent.weak_points)
    late = small.event("1", "product_changed", when=small.AUTUMN, note="looked better")
    got = of(STARCH, each(starch), draw, events=[*small.whole_season(DRAW).events, late])
    assert any("after weights were known" in p for p in got.weak_points)


def test_a_change_of_product_is_one_too():
    draw = drawn_under(small.plan(outcome={"product": "silage"}))
    plan = small.plan(outcome={"product": "grain", "expected_t_per_ha": 9.0})
    got = verdict(
        small.stored(plan, draw, small.whole_season(DRAW, percent=70.0)), today=date(2025, 12, 1), version="0"
    )
    assert any("to t grain/ha at 15 % moisture" in p for p in got.weak_points)
    assert "yield, as named before the harvest" in {s.outcome for s in got.side_results}


def test_what_was_expected_may_change_without_being_another_outcome():
    draw = drawn_under(small.plan(outcome={"expected_t_per_ha": 12.0}))
    got = of({"counted": "yield", "expected_t_per_ha": 14.0}, [], draw)
    assert not any("main outcome was changed" in p for p in got.weak_points)


def test_yields_are_there_beside_a_counted_energy():
    plan = small.plan(outcome=ENERGY, money=GJ_PRICES)
    got = harvest(plan, DRAW, season(each(energy, values=(11.0, 11.0))))
    plain = harvest(small.plan(), DRAW, small.whole_season(DRAW))
    assert yield_values(got).outcome == as_strip_values(plain).outcome


def morning(seed):
    """Give every slip of a season the same trailer without a tare, which was weighed once in the morning."""
    slips = [w.model_copy(update={"trailer": "red", "tare_kg": None}) for w in seed.weighings]
    first = min(w.time for w in slips) - timedelta(hours=1)
    return [*slips, Weighing(id="T", time=first, trailer="red", tare_kg=9_000)]


@pytest.mark.parametrize("outcome", [ENERGY, STARCH])
def test_errors_in_common_are_the_same_share_of_the_yield_beside(outcome):
    """A tare of one morning is off by so many kilograms, whether dry matter, starch or energy is counted."""
    make = energy if outcome is ENERGY else starch
    kinds = {"weighings": morning(small.whole_season(DRAW))}
    plan = small.plan(outcome=outcome, money=GJ_PRICES if outcome is ENERGY else STARCH_PRICES)
    got = yield_values(harvest(plan, DRAW, season(each(make, values=(11.0, 11.0)), **kinds)))
    plain = as_strip_values(harvest(small.plan(), DRAW, season([], **kinds)))
    assert got.outcome == pytest.approx(plain.outcome)
    (one,), (other,) = got.shared, plain.shared
    assert one.effect_sd == pytest.approx(other.effect_sd)
    # by hand: 40 kg of a trailer's net, in proportion to what that strip gave
    net_kg = next(w.gross_kg for w in kinds["weighings"]) - 9_000
    assert other.effect_sd[0] == pytest.approx(plain.outcome[0] * 40.0 / net_kg)


@pytest.mark.parametrize("name", ["starch yield", "energy yield"])
def test_one_dry_matter_sample_a_method_is_one_error_of_starch_and_energy_too(name):
    """Each strip has its own sheet of the laboratory, but one dry matter stands for all of a method."""
    both = ["+".join(str(s.strip) for s in DRAW.strips if s.method == m) for m in "AB"]
    samples = [small.sample(strips, 33.0, n) for n, strips in enumerate(both)]
    sheets = [
        small.lab(s.strip, starch_percent=32.0, energy_mj_per_kg=11.0, energy_system="ME", energy_edition="first")
        for s in DRAW.strips
    ]
    got = harvest(small.plan(), DRAW, season(sheets, samples=samples))
    (values,) = [v for n, unit, v in feed_outcomes(got) if n.startswith(name)]
    assert len(values.shared) == 2
    for error in values.shared:
        assert error.one_figure
        grown = dict(zip(values.strips, values.outcome, strict=True))
        # one point (sample_sd_points of the plan) of 33 is 3.03 % of all that is reckoned from it
        assert error.effect_sd == pytest.approx([grown[s] / 33.0 for s in error.strips])


def test_stubble_left_standing_holds_no_starch():
    heights = [small.stubble(s.strip, 20.0 if s.method == "A" else 35.0) for s in DRAW.strips]
    sized = {
        name: next(c for c in of(outcome, each(starch), stubble=heights).fairness if c.item == "cutting height")
        for name, outcome in (("yield", {"counted": "yield"}), ("starch", STARCH))
    }
    assert sized["yield"].bias_t_per_ha is not None
    assert sized["starch"].state == "differs"
    assert sized["starch"].bias_t_per_ha is None
