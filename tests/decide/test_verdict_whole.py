import dataclasses
import json
import re
from datetime import date, datetime

import pytest
from tests import small_trial as small

from evenground.basis.days import said_day
from evenground.basis.errors import CannotCompareError
from evenground.basis.observations import Records
from evenground.basis.store import Stored
from evenground.compare.compare import compare
from evenground.decide.strip_values import as_strip_values
from evenground.decide.verdict import verdict
from evenground.decide.verdict_json import as_dict
from evenground.layout.detectable import detectable_of
from evenground.numerics.power import detectable_gain

TODAY = date(2025, 10, 1)
DRAW = small.draw()


def of(plan=None, draw=None, records=None, **more):
    return verdict(small.stored(plan, draw, records), today=TODAY, version="9.9.9", **more)


def priced(**money):
    """B costs 60 a hectare more; a tonne brings 126 on average."""
    return small.plan(methods=[small.method("A"), small.method("B", extra_cost_per_ha=60.0)], money=money)


def season(gain=0.6, **kinds):
    return small.replaced(small.whole_season(DRAW, gain_t_per_ha=gain), **kinds)


def test_the_gain_is_the_mean_of_the_pairs():
    # the two-way analysis of a complete design is the paired one; by hand from the strips
    got = of()
    by_block = {}
    for s in got.harvest.strips:
        by_block.setdefault(s.block, {})[s.method] = s.outcome
    pairs = [b["B"] - b["A"] for b in by_block.values()]
    mean = sum(pairs) / 8
    variance = sum((p - mean) ** 2 for p in pairs) / 7
    one = got.main.comparison
    assert one.gain == pytest.approx(mean)
    assert one.standard_error == pytest.approx((variance / 8) ** 0.5)
    # Student's t with 7 degrees of freedom, 95 % point 1.8946 (printed tables)
    assert one.interval == pytest.approx(
        (mean - 1.8946 * one.standard_error, mean + 1.8946 * one.standard_error), abs=1e-4
    )


def test_worthwhile_gain_and_chances_belong_together():
    got = of(priced())
    must = 60.0 / 126.0
    main = got.main
    assert main.worthwhile_gain == pytest.approx(must)
    assert main.chance_it_pays == pytest.approx(main.comparison.posterior.mu.chance_above(must))
    assert main.chance_it_pays == pytest.approx(1 - main.money.chance_of_loss)
    # another season adds its own deviation, so it is nearer to a coin toss
    assert abs(main.chance_it_pays_next_year - 0.5) < abs(main.chance_it_pays - 0.5)
    assert main.money.likely == pytest.approx(main.comparison.posterior.mu.mean * 126.0 - 60.0)
    assert main.money.worst < main.money.likely < main.money.best


def test_detectable_gain_is_the_one_said_before_sowing():
    plan = priced()
    said = detectable_of(plan, DRAW)
    sigma = said.strip_error_percent / 100 * plan.outcome.expected_t_per_ha
    expected = detectable_gain(sigma=sigma, variance_factor=2 / 8, residual_df=7)
    assert of(plan).detectable_gain == pytest.approx(said.t_per_ha) == pytest.approx(expected)


ACTIONS = [
    ("adopt", {"plan": priced(), "records": season(1.2)}),
    ("drop", {"plan": priced(), "records": season(-0.6)}),
    ("repeat", {"plan": priced(area_ha=300, trial_cost_per_year=50), "records": season(0.2)}),
    ("drop", {"plan": priced(area_ha=0.1, trial_cost_per_year=5000), "records": season(0.2)}),
]


@pytest.mark.parametrize(("action", "trial"), ACTIONS)
def test_advice_of_the_whole(action, trial):
    got = of(**trial)
    assert got.main.advice.action == action, got.main.advice


def test_sowing_all_of_one_method_days_later_makes_it_unanswerable():
    base = season(0.6)
    late = [
        e.model_copy(update={"time": small.DAY.replace(day=1)})
        if e.event == "sown" and DRAW.strip(e.strips[0]).method == "A"
        else e
        for e in base.events
    ]
    got = of(priced(), records=small.replaced(base, events=late))
    assert got.main.advice.action == "cannot_tell"
    assert got.main.advice.deciding == "possible bias"
    assert got.weak_points[0].startswith("sowing day")


