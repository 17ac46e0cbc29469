"""What the verdict says of the harvest: feed value, damage, errors in common, strips weighed together."""

from datetime import date

import pytest
from tests import small_trial as small

from evenground.decide.verdict import verdict

DRAW = small.draw()


def of(records, plan=None, draw=None):
    return verdict(small.stored(plan, draw, records), today=date(2025, 12, 1), version="0")


def season(**kinds):
    whole = small.whole_season(DRAW)
    return small.replaced(whole, **{k: [*getattr(whole, k), *v] for k, v in kinds.items()})


def sheets(value=30.0):
    return [small.lab(n, starch_percent=value + n % 3) for n in range(1, 17)]


def test_without_laboratory_values_the_first_lines_say_so():
    got = of(season())
    assert "Feed value was not measured." in got.methods[0].sentences[0]
    assert any("starch" in point for point in got.weak_points)


def test_with_starch_the_verdict_gives_it_and_no_longer_misses_it():
    got = of(season(lab_values=sheets()))
    assert "not measured" not in got.methods[0].sentences[0]
    assert not any("starch was not measured" in point for point in got.weak_points)
    names = [side.outcome for side in got.side_results]
    assert "starch yield (invented laboratory, wet chemistry)" in names
    assert any("beyond what the laboratory measured" in text for text in got.cannot_say)


def test_grain_has_no_feed_value_to_miss():
    plan = small.plan(outcome={"product": "grain"})
    records = small.whole_season(DRAW, percent=75.0)
    assert "Feed value" not in of(records, plan).methods[0].sentences[0]


@pytest.mark.parametrize(
    ("product", "words"),
    [
        ("corn_cob_mix", "t corn-cob mix at 40 % moisture per hectare"),
        ("whole_cob", "t whole-cob silage at 40 % moisture per hectare"),
    ],
)
def test_other_products_are_called_by_their_name(product, words):
    plan = small.plan(outcome={"product": product, "standard_moisture_percent": 40.0})
    got = of(small.whole_season(DRAW, percent=60.0), plan)
    assert words in got.methods[0].sentences[0]
    assert "at 40 % moisture" in got.harvest.unit


def test_damage_gives_the_comparison_with_and_without():
    got = of(season(damage=[small.damage("8", "boar", by_method="no")]))
    (spared,) = [s for s in got.side_results if s.outcome == "yield without the blocks with damage"]
    assert spared.difference != got.methods[0].comparison.gain
    assert not any("without the blocks" in s.outcome for s in of(season()).side_results)


def test_an_error_in_common_widens_the_answer():
    from evenground.basis.observations import CutArea

    cuts = [CutArea(id=f"A{n}", time=small.AUTUMN, strips=str(n), rows=6, length_m=300) for n in range(1, 17)]
    measured = [c.model_copy(update={"row_spacing_m": 0.75, "left_gap_m": 0.75, "right_gap_m": 0.75}) for c in cuts]
    wide, narrow = (
        of(season(cut_areas=cuts)).methods[0].comparison,
        of(season(cut_areas=measured)).methods[0].comparison,
    )
    assert wide.gain == pytest.approx(narrow.gain, rel=1e-9)
    assert wide.standard_error > narrow.standard_error
    assert wide.p is not None


def test_a_block_with_strips_weighed_together_leaves_the_randomisation_test_only():
    draw = small.draw(("AAB", "ABA", "BAA", "ABA"))
    whole = small.whole_season(draw)
    loads = [x for x in whole.loads if x.strips not in {(1,), (2,)}] + [small.load("1+2")]
    slips = [w for w in whole.weighings if w.load not in {"L1-1", "L2-1"}] + [small.weighing("L1+2-1", 11_000.0)]
    alone, got = of(whole, draw=draw), of(small.replaced(whole, loads=loads, weighings=slips), draw=draw)
    before, after = (v.methods[0].comparison.randomisation for v in (alone, got))
    # four blocks of three with two alike: 3^4 orders; on the other three blocks each arises three times
    assert (before.size, before.smallest) == (81, pytest.approx(1 / 81))
    assert (after.size, after.smallest) == (81, pytest.approx(1 / 27))
    assert got.methods[0].comparison.gain != alone.methods[0].comparison.gain


def test_what_the_laboratory_found_in_grain_is_not_called_unmeasured():
    plan = small.plan(outcome={"product": "grain"})
    records = small.replaced(small.whole_season(DRAW, percent=75.0), lab_values=sheets(70.0))
    assert any("beyond what the laboratory measured" in text for text in of(records, plan).cannot_say)
    assert any("only mass and moisture" in text for text in of(small.whole_season(DRAW, percent=75.0), plan).cannot_say)