def test_two_blocks_are_too_few_for_advice():
    draw = small.draw(("AB", "BA"))
    got = of(draw=draw, records=small.whole_season(draw))
    assert (got.main.advice.action, got.main.advice.deciding) == ("cannot_tell", "advice.fewest_blocks")


def test_nothing_sown_as_drawn_is_never_adopted():
    swapped = [small.event(s.strip, "sown", n=2, method="B" if s.method == "A" else "A") for s in DRAW.strips]
    base = season(1.2)
    got = of(records=small.replaced(base, events=[*base.events, *swapped]))
    assert (got.main.advice.action, got.main.advice.deciding) == ("cannot_tell", "drawn order")
    assert got.main.comparison.randomisation is None


def test_one_dry_matter_figure_a_method_gives_no_p():
    by_method = {m: "+".join(str(s.strip) for s in DRAW.strips if s.method == m) for m in "AB"}
    got = of(records=season(samples=[small.sample(by_method["A"], 33.0), small.sample(by_method["B"], 33.5)]))
    one = got.main.comparison
    assert one.p is None
    assert one.randomisation is None
    # one point of dry matter at 33 % and about 13 t/ha is 0.4 t for each of two figures: sqrt 2 x 0.4
    assert one.shared_sd == pytest.approx(0.566, abs=0.03)
    assert got.weak_points[0].rstrip(".") == one.no_p_reason.rstrip(".")


def test_a_lost_strip_stays_lost_and_its_block_leaves_the_pairs():
    base = season(0.6)
    got = of(records=small.replaced(base, events=[*base.events, small.event(7, "strip_lost", note="a blocked row")]))
    assert got.harvest.strips[6].outcome is None
    assert got.comparison.strips == 15
    assert any("strip 7 gave no value" in p for p in got.weak_points)


def test_sentences_come_in_the_fixed_order():
    got = of(priced()).main.sentences
    begins = ("In this field, in 2025, B gave", "The true figure is probably between", "It must give 0.5 t more to pay",
              "Out of 20 results like this", "Weakest point:", "Next: ")  # fmt: skip
    assert len(got) == len(begins)
    assert all(s.startswith(b) for s, b in zip(got, begins, strict=True)), got
    assert "Starting assumption" in got[3]
    assert ", because " in got[5]


def test_forbidden_words_are_nowhere():
    for _, trial in ACTIONS:
        text = json.dumps(as_dict(of(**trial))).lower()
        assert not re.search(r"significan|\bproven\b|no difference", text)


def test_three_methods_best_expected_net_first():
    plan = small.plan(methods=[small.method("A"), small.method("B", extra_cost_per_ha=200.0), small.method("C")])
    draw = small.draw(("ABC", "BCA", "CAB", "ACB", "BAC", "CBA"))
    got = of(plan, draw, small.whole_season(draw))
    assert [m.comparison.method for m in got.methods] == ["C", "B"]
    nets = [m.money.likely for m in got.methods]
    assert nets == sorted(nets, reverse=True)
    assert "(C)" in got.headline


def test_sensitivity_answers_again_under_other_assumptions():
    got = of(priced()).main
    assert len(got.sensitivity) == 6
    by_label = {s.label: s for s in got.sensitivity}
    halved, doubled = (by_label[f"spread of the long-run gain {w}"] for w in ("halved", "doubled"))
    # a narrower prior pulls harder towards its mean of 1.5 %
    assert halved.mean < got.comparison.posterior.theta.mean < doubled.mean


def test_sensitivity_is_the_comparison_with_the_changed_assumption():
    got = of(priced())
    season_sd = 2 * got.comparison.priors.season_sd
    changed = dataclasses.replace(got.comparison.priors, season_sd=season_sd)
    again = compare(as_strip_values(got.harvest), "A", priors=changed)
    (entry,) = [s for s in got.main.sensitivity if s.label == "spread between seasons doubled"]
    assert entry.chance_it_pays == pytest.approx(
        again.comparisons[0].posterior.mu.chance_above(got.main.worthwhile_gain)
    )


def test_side_results_have_their_own_intervals():
    base = season(0.6)
    samples = [
        small.sample(s.strip, 33.0 + 0.1 * (s.strip % 5) + (0.5 if s.method == "B" else 0.0)) for s in DRAW.strips
    ]
    got = of(records=small.replaced(base, samples=samples))
    sides = {s.outcome: s for s in got.side_results}
    assert set(sides) == {"fresh yield", "dry matter", "plants counted"}
    for side in sides.values():
        assert side.interval[0] < side.difference < side.interval[1]
    assert sides["dry matter"].unit == "%"
    assert sides["dry matter"].difference == pytest.approx(0.5, abs=0.2)


def test_a_side_result_that_cannot_be_compared_is_left_out():
    assert "plants counted" not in {s.outcome for s in of(records=season(stand_counts=())).side_results}


def test_the_verdict_is_a_pure_function():
    def plain(v):
        return json.dumps(as_dict(v), sort_keys=True, allow_nan=False)

    assert plain(of(seed=3)) == plain(of(seed=3))
    got = of(seed=3).provenance
    assert (got.version, got.computed_on, got.seeds) == ("9.9.9", "2025-10-01", {"draw": 7, "randomisation": 3})
    assert (got.plan_hash, got.records_hash) == ("a" * 64, "b" * 64)


def test_the_order_of_records_does_not_matter():
    base = season(0.6)
    turned = small.replaced(
        base, **{k: tuple(reversed(getattr(base, k))) for k in ("loads", "weighings", "samples", "stand_counts")}
    )
    assert of(records=turned).main.comparison.gain == pytest.approx(of(records=base).main.comparison.gain, rel=1e-12)


def test_without_a_draw_there_is_no_verdict():
    bare = Stored(small.plan(), None, (), Records(), "", "")
    with pytest.raises(CannotCompareError, match="no strips are drawn yet"):
        verdict(bare, today=TODAY, version="1")


def test_without_records_it_says_what_is_missing():
    with pytest.raises(CannotCompareError):
        of(records=Records())


KEYS = {
    "strips", "blocks", "baseline", "method_means", "block_effects", "variance_components", "prior", "comparisons",
    "unit", "outcome", "outcomes", "worthwhile_gain", "chance_it_pays", "chance_it_pays_next_year", "advice",
    "fairness", "sentence",
}  # fmt: skip


def test_json_has_the_promised_keys():
    got = as_dict(of(priced()))
    assert set(got) >= KEYS
    assert set(got["advice"]) >= {"action", "reason"}
    assert set(got["fairness"]) >= {"checks", "total_bias_t_per_ha"}
    assert got["baseline"] == "A"
    assert got["sentence"].startswith("In this field")
    assert got["budget"]["ways"][0]["extra_cost_per_ha"] == pytest.approx(60.0)


def test_json_never_holds_nan_or_infinity():
    worthless = priced(value_short_year_per_t=0, value_full_year_per_t=0)
    got = json.loads(json.dumps(as_dict(of(worthless)), allow_nan=False))
    assert got["worthwhile_gain"] is None
    assert got["chance_it_pays"] == 0.0
    assert got["advice"]["action"] == "drop"


def test_grain_is_grain_all_the_way():
    plan = small.plan(outcome={"product": "grain", "expected_t_per_ha": 9.0, "expected_dry_matter_percent": 70.0})
    records = small.whole_season(DRAW, percent=70.0)
    got = as_dict(of(plan, records=records))
    assert got["outcome"] == "grain yield"
    assert got["unit"] == "t grain/ha at 15 % moisture"
    assert "t grain at 15 % moisture per hectare" in got["sentence"]


def test_the_weather_is_told_in_one_sentence_or_not_at_all():
    # whole_season: 30 days of 4 mm on average, 31 dry days, 74 days of 3 mm on average
    assert of().season.startswith("Rain from sowing to harvest 342 mm; longest spell without 5 mm in a day: 135 days")
    assert of(records=season(weather=())).season == ""
    assert as_dict(of(records=season(weather=())))["season"] is None


def test_a_draw_that_came_on_record_after_sowing_is_a_weak_point():
    late = DRAW.model_copy(update={"drawn_at": datetime(2025, 9, 30), "reason": "a coin for each pair"})
    day = datetime(2025, 4, 20, 8)
    sown = [small.event(s.strip, "sown", n=s.strip, when=day, method=s.method) for s in DRAW.strips]
    records = season(events=tuple(sown))
    sowing = said_day(day.date())
    words = f"after sowing on {sowing}; that chance decided which strip got which method rests on what was told"
    assert any(words in p and "a coin for each pair" in p for p in of(draw=late, records=records).weak_points)
    assert not any("put on record" in p for p in of(records=records).weak_points)
